"""The cells of some rows, by column: how rows travel from a file to who judges them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

Row = Sequence[str]


@dataclass(frozen=True, slots=True)
class Cells:
    """Trimmed cells by column. ``uneven`` are rows of another width, which are blank in them.

    ``uneven`` gives the number of cells such a row has, 0 for a row with nothing at all.
    """

    columns: Sequence[Sequence[str]]
    count: int
    uneven: Mapping[int, int] = field(default_factory=dict)


def cells_of(rows: Sequence[Row], width: int) -> Cells:
    """Rows of a list that has ``width`` columns. Empty cells behind the last are no cells."""
    uneven: dict[int, int] = {}
    if not set(map(len, rows)) <= {width}:
        even = list(rows)
        for n, row in enumerate(rows):
            if len(row) > width and not any(row[width:]):
                even[n] = row[:width]
            elif len(row) != width:
                even[n] = ("",) * width
                uneven[n] = len(row) if any(row) else 0
        rows = even
    columns = [[cell.strip() for cell in column] for column in zip(*rows, strict=True)]
    return Cells(columns, len(rows), uneven)

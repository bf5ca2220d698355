"""A list that is held in memory, because its kind of file cannot be read in parts."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

from aftercare.edges.incoming.source import ROWS_AT_A_TIME, Block
from aftercare.recall.incoming.cells import Cells, Row, cells_of


class InMemory:
    """A `Source` over rows that are there already."""

    def __init__(
        self,
        place: str,
        headers: Sequence[str],
        rows: Sequence[Row],
        *,
        first_row: int,
        notes: tuple[str, ...],
    ) -> None:
        self.place, self.headers, self.notes = place, tuple(headers), notes
        self.first_row = first_row
        self._rows = rows

    def blocks(self) -> Iterator[Block]:
        """The parts, by the place of their first row."""
        return map(Block, range(0, len(self._rows), ROWS_AT_A_TIME))

    def cells(self, block: Block) -> Cells:
        """The cells of a part."""
        some = self._rows[block.where : block.where + ROWS_AT_A_TIME]
        return cells_of(some, len(self.headers))

    def some_cells(self, block: Block, _: Collection[int]) -> Cells:
        """The cells of a part."""
        return self.cells(block)

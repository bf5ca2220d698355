"""What every kind of list offers: its header, and its rows in blocks that any process can read."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from typing import Any, Protocol

from aftercare.recall.incoming.cells import Cells

ROWS_AT_A_TIME = 10_000


@dataclass(frozen=True, slots=True)
class Block:
    """A part of a list that is read by itself; ``where`` means something to its source alone."""

    where: Any


class Source(Protocol):
    """A list. After a fork its blocks can be read in another process.

    ``first_row`` is the number of the first row after the header, as people count them;
    ``notes`` say how the list was read.
    """

    place: str
    headers: tuple[str, ...]
    first_row: int
    notes: tuple[str, ...]

    def blocks(self) -> Iterator[Block]:
        """The parts, in order."""
        ...

    def cells(self, block: Block) -> Cells:
        """The cells of a part, of blank rows too. Raises ``BadInput``."""
        ...

    def some_cells(self, block: Block, places: Collection[int]) -> Cells:
        """As `cells`; columns at no ``places`` may be blank."""
        ...

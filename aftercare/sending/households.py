"""How many messages each household has had, in 16 to 32 bytes a message however many there are."""

from __future__ import annotations

from array import array
from collections.abc import Callable, Iterator
from typing import NamedTuple, Protocol

# Fuller than this, and looking something up takes several steps.
_FULL = 0.5
_EMPTY, _64_BITS = 0, (1 << 64) - 1


class Places(Protocol):
    """So many numbers of 64 bits, each by its place, in memory or elsewhere."""

    def __len__(self) -> int: ...

    def __getitem__(self, at: int, /) -> int: ...

    def __setitem__(self, at: int, mark: int, /) -> None: ...

    def __iter__(self) -> Iterator[int]: ...


def in_memory(size: int) -> Places:
    """So many places in memory, all of them zero."""
    return array("Q", bytes(8 * size))


class Households:
    """Counts messages by household, in places that ``empty`` makes: zeroes, so many.

    There is ``room`` for so many messages from the start; more of them make more room.

    A household is kept as its hash, of 64 bits. Two that have the same are taken for one: of a
    million households, that befalls any with a chance of one in thirty million, and then a
    message waits for another day.
    """

    def __init__(self, *, room: int = 512, empty: Callable[[int], Places] = in_memory) -> None:
        self._used, self._empty = 0, empty
        self._places = empty(1 << int(room / _FULL).bit_length())

    def count(self, household: str, most: int) -> int:
        """How many were counted for a household, up to ``most``."""
        had = 0
        while had < most and self._at(_mark(household, had)).there:
            had += 1
        return had

    def add(self, household: str) -> None:
        """Count one more."""
        had = 0
        while (found := self._at(mark := _mark(household, had))).there:
            had += 1
        self._put(found.place, mark)
        if self._used > len(self._places) * _FULL:
            self._grow()

    def _put(self, place: int, mark: int) -> None:
        self._places[place] = mark
        self._used += 1

    def _at(self, mark: int) -> _Found:
        """Where a mark is, or would be; each place is read once, as reading may take long."""
        places, last = self._places, len(self._places) - 1
        at = mark & last
        while (there := places[at]) != mark:
            if there == _EMPTY:
                return _Found(at, there=False)
            at = (at + 1) & last
        return _Found(at, there=True)

    def _grow(self) -> None:
        marks, self._used = self._places, 0
        self._places = self._empty(2 * len(marks))
        for mark in marks:
            if mark != _EMPTY:
                self._put(self._at(mark).place, mark)


class _Found(NamedTuple):
    """The place of a mark, and whether it is there."""

    place: int
    there: bool


def _mark(household: str, number: int) -> int:
    """What the household's message of this number, from 0, is kept as."""
    return hash((number, household)) & _64_BITS or 1

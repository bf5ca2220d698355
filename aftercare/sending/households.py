"""How many messages each household has had, in 16 to 32 bytes a message however many there are."""

from __future__ import annotations

from array import array
from collections.abc import Callable, Iterator
from typing import Protocol

_FIRST_SIZE = 1024
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

    A household is kept as its hash, of 64 bits. Two that have the same are taken for one: of a
    million households, that befalls any with a chance of one in thirty million, and then a
    message waits for another day.
    """

    def __init__(self, *, empty: Callable[[int], Places] = in_memory) -> None:
        self._used, self._empty = 0, empty
        self._places = empty(_FIRST_SIZE)

    def count(self, household: str, most: int) -> int:
        """How many were counted for a household, up to ``most``."""
        had = 0
        while had < most and self._places[self._place(_mark(household, had))] != _EMPTY:
            had += 1
        return had

    def add(self, household: str) -> None:
        """Count one more."""
        had = 0
        while self._places[self._place(_mark(household, had))] != _EMPTY:
            had += 1
        self._put(_mark(household, had))
        if self._used > len(self._places) * _FULL:
            self._grow()

    def _put(self, mark: int) -> None:
        self._places[self._place(mark)] = mark
        self._used += 1

    def _place(self, mark: int) -> int:
        """Where a mark is, or would be."""
        places, last = self._places, len(self._places) - 1
        at = mark & last
        while places[at] not in (_EMPTY, mark):
            at = (at + 1) & last
        return at

    def _grow(self) -> None:
        marks, self._used = self._places, 0
        self._places = self._empty(2 * len(marks))
        for mark in marks:
            if mark != _EMPTY:
                self._put(mark)


def _mark(household: str, number: int) -> int:
    """What the household's message of this number, from 0, is kept as."""
    return hash((number, household)) & _64_BITS or 1

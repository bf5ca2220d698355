"""Two usual ways to fill clinics, to hold a plan against: the oldest first, and first come.

In both, people are taken one after another, and each gets the next slot that suits.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterable, Sequence
from enum import StrEnum
from typing import Any

from aftercare.recall.catch_up.optimum import day_after, in_line
from aftercare.recall.catch_up.values import Opening, Plan, Seat, Span, Waiting
from aftercare.recall.risk import Stake


class Custom(StrEnum):
    """An order in which clinics are often filled."""

    OLDEST_FIRST = "oldest first"
    FIRST_COME = "first come"


_ORDERS: dict[Custom, Callable[[Waiting], Any]] = {
    Custom.OLDEST_FIRST: in_line,
    Custom.FIRST_COME: lambda one: (one.listed, one.ref),
}


def by_custom(people: Iterable[Waiting], openings: Sequence[Opening], custom: Custom) -> Plan:
    """What becomes of the same people and clinics under a custom.

    People who were told a date keep it where a slot is left; they are seated before the others.
    """
    everybody = tuple(people)
    book = _Book(openings)
    line = sorted(everybody, key=_ORDERS[custom])
    line.sort(key=lambda one: not one.told)
    places = {one.ref: book.seat(one) for one in line}
    seats = tuple(book.seats)
    return Plan(people=everybody, seats=seats, places=places, beyond=day_after(openings))


class _Book:
    """The slots that are left, by day. A shared slot is filled visit by visit."""

    def __init__(self, openings: Sequence[Opening]) -> None:
        order = sorted(
            range(len(openings)),
            key=lambda n: (openings[n].day, len(openings[n].skills), openings[n].minutes, n),
        )
        self._openings = [openings[n] for n in order]
        self._number = order
        self._days = [one.day for one in self._openings]
        # The minutes left in each slot that has some; one that is not shared goes whole.
        self._left = [[one.minutes] * one.slots for one in self._openings]
        self._begin: dict[Stake, int] = {}
        self.seats: list[Seat] = []

    def seat(self, one: Waiting) -> Seat | None:
        """The next slot that suits, taken; None when there is none."""
        if one.told and one.promised is not None:
            kept = self._take(one, 0, one.promised)
            if kept is not None:
                return kept
        soonest = bisect_left(self._days, one.due)
        return self._take(one, soonest, None)

    def _take(self, one: Waiting, first: int, promise: Span | None) -> Seat | None:
        begin = self._begin.get(one.stake, 0)
        # Slots only go, so what had nothing for these needs before has nothing now.
        while begin < len(self._openings) and not self._fits(begin, one.stake):
            begin += 1
        self._begin[one.stake] = begin
        for at in range(max(first, begin), len(self._openings)):
            meets = promise is None or self._openings[at].when.meets(promise)
            if meets and self._fits(at, one.stake):
                return self._taken(at, one.stake)
        return None

    def _fits(self, at: int, stake: Stake) -> bool:
        return stake.skills <= self._openings[at].skills and any(
            left >= stake.minutes for left in self._left[at]
        )

    def _taken(self, at: int, stake: Stake) -> Seat:
        opening, left = self._openings[at], self._left[at]
        # The slot with the least left over, so that longer visits still find one.
        slot = min((n for n, m in enumerate(left) if m >= stake.minutes), key=lambda n: left[n])
        rest = left.pop(slot) - stake.minutes
        if opening.shared and rest:
            left.append(rest)
        seat = Seat(
            opening=self._number[at],
            when=opening.when,
            day=opening.day,
            minutes=stake.minutes,
            skills=opening.skills,
            room=1,
        )
        self.seats.append(seat)
        return seat

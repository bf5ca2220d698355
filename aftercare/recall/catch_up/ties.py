"""Where a plan may go either way, the longer overdue goes first.

Two people with the same weight may change seats without changing the sum of risk-weighted days.
They do when the one who has waited longer is seen later, each can be seen where the other was,
nobody passes their limit by it, and no more is lost past the limits. Each exchange brings a longer
wait forward, so it comes to an end.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from aftercare.recall.catch_up.network import Flags, Whole
from aftercare.recall.catch_up.values import Plan, Seat, Waiting


def lost(limit: Whole | np.int64, early: Whole, late: int, passing: int) -> Whole:
    """Days lost past the limit by a visit on the ``late`` day and not on the ``early`` one.

    To pass it between the two counts as ``passing`` days. All days are ordinals.
    """
    days = np.maximum(0, late - np.maximum(limit, early))
    between: Whole = days + passing * ((early <= limit) & (limit < late))
    return between


def longer_overdue_first(plan: Plan) -> Plan:
    """The plan after every such exchange; people who have a promise keep what they have."""
    places = dict(plan.places)
    free = [one for one in plan.people if one.promised is None]
    for weight in {one.stake.weight for one in free}:
        line = [one for one in free if one.stake.weight == weight]
        places.update(_Line(plan, line).settled())
    return replace(plan, places=places)


class _Line:
    """People of one weight as columns, the longest overdue first."""

    def __init__(self, plan: Plan, line: list[Waiting]) -> None:
        self._line = sorted(line, key=lambda one: (one.due, one.listed, one.ref))
        self._seats = (*plan.seats, None)
        self._beyond = plan.beyond.toordinal()
        self._passing = 7 * plan.passing_weeks
        number = {seat: at for at, seat in enumerate(self._seats)}
        self._seat = self._column([number[plan.places[one.ref]] for one in self._line])
        self._days = self._column([self._day(seat) for seat in self._seats])
        self._due = self._column([one.due.toordinal() for one in self._line])
        self._limit = self._column([one.limit.toordinal() for one in self._line])
        stakes = list(dict.fromkeys(one.stake for one in self._line))
        self._stake = self._column([stakes.index(one.stake) for one in self._line])
        self._suits = np.array(
            [[seat is None or seat.suits(stake) for seat in self._seats] for stake in stakes], bool
        )

    def _column(self, values: list[int]) -> Whole:
        return np.array(values, np.int64)

    def _day(self, seat: Seat | None) -> int:
        return self._beyond if seat is None else seat.day.toordinal()

    def settled(self) -> Iterator[tuple[str, Seat | None]]:
        """Everybody's seat once no exchange is left."""
        while sum(map(self._exchanged, self._behind())):
            pass
        for one, seat in zip(self._line, self._seat.tolist(), strict=True):
            yield one.ref, self._seats[seat]

    def _behind(self) -> list[int]:
        """Those who are seen after somebody who has not waited as long."""
        days = self._days[self._seat]
        soonest = np.minimum.accumulate(days[::-1])[::-1]
        return [int(at) for at in np.flatnonzero(days[:-1] > soonest[1:])]

    def _exchanged(self, at: int) -> bool:
        """Whether somebody found a seat on an earlier day, and who had it took theirs."""
        days = self._days[self._seat]
        may = self._may_exchange(at, days)
        if not may.any():
            return False
        other = int(np.argmin(np.where(may, days, self._beyond + 1)))
        self._seat[[at, other]] = self._seat[[other, at]]
        return True

    def _may_exchange(self, at: int, days: Whole) -> Flags:
        mine, day = int(self._seat[at]), int(days[at])
        # Nobody is seen before they are due, so where the later due are, the others may be.
        earlier = (days < day) & (self._due > self._due[at])
        both_fit = self._suits[self._stake[at]][self._seat] & self._suits[self._stake, mine]
        passes = (self._limit < day) & (self._limit >= days)
        given = lost(self._limit, days, day, self._passing)
        gained = lost(self._limit[at], days, day, self._passing)
        may: Flags = earlier & both_fit & ~passes & (given <= gained)
        return may

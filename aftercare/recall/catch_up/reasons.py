"""Why somebody has the place they have: what counts for them, and who comes before and why.

Somebody comes before another if they are seen on an earlier day in a slot the other could
have had. In the best plan each has one of a few reasons to; that is what an exchange argument
shows (were there none, the two could change places and less would be lost). What is lost past the
hard limits counts first, so a greater weight is a reason only for who loses no less there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

import numpy as np

from aftercare.recall.catch_up.network import Flags, Whole
from aftercare.recall.catch_up.ties import lost
from aftercare.recall.catch_up.values import Aim, Plan, Seat, Waiting
from aftercare.recall.risk import Stake


class Before(StrEnum):
    """Why somebody comes before another; the first that holds is told."""

    TOLD = "had been told their day"
    KEPT = "keep the day of the earlier plan"
    HEAVIER = "have a greater weight"
    LONGER = "have the same weight and have been due as long or longer"
    LIMIT = "would else pass their hard limit"
    PAST = "are past their hard limit, and lose more there by waiting"
    FIT = "could not use the later slot instead"
    TIE = "have the same weight, and the sum is the same either way"
    CHANGE = "come before so that fewer people's days change"


@dataclass(frozen=True, slots=True, kw_only=True)
class Ahead:
    """How many come before for one reason, and the last of them by reference."""

    why: Before
    people: int
    such_as: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """Why one person has their place: what counts for them, who comes before, what changed."""

    ref: str
    counts: str
    ahead: tuple[Ahead, ...]
    moved: str | None = None

    @property
    def said(self) -> str:
        """The reason in words."""
        before = "; ".join(f"{one.people:,} {one.why} ({one.such_as})" for one in self.ahead)
        told = f"seen earlier in a slot that suits: {before}" if before else _NOBODY
        parts = [part for part in (self.counts, told, self.moved) if part]
        return " ".join(f"{part[0].upper()}{part[1:]}." for part in parts)


_NOBODY = "nobody is seen earlier in a slot that suits"


def reasons(plan: Plan, first: date) -> Iterator[Reason]:
    """The reason for everybody's place, in the order of the plan. ``first`` is the first day."""
    queue = _Queue(plan)
    known: dict[tuple[object, ...], tuple[Ahead, ...]] = {}
    for one in in_order(plan):
        same = (plan.places[one.ref], one.stake, one.due, one.limit, plan.moved(one), one.told)
        if same not in known:
            known[same] = tuple(queue.ahead(one))
        yield Reason(
            ref=one.ref,
            counts=_counts(plan, one, _limit(plan, one, first, queue)),
            ahead=known[same],
            moved=_moved(plan, one),
        )


def in_order(plan: Plan) -> list[Waiting]:
    """Everybody in the order of the plan: by day, the greater weight and longer overdue first."""
    return sorted(
        plan.people,
        key=lambda one: (
            plan.places[one.ref] is None,
            plan.day(one),
            -one.stake.weight,
            one.due,
            one.listed,
        ),
    )


class _Queue:
    """Everybody who has a place, as columns in the order of the plan."""

    def __init__(self, plan: Plan) -> None:
        self._plan = plan
        self._line = [one for one in in_order(plan) if plan.places[one.ref] is not None]
        kept = [one.promised is not None and not plan.moved(one) for one in self._line]
        self._kept = np.array(kept, bool)
        self._told = np.array([one.told for one in self._line], bool) & self._kept
        self._day = self._column(lambda one: plan.day(one).toordinal())
        self._weight = self._column(lambda one: one.stake.weight)
        self._due = self._column(lambda one: one.due.toordinal())
        self._limit = self._column(lambda one: one.limit.toordinal())
        seats = {
            seat: n for n, seat in enumerate(dict.fromkeys(filter(None, plan.places.values())))
        }
        self._seats = tuple(seats)
        stakes = {stake: n for n, stake in enumerate({one.stake for one in plan.people})}
        self._stakes = tuple(stakes)
        self._soonest: dict[tuple[Stake, date], date] = {}
        self._seat = self._column(lambda one: seats[_seat(plan, one)])
        self._stake = self._column(lambda one: stakes[one.stake])

    def _column(self, value: Callable[[Waiting], int]) -> Whole:
        return np.array([value(one) for one in self._line], np.int64)

    def ahead(self, one: Waiting) -> Iterator[Ahead]:
        """Who comes before somebody, each counted once, under the first reason that holds."""
        left = self._earlier(one)
        for why, holds in self._why(one):
            here = left & holds
            if here.any():
                last = int(np.flatnonzero(here)[-1])
                yield Ahead(why=why, people=int(here.sum()), such_as=self._line[last].ref)
            left &= ~here

    def _earlier(self, one: Waiting) -> Flags:
        suits = np.array([seat.suits(one.stake) for seat in self._seats], bool)
        if not self._line:
            return np.zeros(0, bool)
        day = self._plan.day(one).toordinal()
        early = (self._day < day) & (self._day >= one.due.toordinal())
        found: Flags = early & suits[self._seat]
        return found

    def _why(self, one: Waiting) -> Iterator[tuple[Before, Flags]]:
        day, weight = self._plan.day(one).toordinal(), one.stake.weight
        more, less = self._past(one, day, weight)
        yield Before.TOLD, self._told
        yield Before.KEPT, self._kept
        yield Before.HEAVIER, (self._weight > weight) & ~less
        yield Before.LONGER, (self._weight == weight) & (self._due <= one.due.toordinal()) & ~less
        passes = (self._limit < day) & (self._limit >= self._day)
        yield Before.LIMIT, passes if self._plan.holds_limits else passes & ~less
        yield Before.PAST, more
        seat = self._plan.places[one.ref]
        if seat is not None:
            fits = np.array([seat.suits(stake) for stake in self._stakes], bool)
            yield Before.FIT, ~fits[self._stake]
        yield Before.TIE, (self._weight == weight) & ~less
        yield Before.CHANGE, np.ones(len(self._line), bool)

    def _past(self, one: Waiting, day: int, weight: int) -> tuple[Flags, Flags]:
        """Who would lose more past the limits by waiting as long as somebody, and who less."""
        passing = 7 * self._plan.passing_weeks
        theirs = self._weight * lost(self._limit, self._day, day, passing)
        mine = weight * lost(np.int64(one.limit.toordinal()), self._day, day, passing)
        return theirs > mine, theirs < mine

    def in_time(self, one: Waiting) -> bool:
        """Whether some slot that suits is within somebody's limit, and not before they are due."""
        same = one.stake, one.due
        if same not in self._soonest:
            suits = (s.day for s in self._plan.seats if s.room and s.suits(one.stake))
            self._soonest[same] = min((day for day in suits if day >= one.due), default=date.max)
        return self._soonest[same] <= one.limit


def _seat(plan: Plan, one: Waiting) -> Seat:
    seat = plan.places[one.ref]
    if seat is None:
        raise LookupError("no seat")
    return seat


def _counts(plan: Plan, one: Waiting, limit: str) -> str:
    """What counts for somebody: the weight, how long overdue, and the limit."""
    day, stake = plan.day(one), one.stake
    where = f"seen {_seat(plan, one).when}" if plan.places[one.ref] else "no place in this plan"
    weight = f"weight {stake.weight} a day for {stake.condition}"
    over = f"due {one.due}, {days(one.overdue(day))} over on {day}"
    return f"{where}: {weight}; {over}; {limit}"


def _limit(plan: Plan, one: Waiting, first: date, queue: _Queue) -> str:
    day = plan.day(one)
    if one.limit < first:
        return f"limit {one.limit}, passed before the first clinic, and every further day counts"
    if one.limit < day:
        late = days((day - one.limit).days)
        return f"limit {one.limit}, passed by {late}: {_why_passed(plan, one, queue)}"
    return f"limit {one.limit}, kept with {days((one.limit - day).days)} to spare"


def _why_passed(plan: Plan, one: Waiting, queue: _Queue) -> str:
    if not queue.in_time(one):
        return "no slot that suits is in time"
    if one.told and not plan.moved(one):
        return "it is the day they were told"
    proved = any(proof.aim is Aim.PAST_DAYS and proof.exact for proof in plan.proofs)
    found = "no plan" if proved else "no plan that was found"
    return f"{found} loses less past the limits"


def days(count: int) -> str:
    """A number of days in words."""
    return f"{count:,} day{'' if count == 1 else 's'}"


def _moved(plan: Plan, one: Waiting) -> str | None:
    """What changed for somebody who had a day; None when nothing did."""
    if not plan.moved(one):
        return None
    told = f"was told {one.promised}" if one.told else f"was planned for {one.promised}, not told"
    if not any(_keeps(seat, one) for seat in plan.seats):
        return f"{told}; no slot that suits is left then"
    if one.told:
        return f"{told}; there are fewer slots then than people who were told"
    return f"{told}; somebody else would pass their limit, or the slots are fewer"


def _keeps(seat: Seat, one: Waiting) -> bool:
    meets = one.promised is not None and seat.when.meets(one.promised)
    return meets and seat.room > 0 and seat.suits(one.stake)

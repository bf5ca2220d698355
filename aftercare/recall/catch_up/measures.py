"""What a plan comes to, measured alike for every plan over the same people and clinics."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil

from aftercare.recall.catch_up.optimum import past_days, risk_days
from aftercare.recall.catch_up.values import Opening, Plan, Seat, Waiting
from aftercare.recall.risk import RiskOrder


@dataclass(frozen=True, slots=True, kw_only=True)
class Measures:
    """One plan in figures. ``past_limit`` counts everybody past it on the day counted;
    ``past_already`` those of them who are so on the first day of the plan, in any plan.
    ``past_days`` are weighted days past it, from the first clinic on.

    ``median_wait`` is in days from the first day, of everybody planned or not; None when half or
    more have no place. ``longest_overdue`` is in days.
    """

    risk_days: int
    past_days: int
    past_limit: int
    past_already: int
    planned: int
    without_place: int
    median_wait: int | None
    longest_overdue: int


def measures(plan: Plan, openings: Sequence[Opening], start: date) -> Measures:
    """A plan that begins on ``start`` in figures."""
    days = [(one, plan.day(one)) for one in plan.people]
    first = soonest_day(openings)
    planned = sum(seat is not None for seat in plan.places.values())
    return Measures(
        risk_days=risk_days(plan),
        past_days=past_days(plan, first),
        past_limit=sum(one.limit < day for one, day in days),
        past_already=sum(one.limit < first for one in plan.people),
        planned=planned,
        without_place=len(days) - planned,
        median_wait=_median_wait(plan, start),
        longest_overdue=max((one.overdue(day) for one, day in days), default=0),
    )


def _median_wait(plan: Plan, start: date) -> int | None:
    """The lower median. Who has no place waits longer than anybody who has."""
    if not plan.people:
        return None
    waits = sorted((seat is None, plan.day(one)) for one, seat in _seated(plan))
    without, day = waits[(len(waits) - 1) // 2]
    return None if without else (day - start).days


def _seated(plan: Plan) -> Iterator[tuple[Waiting, Seat | None]]:
    return ((one, plan.places[one.ref]) for one in plan.people)


def soonest_day(openings: Sequence[Opening]) -> date:
    """The first day counted."""
    return min(opening.day for opening in openings)


@dataclass(frozen=True, slots=True, kw_only=True)
class Backlog:
    """At the end of ``day``, a week's last: how many are due and not seen, and past their limit.

    ``weight`` is their weights added up: what one more day costs.
    """

    day: date
    waiting: int
    weight: int
    past_limit: int


def backlog(plan: Plan, start: date, first_weekday: int) -> tuple[Backlog, ...]:
    """The backlog week by week: before ``start``, then as each week ends until the plan does.

    A week begins on ``first_weekday``, Monday 0.
    """
    ends = [start - timedelta(days=1)]
    day = _week_of(start, first_weekday) + timedelta(days=6)
    while day < plan.beyond + timedelta(days=6):
        ends.append(day)
        day += timedelta(weeks=1)
    return tuple(_on(plan, day) for day in ends)


def _on(plan: Plan, day: date) -> Backlog:
    left = [
        one for one, seat in _seated(plan) if one.due <= day and (seat is None or seat.day > day)
    ]
    return Backlog(
        day=day,
        waiting=len(left),
        weight=sum(one.stake.weight for one in left),
        past_limit=sum(one.limit < day for one in left),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Invitations:
    """How many to invite in the week from ``first`` on: for ``planned`` visits, ``invite``."""

    first: date
    planned: int
    invite: int


def invitations(
    plan: Plan, start: date, risks: RiskOrder, first_weekday: int
) -> tuple[Invitations, ...]:
    """How many to invite each week, so long before their day as the clinic says, none earlier.

    Who was told a date is not invited again. Where not all come, more are invited than there are
    places, from further down the plan. A week begins on ``first_weekday``, Monday 0.
    """
    ahead = timedelta(weeks=risks.invite_weeks)
    weeks = Counter(
        _week_of(max(seat.day - ahead, start), first_weekday)
        for one, seat in _seated(plan)
        if seat is not None and not (one.told and not plan.moved(one))
    )
    return tuple(
        Invitations(first=day, planned=planned, invite=_to_fill(planned, risks.share_who_come))
        for day, planned in sorted(weeks.items())
    )


def _week_of(day: date, first_weekday: int) -> date:
    return day - timedelta(days=(day.weekday() - first_weekday) % 7)


def _to_fill(places: int, share: float) -> int:
    # Rounded first: 9 / 0.9 is a hair over 10.
    return ceil(round(places / share, 6))

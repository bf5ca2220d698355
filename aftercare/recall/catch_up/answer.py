"""The whole answer to "whom do we call first": the plan, why, and what else could be done."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from aftercare.recall.catch_up.measures import (
    Backlog,
    Invitations,
    Measures,
    backlog,
    invitations,
    measures,
    soonest_day,
)
from aftercare.recall.catch_up.optimum import best
from aftercare.recall.catch_up.reasons import Before, Reason, in_order, reasons
from aftercare.recall.catch_up.usual import Custom, by_custom
from aftercare.recall.catch_up.values import Aim, Opening, Plan, Waiting
from aftercare.recall.risk import Limits, RiskOrder

LEAST_LOSS = "this plan"


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """A plan with its reasons, in figures and beside two customs, by name."""

    start: date
    limits: Limits
    plan: Plan
    reasons: Mapping[str, Reason]
    measures: Mapping[str, Measures]
    backlogs: Mapping[str, tuple[Backlog, ...]]
    invitations: tuple[Invitations, ...]
    conditions: tuple[Condition, ...]

    @property
    def objective(self) -> tuple[Aim, ...]:
        """What the plan keeps least, the first above the second and so on."""
        weighed = self.limits is Limits.WEIGHED
        return tuple(aim for aim in Aim if not (weighed and aim is Aim.PASSED))

    @property
    def kept_waiting(self) -> list[Waiting]:
        """Those past their limit from the start who have no place, so that others keep theirs."""
        if not self.plan.holds_limits:
            return []
        first = min(seat.day for seat in self.plan.seats)
        without = [one for one in self.order if self.plan.places[one.ref] is None]
        return [one for one in without if one.limit < first and self._yields(one)]

    def _yields(self, one: Waiting) -> bool:
        return any(ahead.why is Before.LIMIT for ahead in self.reasons[one.ref].ahead)

    @property
    def order(self) -> list[Waiting]:
        """Everybody, in the order of the plan."""
        return in_order(self.plan)

    @property
    def told_and_moved(self) -> list[Waiting]:
        """Those who were told a day and have another now, or none."""
        return [one for one in self.order if one.told and self.plan.moved(one)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Condition:
    """What becomes of the people of one condition; ``last`` is the latest day planned."""

    name: str
    people: int
    planned: int
    past_limit: int
    last: date | None


def answer(
    people: Sequence[Waiting],
    openings: Sequence[Opening],
    risks: RiskOrder,
    *,
    start: date,
    first_weekday: int,
    seconds: float,
) -> Answer:
    """Plan, explain and compare; weeks begin on ``first_weekday``, Monday 0.

    Raises ``BadInput`` as `best` does.
    """
    plan = best(
        people,
        openings,
        limits=risks.limits,
        passing_weeks=risks.passing_weeks,
        seconds=seconds,
    )
    plans = {LEAST_LOSS: plan} | {
        custom.value: by_custom(people, openings, custom) for custom in Custom
    }
    told = reasons(plan, soonest_day(openings))
    return Answer(
        start=start,
        limits=risks.limits,
        plan=plan,
        reasons={one.ref: one for one in told},
        measures={name: measures(one, openings, start) for name, one in plans.items()},
        backlogs={name: backlog(one, start, first_weekday) for name, one in plans.items()},
        invitations=invitations(plan, start, risks, first_weekday),
        conditions=tuple(_conditions(plan)),
    )


def _conditions(plan: Plan) -> Iterator[Condition]:
    """The conditions that gave people their weight, the heaviest first."""
    weights = {one.stake.condition: one.stake.weight for one in plan.people}
    for name in sorted(weights, key=lambda name: (-weights[name], name)):
        here = [one for one in plan.people if one.stake.condition == name]
        planned = [plan.day(one) for one in here if plan.places[one.ref] is not None]
        yield Condition(
            name=name,
            people=len(here),
            planned=len(planned),
            past_limit=sum(one.limit < plan.day(one) for one in here),
            last=max(planned, default=None),
        )

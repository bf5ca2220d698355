"""The list of a day: who is to be seen, in the order of risk, and why each stands where they do."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from aftercare.recall.people import Person, Recall, RecallState, Standing
from aftercare.recall.promise import limit
from aftercare.recall.risk import RiskOrder, Stake
from aftercare.recall.routes import Means
from aftercare.recall.steps import RECALL, Planner


@dataclass(frozen=True, slots=True, kw_only=True)
class Called:
    """One patient of the list, with all of their recalls that are on it.

    ``due`` is the first of their days and ``limit`` the nearest hard limit; ``now`` says where it
    stands, and ``how`` are the means of reaching them that fit, in order.
    """

    person: Person
    recalls: tuple[Recall, ...]
    stake: Stake
    due: date
    limit: date
    now: str
    how: tuple[Means, ...]

    def overdue(self, on: date) -> int:
        """Whole days since the due day; negative before it."""
        return (on - self.due).days

    def past_limit(self, on: date) -> bool:
        """Whether a visit on this day would be past the hard limit."""
        return on > self.limit

    def why(self, on: date) -> str:
        """What gives this patient their place."""
        late, left = self.overdue(on), (self.limit - on).days
        if late > 0:
            when = f"{_days(late)} overdue"
        else:
            when = f"due in {_days(-late)}" if late else "due today"
        limit = f"{_days(left)} to its limit" if left >= 0 else f"{_days(-left)} past its limit"
        return (
            f"{self.stake.condition}: an overdue day counts {self.stake.weight}; {when}; "
            f"{limit}, {self.limit}"
        )


def _days(count: int) -> str:
    return f"{count:,} day{'' if count == 1 else 's'}"


def day_list(
    found: Iterable[tuple[Recall, Person]], risks: RiskOrder, planner: Planner, on: date
) -> tuple[Called, ...]:
    """Everybody found, each once, in the order of risk.

    First who is past the hard limit, then whose overdue day counts most, then who has been due
    longest, then by reference. Nothing but condition and days enters it.
    """
    together: dict[str, tuple[Person, list[Recall]]] = {}
    for recall, person in found:
        together.setdefault(person.ref, (person, []))[1].append(recall)
    called = (_called(person, recalls, risks, planner, on) for person, recalls in together.values())
    return tuple(
        sorted(
            called,
            key=lambda one: (not one.past_limit(on), -one.stake.weight, one.due, one.person.ref),
        )
    )


def _called(
    person: Person, recalls: list[Recall], risks: RiskOrder, planner: Planner, on: date
) -> Called:
    now, how = _now(person, _pressing(recalls), planner, on)
    return Called(
        person=person,
        recalls=tuple(recalls),
        stake=risks.of(one.condition for one in recalls if one.condition is not None),
        due=min(one.due for one in recalls),
        limit=min(limit(one, risks) for one in recalls),
        now=now,
        how=how,
    )


def _pressing(recalls: Iterable[Recall]) -> Recall:
    """The one that says most of what is to be done: one that waits on somebody, else the oldest."""
    return min(recalls, key=lambda one: (one.state is not RecallState.WAITING, one.due))


def _now(
    person: Person, recall: Recall, planner: Planner, on: date
) -> tuple[str, tuple[Means, ...]]:
    """Where a recall stands on a day, and the means to reach the patient by."""
    *_, last = planner.plan.sequence(recall.condition)
    turn = recall.due.fromordinal(recall.due.toordinal() + last.days)
    may = person.standing is Standing.READY
    asked = planner.handover(person, max(turn, on), "", last.by, RECALL)
    how = asked.how if may else ()
    if recall.state is RecallState.WAITING:
        return f"waits on {recall.waiting_on}: {recall.because}", how
    if not may:
        reasons = ", ".join(person.reasons) or "no reason on record"
        return f"may not be contacted ({person.standing}: {reasons}); decide", ()
    if recall.booked is not None:
        return f"booked for {shown(recall.booked, planner.zone)}", how
    if turn <= on:
        return f"the turn of {asked.who}", how
    return f"reminders go out by themselves; {asked.who} from {asked.day}", how


def shown(moment: datetime, zone: str) -> str:
    """A moment as the clinic's clocks show it."""
    return f"{moment.astimezone(ZoneInfo(zone)):%Y-%m-%d %H:%M}"

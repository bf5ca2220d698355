"""Which of the reminders due on a day are written now, in which words, and why not the others."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from aftercare.model import Moment
from aftercare.recall.moments import zone_of
from aftercare.recall.people import Recall
from aftercare.recall.port import Claimed
from aftercare.recall.risk import RiskOrder
from aftercare.recall.steps import Planner
from aftercare.reminding.order import Order, Visit
from aftercare.sending import Answer, May, Today, may
from aftercare.sending.households import Households

# What tells of a time that holds no more; what takes it out of a calendar.
_FORMER = frozenset({Moment.CHANGED, Moment.CANCELLED, Moment.MISSED})
_IN_CALENDAR = {Moment.CANCELLED: "former"}


@dataclass(frozen=True, slots=True)
class Verdict:
    """What becomes of one reminder now. ``at`` is the moment it is judged for."""

    answer: Answer
    at: datetime


class Judge:
    """Asks of each reminder whether it may be written for the day ``on``, and counts households.

    What is written at night is for the morning: a reminder is judged for the first moment of the
    day that is not quiet, or for now when that is later. ``written`` are the households that had
    a message that day already; they get no other. ``counter`` gives
    what counts them.
    """

    def __init__(
        self, planner: Planner, risks: RiskOrder, written: Iterable[str], *, on: date,
        now: datetime, counter: Callable[[], Households] = Households,
    ) -> None:  # fmt: skip
        self._planner, self._risks = planner, risks
        self._on, self._now = on, now
        self._written, self._counts = counter(), counter()
        for household in written:
            if not self._written.count(household, 1):
                self._written.add(household)

    def ask(self, claimed: Claimed) -> Verdict:
        """Whether it may be written now."""
        plan, person = self._planner.plan, claimed.person
        zone = person.zone or self._planner.zone
        at = max(self._now, plan.hours.span(self._on, zone)[0])
        today = Today(now=at, household=self._had(person.household), zone=self._planner.zone)
        return Verdict(may(claimed.reminder, claimed.recall, person, plan, today), at)

    def _had(self, household: str | None) -> int:
        if household is None:
            return 0
        most = self._planner.plan.household_a_day
        return most if self._written.count(household, 1) else self._counts.count(household, most)

    def count(self, claimed: Claimed) -> None:
        """Its household has its message of the day."""
        if claimed.person.household is not None:
            self._counts.add(claimed.person.household)

    def order(self, claimed: Claimed, verdict: Verdict) -> Order:
        """What is to be written of a reminder that may go."""
        recall, reminder = claimed.recall, claimed.reminder
        found = self._planner.plan.step(recall, reminder.step)
        channel = verdict.answer.channel
        if verdict.answer.may is not May.GO or channel is None or found is None:
            raise ValueError("only what may go is written")
        moment = found[0].moment
        assert moment is not None  # noqa: S101 - READ lets no step by a person have reminders
        return Order(
            key=reminder.key,
            moment=moment,
            channel=channel,
            person=claimed.person,
            condition=recall.condition,
            on=self._on,
            days={
                "due_date": recall.due,
                "answer_by_date": self._planner.answer_by(
                    self._on, self._on if moment in _FORMER else recall.due
                ),
            },
            times=_times(recall, moment),
            visit=self._visit(recall, moment),
            not_before=verdict.at,
            not_after=reminder.not_after,
        )

    def _visit(self, recall: Recall, moment: Moment) -> Visit | None:
        """The visit to be entered in a calendar, or the one that is to be taken out."""
        start = _times(recall, moment).get(_IN_CALENDAR.get(moment, "appointment"))
        if start is None:
            return None
        named = [recall.condition] if recall.condition else []
        return Visit(
            recall=recall.id,
            start=start,
            minutes=self._risks.of(named).minutes,
            sequence=0 if recall.news is None else recall.news.changes,
            stamp=self._now,
        )


def _times(recall: Recall, moment: Moment) -> dict[str, datetime]:
    """The times a message may tell: the one that is booked, and what it was before."""
    former = None if recall.news is None else recall.news.former
    known = {} if recall.booked is None else {"appointment": recall.booked}
    return known if moment not in _FORMER or former is None else known | {"former": former}


def day_span(on: date, zone: str) -> tuple[datetime, datetime]:
    """The day on a calendar, as the moments it begins and ends."""
    begins = datetime(on.year, on.month, on.day, tzinfo=zone_of(zone))
    after = on + timedelta(days=1)
    return begins, datetime(after.year, after.month, after.day, tzinfo=zone_of(zone))

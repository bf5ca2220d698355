"""The sequence of a recall: its reminders with their days, and whose turn it is in the end.

Nobody is dropped: what is planned for an open recall always ends with a day on which a named
person takes over, and every step that is left out says why.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from types import MappingProxyType

from aftercare.model import Channel, Fact, Moment
from aftercare.recall.hours import Hours
from aftercare.recall.moments import zone_of
from aftercare.recall.people import News, Person, Recall, RecallState, Reminder, Standing, Topic
from aftercare.recall.routes import Means, all_barred, first_usable, ways
from aftercare.recall.working_days import Closed, Roll, rolled

OTHER = "other"
# What somebody may ask to hear nothing of, each by each channel.
RECALL, APPOINTMENT = "recall", "appointment"
_BY_ANY = tuple(Means)
# Keys of reminders that were written or skipped, each with its day.
Settled = Mapping[str, date]
NOTHING: Settled = MappingProxyType({})
# Keys of those that were skipped, each with the reason.
Skipped = Mapping[str, str]
NONE: Skipped = MappingProxyType({})
# After these there is no visit, and it is for the clinic to see that there is one again.
_WITHOUT_VISIT = frozenset({Moment.CANCELLED, Moment.MISSED})


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step: a message with its ``moment``, or ``by`` a person with none.

    ``days`` are counted from the due day, the appointment or the event; ``until``, counted the
    same way, is the last day the words are true and of use, None for no such day.
    """

    name: str
    days: int
    moment: Moment | None = None
    until: int | None = None
    channels: tuple[Channel, ...] = ()
    by: tuple[Means, ...] = ()
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReminderPlan:
    """What a clinic has decided on reminders, from ``shared/recall.toml``.

    ``sequences`` has a line for ``OTHER``; each ends with a step by a person. ``events`` are by
    moment. Days are whole days; ``desk`` is whose turn it is when no message is left.
    """

    desk: str
    answer_days: int
    late_days: int
    gap_days: int
    household_a_day: int
    hours: Hours
    sequences: Mapping[Fact, tuple[Step, ...]]
    appointment: tuple[Step, ...]
    events: Mapping[Moment, Step]

    def sequence(self, condition: Fact | None) -> tuple[Step, ...]:
        """The steps for a condition, or those for all others."""
        return self.sequences.get(condition or OTHER, self.sequences[OTHER])

    def step(self, recall: Recall, name: str) -> tuple[Step, Topic] | None:
        """The step of this name that a recall can have, and its topic."""
        of_visit = (*self.appointment, *self.events.values())
        for topic, steps in ((APPOINTMENT, of_visit), (RECALL, self.sequence(recall.condition))):
            for one in steps:
                if one.name == name:
                    return one, topic
        return None


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A step that is not planned, and why."""

    step: str
    because: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Handover:
    """From ``day`` on it is ``who``'s turn. ``how`` are the means that fit the patient, in order.

    None fits when ``how`` is empty; ``because`` then says so.
    """

    day: date
    who: str
    because: str
    how: tuple[Means, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """What is to come of one open recall; of a closed one, nothing and no handover.

    ``ended`` is the day from which, with no message left, somebody must have it by name.
    """

    reminders: tuple[Reminder, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    handover: Handover | None = None
    ended: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Telling:
    """How the patient hears what became of a visit: on a day, or why nothing tells them.

    Both are None when there is nothing to hear.
    """

    reminders: tuple[Reminder, ...] = ()
    on: date | None = None
    lacking: str | None = None


class Days:
    """A clinic's open days, asked over and over: each day is worked out once."""

    def __init__(self, closed: Closed, hours: Hours) -> None:
        def shut(day: date) -> str | None:
            quiet = day.weekday() in hours.quiet_days
            return f"{day} is a quiet day" if quiet else closed(day)

        @lru_cache(maxsize=8192)
        def moved(day: date, roll: Roll) -> date:
            return rolled(day, roll, shut)[0]

        self._moved = moved

    def on_or_before(self, day: date) -> date:
        """The last open day up to this one."""
        return self._moved(day, Roll.PREVIOUS)

    def on_or_after(self, day: date) -> date:
        """The first open day from this one on."""
        return self._moved(day, Roll.NEXT)


@dataclass(frozen=True, slots=True, kw_only=True)
class Planner:
    """Plans recalls by one plan and one calendar. ``zone`` is the clinic's, for who has none."""

    plan: ReminderPlan
    days: Days
    zone: str

    def plan_recall(
        self, recall: Recall, person: Person, *, today: date, settled: Settled = NOTHING,
        skipped: Skipped = NONE,
    ) -> Planned:  # fmt: skip
        """Everything to come of a recall that the register has given its number.

        ``settled`` are the keys of its reminders that were written or skipped, with the day, and
        ``skipped`` the second with the reason. The same recall gives the same keys, whenever it
        is planned.
        """
        if recall.state is RecallState.CLOSED:
            return Planned(left_out=(LeftOut("all", f"closed: {recall.because}"),))
        if recall.state is RecallState.WAITING:
            return self._waiting(recall, person, today)
        if person.standing is not Standing.READY:
            return self._not_ready(person, today)
        news, told = recall.news, self._telling(recall, person, today, settled, skipped)
        if recall.booked is not None:
            return self._of_appointment(recall, person, recall.booked, today, settled, told)
        if news is not None and news.moment in _WITHOUT_VISIT:
            return self._of_no_visit(recall, person, news, today, told)
        return self._of_due(recall, person, today, settled)

    def is_far_off(self, recall: Recall, person: Person, on: date) -> bool:
        """Whether neither a message nor a person's turn can come of a recall by a day.

        A quick look at one of which no reminder was planned yet: what it says is so, but it may
        say no of one that is far off all the same.
        """
        first = self.plan.sequence(recall.condition)[0]
        return (
            recall.state is RecallState.SCHEDULED
            and recall.booked is None
            and recall.news is None
            and person.standing is Standing.READY
            # Steps come in order of their days, and a step ahead of the due day is never late.
            and first.days < 0
            and self.days.on_or_before(recall.due + timedelta(days=first.days)) > on
            # If no message could reach the patient, it would be a person's turn at once.
            and first_usable(person, first.channels, RECALL) is not None
        )

    def _telling(
        self, recall: Recall, person: Person, today: date, settled: Settled, skipped: Skipped
    ) -> Telling:
        """How somebody hears of a booking, a change, a cancelled or a missed visit."""
        news = recall.news
        if news is None or news.moment is None:
            return Telling()
        step = self.plan.events[news.moment]
        key = visit_key(recall, step.name, news.on)
        if recall.told or (key in settled and key not in skipped):
            return Telling(on=settled.get(key, news.on))
        if key in skipped:
            return Telling(lacking=skipped[key])
        made = _Made(self, recall, person, APPOINTMENT, news.on, today, NOTHING)
        if recall.booked is not None:
            made.last_of_all = self._day_of(recall.booked) - timedelta(days=1)
        made.add(step)
        if not made.reminders:
            return Telling(lacking=made.left_out[0].because)
        return Telling(reminders=tuple(made.reminders), on=made.reminders[0].day)

    def _day_of(self, moment: datetime) -> date:
        """The day of a moment at the clinic."""
        return moment.astimezone(zone_of(self.zone)).date()

    def handover(
        self, person: Person, day: date, because: str, by: Iterable[Means], topic: Topic
    ) -> Handover:
        """A turn of the desk's, with the means that fit this patient."""
        how = ways(person, by, topic)
        if not how:
            because += "; nothing on record fits this patient: look in the clinic's own notes"
        return Handover(
            day=self.days.on_or_after(day), who=self.plan.desk, because=because, how=how
        )

    def answer_by(self, day: date, due: date) -> date:
        """The open day an answer is asked for by in a message of this day.

        It is not after the due day, when that is still to come; ``due`` is ``day`` itself where
        the answer is about a visit that was called off or missed.
        """
        wanted = day + timedelta(days=self.plan.answer_days)
        if day < due < wanted:
            return max(self.days.on_or_before(due), day)
        return self.days.on_or_after(wanted)

    def _waiting(self, recall: Recall, person: Person, today: date) -> Planned:
        who, because = recall.waiting_on or self.plan.desk, recall.because or "not said why"
        how = ways(person, _BY_ANY, RECALL) if person.standing is Standing.READY else ()
        return Planned(
            left_out=(LeftOut("all", f"waits on {who}"),),
            handover=Handover(day=today, who=who, because=because, how=how),
        )

    def _not_ready(self, person: Person, today: date) -> Planned:
        """Whoever must not be written to, or not yet: a person decides, and no means is offered."""
        why = f"{person.standing}: {', '.join(person.reasons) or 'no reason on record'}"
        day = self.days.on_or_after(today)
        return Planned(
            left_out=(LeftOut("all", why),),
            ended=day,
            handover=Handover(
                day=day, who=self.plan.desk,
                because=f"nothing may be sent ({why}); decide what becomes of the recall",
            ),
        )  # fmt: skip

    def _of_appointment(
        self, recall: Recall, person: Person, booked: datetime, today: date, settled: Settled,
        told: Telling,
    ) -> Planned:  # fmt: skip
        day = self._day_of(booked)
        made = _Made(self, recall, person, APPOINTMENT, day, today, settled)
        made.heard = told.on
        for step in self.plan.appointment:
            made.add(step)
        turn, because = day + timedelta(days=1), (
            f"booked for {day}, and nobody has said whether the patient came"
        )  # fmt: skip
        if told.lacking is not None and today <= day:
            turn, because = today, _untold(recall, told.lacking)
        return self._until_asked(
            Planned(
                reminders=(*told.reminders, *made.reminders), left_out=tuple(made.left_out)
            ),
            person, max(turn, today), because,
        )  # fmt: skip

    def _of_no_visit(
        self, recall: Recall, person: Person, news: News, today: date, told: Telling
    ) -> Planned:
        """A visit that was called off or missed: the patient hears of it, then it is the desk's."""
        was = "" if news.former is None else f" on {self._day_of(news.former)}"
        heard = told.on or today
        answer = self.answer_by(heard, heard)
        if told.lacking is not None:
            turn, because = today, _untold(recall, told.lacking)
        elif news.moment is Moment.MISSED:
            # Nobody is called before they have had the days to answer.
            turn = answer + timedelta(days=1)
            because = f"did not come{was}, and no new time is booked"
        else:
            turn = heard + timedelta(days=1)
            because = f"the visit{was} was called off: offer a new time by {answer}"
        others = self.plan.sequence(recall.condition)[:-1]
        left = (LeftOut(one.name, f"the visit was {news.moment}") for one in others)
        planned = Planned(reminders=told.reminders, left_out=tuple(left))
        return self._until_asked(planned, person, max(turn, today), because)

    def _until_asked(self, planned: Planned, person: Person, turn: date, because: str) -> Planned:
        """What is planned of a visit, and then the desk's turn."""
        asked = self.handover(person, turn, because, _BY_ANY, APPOINTMENT)
        return replace(planned, handover=asked, ended=asked.day)

    def _of_due(self, recall: Recall, person: Person, today: date, settled: Settled) -> Planned:
        made = _Made(self, recall, person, RECALL, recall.due, today, settled)
        *messages, last = self.plan.sequence(recall.condition)
        late = _timely(messages, recall.due, today)
        for number, step in enumerate(messages):
            if number < late and not made.is_settled(step):
                made.leave(step, f"its day has passed, and that of '{messages[late].name}' too")
            else:
                made.add(step)
        turn = end = recall.due + timedelta(days=last.days)
        because = f"due on {recall.due}, and nothing was booked"
        if made.barred and not made.reminders:
            told = dict.fromkeys(one.because for one in made.left_out)
            turn, because = min(turn, today), f"no message can be sent: {'; '.join(told)}"
        elif made.last is not None:
            # Nobody is called before they have had the days to answer the last message.
            turn = end = max(turn, made.last + timedelta(days=self.plan.gap_days))
        return Planned(
            reminders=tuple(made.reminders),
            left_out=tuple(made.left_out),
            handover=self.handover(person, max(turn, today), because, last.by, RECALL),
            ended=self.days.on_or_after(max(end, today)),
        )


def _untold(recall: Recall, because: str) -> str:
    """What a person is to tell when no message does."""
    assert recall.news is not None  # noqa: S101
    return f"tell the patient that the visit was {recall.news.moment}: {because}"


def _timely(messages: list[Step], base: date, today: date) -> int:
    """The first message to plan: of those whose day has come, the last is the one that is true."""
    come = [n for n, one in enumerate(messages) if base + timedelta(days=one.days) <= today]
    return max(come, default=0)


class _Made:
    """The reminders of one recall as they are worked out, step after step.

    ``last`` is the day of the last message, written or planned; ``barred`` says that for some
    message no channel was left. None comes after ``last_of_all``, nor a nudge by ``heard``, the
    day the patient hears of the visit anyhow.
    """

    def __init__(
        self, planner: Planner, recall: Recall, person: Person, topic: Topic, base: date,
        today: date, settled: Settled,
    ) -> None:  # fmt: skip
        self._planner, self._recall, self._person = planner, recall, person
        self._topic, self._base, self._today = topic, base, today
        self._settled = settled
        self.reminders: list[Reminder] = []
        self.left_out: list[LeftOut] = []
        self.barred = False
        self.last: date | None = max(settled.values(), default=None)
        self.last_of_all: date | None = None
        self.heard: date | None = None

    def is_settled(self, step: Step) -> bool:
        """Whether the step was written or skipped before."""
        return self._key(step) in self._settled

    def _key(self, step: Step) -> str:
        key = visit_key if self._topic == APPOINTMENT else key_of
        return key(self._recall, step.name, self._base)

    def leave(self, step: Step, because: str) -> None:
        """Leave a step out, with its reason."""
        self.left_out.append(LeftOut(step.name, because))

    def add(self, step: Step) -> None:
        """Plan a message for its day, or leave it out with the reason."""
        key = self._key(step)
        if key in self._settled:
            self.leave(step, "written or skipped before")
            return
        if self.heard is not None and self._own_day(step) <= self.heard:
            self.leave(step, f"the patient hears of the visit on {self.heard}")
            return
        channel = first_usable(self._person, step.channels, self._topic)
        if channel is None:
            self.barred = True
            self.leave(step, all_barred(self._person, step.channels, self._topic))
            return
        day = self._day(step)
        until = self._until(step)
        if until is not None and day > until:
            self.leave(step, f"too late: {until} was its last day")
            return
        if self.reminders and self.reminders[-1].day == day:
            # Both fell on one open day: the later step says what the earlier one would.
            self.left_out.append(LeftOut(self.reminders.pop().step, f"'{step.name}' is that day"))
        self.reminders.append(self._reminder(step, key, channel, day, until))
        self.last = day

    def _day(self, step: Step) -> date:
        """The open day of a step: an earlier one where words look ahead, else a later one."""
        days, wanted = self._planner.days, self._base + timedelta(days=step.days)
        day, earliest = self._own_day(step), self._today
        if self.last is not None and self._topic == RECALL:
            earliest = max(earliest, self.last + timedelta(days=self._planner.plan.gap_days))
        return day if day >= earliest else days.on_or_after(max(earliest, wanted))

    def _own_day(self, step: Step) -> date:
        """The open day that is nearest to the one that is wanted, whatever day it is now."""
        days, wanted = self._planner.days, self._base + timedelta(days=step.days)
        return days.on_or_before(wanted) if step.days < 0 else days.on_or_after(wanted)

    def _until(self, step: Step) -> date | None:
        """The last day the words are true and of use."""
        until = None if step.until is None else self._base + timedelta(days=step.until)
        if until is None or self.last_of_all is None:
            return until
        return min(until, self.last_of_all)

    def _reminder(
        self, step: Step, key: str, channel: Channel, day: date, until: date | None
    ) -> Reminder:
        plan, zone = self._planner.plan, self._person.zone or self._planner.zone
        last = day + timedelta(days=plan.late_days)
        last = last if until is None else min(last, until)
        return Reminder(
            recall=self._recall.id,
            step=step.name,
            channel=channel,
            day=day,
            key=key,
            not_before=plan.hours.span(day, zone)[0],
            not_after=plan.hours.span(last, zone)[1],
        )


def key_of(recall: Recall, step: str, base: date) -> str:
    """What makes a reminder the same one: recall, step, and the day it is counted from."""
    return f"{recall.id}/{step}/{base}"


def visit_key(recall: Recall, step: str, base: date) -> str:
    """The same for whatever is about a visit: at another time of the same day it is another."""
    return f"{key_of(recall, step, base)}{visit_mark(recall)}"


def visit_mark(recall: Recall) -> str:
    """The end of the key of whatever is about the visit as it is now; empty when there was none.

    One that was moved and moved back is another visit, of which the patient must hear anew.
    """
    at = "" if recall.booked is None else f"{recall.booked.astimezone(UTC):%Y%m%dT%H%MZ}"
    changed = "" if recall.news is None or not recall.news.changes else f"-{recall.news.changes}"
    return f"@{at}{changed}" if at or changed else ""

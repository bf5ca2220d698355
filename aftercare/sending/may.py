"""May this reminder leave now? Asked when it is planned, and again at the moment it goes.

Between the two a patient may have opted out, died, booked, or been written to with another of
the household. Every answer but yes has its reason.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from aftercare.model import Channel
from aftercare.recall.moments import zone_of
from aftercare.recall.people import (
    Person,
    Recall,
    RecallState,
    Reminder,
    ReminderState,
    Standing,
    Topic,
)
from aftercare.recall.routes import all_barred, barred, first_usable
from aftercare.recall.steps import APPOINTMENT, RECALL, ReminderPlan, Step, key_of, visit_mark


class May(StrEnum):
    """What to do with a reminder."""

    GO = "go"  # it may leave, by the channel of the answer
    LATER = "later"  # not before the moment of the answer
    NEVER = "never"  # it is skipped, with the reason
    PERSON = "person"  # it is skipped, and somebody at the clinic has to reach the patient


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What to do, and why. ``channel`` is set for GO, ``after`` (in UTC) for LATER."""

    may: May
    because: str | None = None
    channel: Channel | None = None
    after: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Today:
    """What is known at the moment of sending, beside the register's own values.

    ``now`` carries a zone. ``household`` is how many messages the recipient's household has been
    written to with on this day, on their own calendar; ``zone`` is the clinic's.
    """

    now: datetime
    household: int
    zone: str


def may(
    reminder: Reminder, recall: Recall, person: Person, plan: ReminderPlan, today: Today
) -> Answer:
    """Whether a reminder may leave now. The values are as the register has them now.

    A message about a visit that cannot leave any more is a person's to tell; a recall goes on
    without one, to the day when it is a person's turn anyhow.
    """
    found = plan.step(recall, reminder.step)
    if found is None:
        return _never(f"shared/recall.toml has no step '{reminder.step}' for it any more")
    step, topic = found
    refused = _outdated(reminder, recall, topic, plan) or _unwanted(person)
    if refused is not None:
        return _never(refused)
    lost = May.PERSON if topic == APPOINTMENT else May.NEVER
    if reminder.not_after is not None and today.now >= reminder.not_after:
        return Answer(may=lost, because=f"too late: its last moment was {reminder.not_after}")
    channel = _channel(reminder, step, person, topic)
    if channel is None:
        return Answer(may=lost, because=all_barred(person, step.channels, topic))
    return _in_time(reminder, channel, person, plan, today, lost)


def _outdated(reminder: Reminder, recall: Recall, topic: Topic, plan: ReminderPlan) -> str | None:
    """Why a reminder is about something that is not so any more."""
    if reminder.state is not ReminderState.PLANNED:
        return f"it is {reminder.state} already"
    if recall.state is not RecallState.SCHEDULED:
        return f"the recall is {recall.state}: {recall.because or recall.waiting_on}"
    if topic == RECALL and recall.booked is not None:
        return "a visit is booked"
    if topic == RECALL and reminder.key != key_of(recall, reminder.step, recall.due):
        return f"the recall is due on another day now, {recall.due}"
    if topic == APPOINTMENT and recall.told and _is_news(reminder, plan):
        return "the patient has been told"
    if topic == APPOINTMENT and reminder.key.partition("@")[2] != visit_mark(recall)[1:]:
        return "the visit it is about was moved, called off or made anew"
    return None


def _is_news(reminder: Reminder, plan: ReminderPlan) -> bool:
    return any(one.name == reminder.step for one in plan.events.values())


def _unwanted(person: Person) -> str | None:
    if person.standing is Standing.READY:
        return None
    return f"{person.standing}: {', '.join(person.reasons) or 'no reason on record'}"


def _channel(reminder: Reminder, step: Step, person: Person, topic: Topic) -> Channel | None:
    """The channel it was planned for, or the next of its step when that has been closed."""
    if barred(person, reminder.channel, topic) is None:
        return reminder.channel
    return first_usable(person, step.channels, topic)


def _in_time(
    reminder: Reminder,
    channel: Channel,
    person: Person,
    plan: ReminderPlan,
    today: Today,
    lost: May,
) -> Answer:
    """Now, or at a later moment if it is quiet or the household has had its message."""
    zone, now = person.zone or today.zone, today.now
    if reminder.not_before is not None and now < reminder.not_before:
        return _later(reminder, reminder.not_before, "its time has not come", lost)
    if person.household is not None and today.household >= plan.household_a_day:
        tomorrow = now.astimezone(zone_of(zone)).date() + timedelta(days=1)
        after = plan.hours.next_open(plan.hours.span(tomorrow, zone)[0], zone)
        return _later(reminder, after, "the household has been written to today", lost)
    # A letter wakes nobody.
    if channel is not Channel.PRINT and not plan.hours.allow(now, zone):
        return _later(reminder, plan.hours.next_open(now, zone), f"quiet hours in {zone}", lost)
    return Answer(may=May.GO, channel=channel)


def _later(reminder: Reminder, after: datetime, because: str, lost: May) -> Answer:
    """At a later moment; lost when that would be too late."""
    if reminder.not_after is not None and after >= reminder.not_after:
        return Answer(may=lost, because=f"{because}, and later would be too late")
    return Answer(may=May.LATER, because=because, after=after)


def _never(because: str) -> Answer:
    return Answer(may=May.NEVER, because=because)

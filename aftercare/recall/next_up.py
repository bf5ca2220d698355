"""What happens next for a patient: each message with its day and reason, then whose turn it is."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from aftercare.recall.moments import zone_of
from aftercare.recall.people import Person, Recall, Reminder, ReminderState
from aftercare.recall.steps import APPOINTMENT, LeftOut, Planned, Planner


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """One thing to come. ``by`` are the means, in order; ``who`` is a person's turn, else None."""

    day: date
    what: str
    by: tuple[str, ...]
    why: str
    who: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """What is to come of one recall, by day, and what is left out with the reason."""

    recall: Recall
    events: tuple[Event, ...]
    left_out: tuple[LeftOut, ...]


def outlook(
    recall: Recall, person: Person, reminders: Iterable[Reminder], planner: Planner, today: date
) -> Outlook:
    """What is to come of one recall of somebody, of whose reminders all are given."""
    over = [one for one in reminders if one.recall == recall.id and one.settled is not None]
    settled = {
        one.key: one.settled.astimezone(zone_of(planner.zone)).date()
        for one in over
        if one.settled is not None
    }
    skipped = {
        one.key: one.because or "skipped" for one in over if one.state is ReminderState.SKIPPED
    }
    planned = planner.plan_recall(recall, person, today=today, settled=settled, skipped=skipped)
    return Outlook(
        recall=recall,
        events=tuple(sorted(_events(recall, planned, planner), key=lambda one: one.day)),
        left_out=planned.left_out,
    )


def _events(recall: Recall, planned: Planned, planner: Planner) -> list[Event]:
    found = [
        Event(
            day=one.day,
            what=one.step,
            by=(one.channel.value,),
            why=_counted(recall, one, planner),
        )
        for one in planned.reminders
    ]
    turn = planned.handover
    if turn is not None:
        by = tuple(means.value for means in turn.how)
        found.append(Event(day=turn.day, what="by a person", by=by, why=turn.because, who=turn.who))
    return found


def _counted(recall: Recall, reminder: Reminder, planner: Planner) -> str:
    """From which day a step is counted, and whether it had to move."""
    known = planner.plan.step(recall, reminder.step)
    if known is None:
        return "shared/recall.toml has no such step any more"
    step, topic = known
    named, base = "the due day", recall.due
    if step.moment in planner.plan.events and recall.news is not None:
        named, base = f"the day the visit was {step.moment}", recall.news.on
    elif topic == APPOINTMENT and recall.booked is not None:
        named = "the visit"
        base = recall.booked.astimezone(zone_of(planner.zone)).date()
    wanted = date.fromordinal(base.toordinal() + step.days)
    if not step.days and base == reminder.day:
        return f"on {named}, {base}"
    count = f"{abs(step.days)} day{'' if abs(step.days) == 1 else 's'}"
    said = f"{count} {'after' if step.days > 0 else 'before'} {named}, {base}"
    if reminder.day == wanted:
        return said
    return f"{said}, is {wanted}; moved to the nearest day it may leave"

"""The recalls of a register with what is to be written about each: one pass, nothing kept."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from aftercare.recall.moments import zone_of
from aftercare.recall.people import Person, Recall, RecallState, Reminder, ReminderState
from aftercare.recall.steps import Handover, Planned, Planner


@dataclass(frozen=True, slots=True, kw_only=True)
class Followed:
    """One open recall on a day: what is to be written by then, and whose turn it is otherwise.

    ``known`` are reminders the register has and that wait to be written, ``new`` those it lacks.
    ``ended`` says that no message is left, so that somebody must have it by name.
    """

    recall: Recall
    person: Person
    known: tuple[Reminder, ...]
    new: tuple[Reminder, ...]
    handover: Handover | None
    ended: bool = False


def follow(
    recalls: Iterable[tuple[Recall, Person]],
    reminders: Iterable[Reminder],
    planner: Planner,
    on: date,
) -> Iterator[Followed]:
    """Every open recall with what is due by ``on``; both are given by the recall's number.

    A reminder is planned on its day and not before: until then the recall may change, and
    planning it again gives the same key. One of which nothing can come by then is passed over.
    """
    for recall, person, had in _together(recalls, reminders):
        # Most of a register is; looking is a tenth of planning.
        if not had and planner.is_far_off(recall, person, on):
            continue
        settled = {
            one.key: _settled_on(one, planner.zone)
            for one in had
            if one.state is not ReminderState.PLANNED
        }
        skipped = {
            one.key: one.because or "skipped" for one in had if one.state is ReminderState.SKIPPED
        }
        planned = planner.plan_recall(recall, person, today=on, settled=settled, skipped=skipped)
        if planned.handover is None and not had:
            continue
        known = tuple(one for one in had if one.state is ReminderState.PLANNED and one.day <= on)
        keys = {one.key for one in had}
        new = tuple(one for one in planned.reminders if one.day <= on and one.key not in keys)
        yield Followed(
            recall=recall, person=person, known=known, new=new, handover=planned.handover,
            ended=_ended(recall, planned, had, on),
        )  # fmt: skip


def _ended(recall: Recall, planned: Planned, had: list[Reminder], on: date) -> bool:
    """Whether nothing more is to be written of a recall that waits on nobody yet."""
    if recall.state is not RecallState.SCHEDULED or planned.reminders or planned.ended is None:
        return False
    return planned.ended <= on and all(one.state is not ReminderState.PLANNED for one in had)


def _settled_on(one: Reminder, zone: str) -> date:
    return one.settled.astimezone(zone_of(zone)).date() if one.settled else one.day


def _together(
    recalls: Iterable[tuple[Recall, Person]], reminders: Iterable[Reminder]
) -> Iterator[tuple[Recall, Person, list[Reminder]]]:
    """Each recall with its reminders: two streams in one order, side by side."""
    waiting = iter(reminders)
    ahead = next(waiting, None)
    for recall, person in recalls:
        had: list[Reminder] = []
        while ahead is not None and ahead.recall <= recall.id:
            if ahead.recall == recall.id:
                had.append(ahead)
            ahead = next(waiting, None)
        yield recall, person, had

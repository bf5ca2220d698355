"""What a patient's calendar shows from an e-mail of ours, and no message will take out again."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from aftercare.model import Channel, Moment
from aftercare.recall.people import Person, Recall, RecallState, Reminder, ReminderState, Standing
from aftercare.recall.routes import barred
from aftercare.recall.steps import APPOINTMENT


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """A visit in a calendar. ``sequence`` is that of the file which takes it out."""

    recall: Recall
    start: datetime
    sequence: int


def left_over(
    person: Person, before: Recall, after: Recall, sent: Iterable[Reminder], now: datetime
) -> Entry | None:
    """The visit that a decision took off and that the patient's calendar still shows, if any.

    None when it was never sent to a calendar, is over, or an e-mail that takes it out is to come;
    and when the patient may not be written to, or wants no e-mail about visits.
    """
    start = _taken_off(before, after)
    if start is None or start <= now or _will_be_told(after):
        return None
    if person.standing is not Standing.READY or barred(person, Channel.EMAIL, APPOINTMENT):
        return None
    if not any(one.recall == before.id and _entered(one) for one in sent):
        return None
    return Entry(recall=before, start=start, sequence=_sequence(before, after))


def _taken_off(before: Recall, after: Recall) -> datetime | None:
    """The visit that was booked, or whose patient was still to be told that it is off."""
    if after.booked is not None and after.state is not RecallState.CLOSED:
        return None
    if before.booked is not None or before.news is None:
        return before.booked
    return before.news.former if before.news.moment is Moment.CANCELLED else None


def _will_be_told(after: Recall) -> bool:
    off = after.news is not None and after.news.moment is Moment.CANCELLED
    return off and not after.told and after.state is RecallState.SCHEDULED


def _entered(sent: Reminder) -> bool:
    """Whether it was an e-mail about a visit: its key then ends with which one."""
    return (
        sent.state is ReminderState.PREPARED and sent.channel is Channel.EMAIL and "@" in sent.key
    )


def _sequence(before: Recall, after: Recall) -> int:
    """One more than in any file before (RFC 5546, 2.1.4); what is decided of a visit counts so."""
    was, now = (0 if one.news is None else one.news.changes for one in (before, after))
    return now if now > was or before.booked is None else was + 1

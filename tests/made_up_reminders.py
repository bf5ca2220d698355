"""Made up for tests: reminders that are to be written."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from made_up_recalls import a_person

from aftercare.model import Channel, Moment
from aftercare.recall.people import Person
from aftercare.reminding import Order, Visit

START = datetime(2027, 3, 10, 10, 30, tzinfo=ZoneInfo("Europe/London"))
ON = date(2027, 1, 27)
# What is known at each moment beside the names.
TIMES = {
    Moment.BOOKED: {"appointment": START},
    Moment.BEFORE: {"appointment": START},
    Moment.MISSED: {"former": START},
    Moment.CHANGED: {"appointment": START, "former": START.replace(day=3)},
    Moment.CANCELLED: {"former": START},
}


def an_order(
    moment: Moment = Moment.INVITE, channel: Channel = Channel.SMS, *,
    person: Person | None = None, **changes: Any,
) -> Order:  # fmt: skip
    """A reminder of Robin Ash's, who comes back for wax."""
    times = TIMES.get(moment, {})
    usual: dict[str, Any] = {
        "key": f"7/{moment}/2027-03-10",
        "moment": moment,
        "channel": channel,
        "person": person or a_person(),
        "condition": "condition:wax",
        "on": ON,
        "days": {"due_date": date(2027, 3, 10), "answer_by_date": date(2027, 2, 10)},
        "times": times,
        "visit": Visit(
            recall=7, start=START, minutes=20, sequence=139,
            stamp=datetime(2027, 1, 27, 9, tzinfo=UTC),
        ) if times else None,
        "not_before": datetime(2027, 1, 27, 8, tzinfo=UTC),
        "not_after": datetime(2027, 2, 1, 20, tzinfo=UTC),
    }  # fmt: skip
    return Order(**{**usual, **changes})

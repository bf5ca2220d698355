"""Values to rows and back. Every list has one written form, so that equal values are equal rows."""

from __future__ import annotations

import json
from collections.abc import Iterable
from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import ColumnElement, func, select

from aftercare.edges.register import tables as t
from aftercare.edges.register.chain import Link
from aftercare.model import Channel, Interval, Side
from aftercare.recall.people import (
    Deed,
    Happened,
    Person,
    Recall,
    RecallState,
    Reminder,
    ReminderState,
    Seen,
    Standing,
    What,
)

Row = Any  # a database row: its columns' types are known to the database alone


def moment(when: datetime) -> str:
    """A moment as the register writes it: ISO 8601 in UTC, to the second."""
    return when.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def _read_moment(text: str | None, zone: str = "UTC") -> datetime | None:
    return None if text is None else datetime.fromisoformat(text).astimezone(ZoneInfo(zone))


def _spaced(values: Iterable[str]) -> str:
    return " ".join(sorted(values))


# --- People -----------------------------------------------------------------------------

_OPTED_OUT: ColumnElement[str] = (
    select(func.aggregate_strings(t.preferences.c.topic + ":" + t.preferences.c.channel, " "))
    .where(t.preferences.c.pid == t.patients.c.pid)
    .correlate(t.patients)
    .scalar_subquery()
    .label("opted_out")
)
PERSON_COLUMNS = (*t.patients.c, _OPTED_OUT)


def person(row: Row) -> Person:
    """A row of ``PERSON_COLUMNS`` as a person."""
    return Person(
        ref=row.ref,
        first_name=row.first_name,
        last_name=row.last_name,
        born=row.born,
        language=row.language,
        mobile=row.mobile,
        email=row.email,
        address=tuple(row.address.split("\n")) if row.address else (),
        agreed=frozenset(Channel(one) for one in row.agreed.split()),
        opted_out=frozenset(_opt_out(one) for one in (row.opted_out or "").split(" ") if one),
        facts=frozenset(row.facts.split()),
        household=row.household,
        zone=row.zone,
        standing=Standing(row.standing),
        reasons=tuple(row.reasons.split("\n")) if row.reasons else (),
    )


def _opt_out(written: str) -> tuple[str, Channel]:
    topic, _, channel = written.rpartition(":")
    return topic, Channel(channel)


def person_values(one: Person) -> dict[str, Any]:
    """The columns of ``patients`` for a person; opt-outs are rows of their own."""
    return {
        "ref": one.ref,
        "first_name": one.first_name,
        "last_name": one.last_name,
        "born": one.born,
        "language": one.language,
        "mobile": one.mobile,
        "email": one.email,
        "address": "\n".join(one.address),
        "agreed": _spaced(one.agreed),
        "facts": _spaced(one.facts),
        "household": one.household,
        "zone": one.zone,
        "standing": one.standing.value,
        "reasons": "\n".join(one.reasons),
    }


# --- Visits and recalls -----------------------------------------------------------------


def seen(row: Row, ref: str) -> Seen:
    """A row of ``visits`` as a visit of the person with this reference."""
    return Seen(
        person=ref,
        case=row.case_ref,
        on=row.seen,
        conditions=frozenset(row.conditions.split()),
        side=Side(row.side) if row.side else None,
        clinician=row.clinician,
    )


def recall(row: Row, ref: str) -> Recall:
    """A row of ``recalls`` as a recall of the person with this reference."""
    return Recall(
        id=row.rid,
        person=ref,
        condition=row.condition or None,
        anchor=row.anchor,
        interval=Interval(months=row.months, weeks=row.weeks),
        due=row.due,
        state=RecallState(row.state),
        waiting_on=row.waiting_on,
        because=row.because,
        booked=_read_moment(row.booked, row.booked_zone or "UTC"),
        told=row.told,
        closed=row.closed,
    )


def recall_values(one: Recall) -> dict[str, Any]:
    """The columns of ``recalls`` for a recall, without whose it is."""
    return {
        "condition": one.condition or "",
        "anchor": one.anchor,
        "months": one.interval.months,
        "weeks": one.interval.weeks,
        "due": one.due,
        "state": one.state.value,
        "waiting_on": one.waiting_on,
        "because": one.because,
        "booked": None if one.booked is None else moment(one.booked),
        "booked_zone": None if one.booked is None else _zone(one.booked),
        "told": one.told,
        "closed": one.closed,
    }


def _zone(when: datetime) -> str:
    return getattr(when.tzinfo, "key", "UTC")


# --- Reminders and what happened --------------------------------------------------------


def reminder(row: Row) -> Reminder:
    """A row of ``reminders`` as a reminder."""
    return Reminder(
        recall=row.rid,
        step=row.step,
        channel=Channel(row.channel),
        day=row.day,
        key=row.key,
        not_before=_read_moment(row.not_before),
        not_after=_read_moment(row.not_after),
        state=ReminderState(row.state),
        because=row.because,
        digest=row.digest,
    )


def reminder_values(one: Reminder) -> dict[str, Any]:
    """The columns of ``reminders`` for a reminder."""
    return {
        "rid": one.recall,
        "step": one.step,
        "channel": one.channel.value,
        "day": one.day,
        "key": one.key,
        "not_before": None if one.not_before is None else moment(one.not_before),
        "not_after": None if one.not_after is None else moment(one.not_after),
        "state": one.state.value,
        "because": one.because,
        "digest": one.digest,
    }


def link(deed: Deed, pid: int | None) -> Link:
    """A deed as a row of the chain that has no number yet."""
    details = json.dumps(dict(deed.details), sort_keys=True, ensure_ascii=True)
    return Link(0, moment(deed.at), pid, deed.what.value, deed.by, details)


def happened(row: Row) -> Happened:
    """A row of ``happened`` as what happened."""
    at = datetime.fromisoformat(row.at)
    details = tuple((str(k), str(v)) for k, v in json.loads(row.details).items())
    deed = Deed(what=What(row.what), by=row.by, at=at, details=details)
    return Happened(seq=row.seq, deed=deed, patient=row.pid, mac=row.mac)

"""Values to rows and back. Every list has one written form, so that equal values are equal rows."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from functools import lru_cache
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import ColumnElement, func, select

from aftercare.edges.register import tables as t
from aftercare.edges.register.chain import Link
from aftercare.model import Channel, Interval, Moment, Side
from aftercare.recall.people import (
    Deed,
    Happened,
    News,
    Person,
    Recall,
    RecallState,
    Reminder,
    ReminderState,
    Seen,
    Standing,
    What,
)
from aftercare.recall.port import Underway

# A database row, read by position: by name costs as much again, a million times over.
Row = Sequence[Any]
_STANDINGS = {one.value: one for one in Standing}
_CHANNELS = {one.value: one for one in Channel}
_STATES = {one.value: one for one in RecallState}
_REMINDER_STATES = {one.value: one for one in ReminderState}


# Thousands of reminders begin and end at one moment.
@lru_cache(maxsize=4096)
def moment(when: datetime) -> str:
    """A moment as the register writes it: ISO 8601 in UTC, to the second."""
    return when.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


# There are few different lists among many people.
@lru_cache(maxsize=4096)
def _words(written: str) -> frozenset[str]:
    return frozenset(written.split())


@lru_cache(maxsize=64)
def _channels(written: str) -> frozenset[Channel]:
    return frozenset(_CHANNELS[one] for one in written.split())


@lru_cache(maxsize=4096)
def _opt_outs(written: str | None) -> frozenset[tuple[str, Channel]]:
    return frozenset(_opt_out(one) for one in (written or "").split())


def _opt_out(written: str) -> tuple[str, Channel]:
    topic, _, channel = written.rpartition(":")
    return topic, _CHANNELS[channel]


@lru_cache(maxsize=4096)
def _interval(months: int, weeks: int) -> Interval:
    return Interval(months=months, weeks=weeks)


def _lines(written: str) -> tuple[str, ...]:
    return tuple(written.split("\n")) if written else ()


@lru_cache(maxsize=4096)
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
PERSON_COLUMNS = (*(one for one in t.patients.c if one.key not in ("pid", "forgotten")), _OPTED_OUT)
PERSON_WIDTH = len(PERSON_COLUMNS)
RECALL_COLUMNS = tuple(one for one in t.recalls.c if one.key != "pid")
RECALL_WIDTH = len(RECALL_COLUMNS)


def person(row: Row) -> Person:
    """A row of ``PERSON_COLUMNS`` as a person."""
    (
        ref, first_name, last_name, born, language, mobile, email, address, agreed, facts,
        household, zone, standing, reasons, opted_out,
    ) = row  # fmt: skip
    return Person(
        ref=ref,
        first_name=first_name,
        last_name=last_name,
        born=born,
        language=language,
        mobile=mobile,
        email=email,
        address=_lines(address),
        agreed=_channels(agreed),
        opted_out=_opt_outs(opted_out),
        facts=_words(facts),
        household=household,
        zone=zone,
        standing=_STANDINGS[standing],
        reasons=_lines(reasons),
    )


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
    _, on, case, conditions, side, clinician = row
    return Seen(
        person=ref,
        case=case,
        on=on,
        conditions=_words(conditions),
        side=Side(side) if side else None,
        clinician=clinician,
    )


def recall(row: Row, ref: str) -> Recall:
    """A row of ``RECALL_COLUMNS`` as a recall of the person with this reference."""
    (
        rid, condition, anchor, months, weeks, due, state, waiting_on, because, booked,
        booked_zone, closed, told, *news,
    ) = row  # fmt: skip
    return Recall(
        id=rid,
        person=ref,
        condition=condition or None,
        anchor=anchor,
        interval=_interval(months, weeks),
        due=due,
        state=_STATES[state],
        waiting_on=waiting_on,
        because=because,
        booked=_read_moment(booked, booked_zone or "UTC"),
        told=told,
        closed=closed,
        news=None if news[0] is None else _news(news),
    )


def _news(row: Row) -> News:
    on, moment, former, changes = row
    return News(
        on=on,
        moment=Moment(moment) if moment else None,
        former=_read_moment(former),
        changes=changes or 0,
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
        **_news_values(one.news),
    }


def _news_values(news: News | None) -> dict[str, Any]:
    if news is None:
        return dict.fromkeys(("news_on", "news", "former", "changes"))
    return {
        "news_on": news.on,
        "news": news.moment and news.moment.value,
        "former": None if news.former is None else moment(news.former),
        "changes": news.changes,
    }


def _zone(when: datetime) -> str:
    return getattr(when.tzinfo, "key", "UTC")


# --- Reminders and what happened --------------------------------------------------------


REMINDER_COLUMNS = tuple(
    one for one in t.reminders.c if one.key not in ("id", "claimed_by", "claimed_until")
)
REMINDER_WIDTH = len(REMINDER_COLUMNS)


def reminder(row: Row) -> Reminder:
    """A row of ``REMINDER_COLUMNS`` as a reminder."""
    rid, step, channel, day, not_before, not_after, key, state, because, digest, settled = row
    return Reminder(
        recall=rid,
        step=step,
        channel=_CHANNELS[channel],
        day=day,
        key=key,
        not_before=_read_moment(not_before),
        not_after=_read_moment(not_after),
        state=_REMINDER_STATES[state],
        because=because,
        digest=digest,
        settled=_read_moment(settled),
    )


def planned_values(one: Reminder) -> tuple[Any, ...]:
    """Number of the recall, step, channel, day, key and both ends of a reminder, for the driver."""
    return (
        one.recall,
        one.step,
        one.channel.value,
        one.day.isoformat(),
        one.key,
        None if one.not_before is None else moment(one.not_before),
        None if one.not_after is None else moment(one.not_after),
    )


def underway(row: Row) -> Underway:
    """A row of ``outboxes`` as a run that writes."""
    name, folder, host, until, batch = row
    outbox, _, part = name.partition("/")
    return Underway(
        outbox=outbox, folder=folder, host=host, until=datetime.fromisoformat(until), batch=batch,
        part=int(part or 0),
    )  # fmt: skip


def underway_values(one: Underway) -> dict[str, Any]:
    """The columns of ``outboxes`` for a run."""
    return {
        "name": one.name,
        "folder": one.folder,
        "host": one.host,
        "until": moment(one.until),
        "batch": one.batch,
    }


def link(deed: Deed, pid: int | None) -> Link:
    """A deed as a row of the chain that has no number yet."""
    details = json.dumps(dict(deed.details), sort_keys=True, ensure_ascii=True)
    return Link(0, moment(deed.at), pid, deed.what.value, deed.by, details)


def happened(row: Row) -> Happened:
    """A row of ``happened`` as what happened."""
    seq, at, pid, what, by, written, mac = row
    details = tuple((str(name), str(value)) for name, value in json.loads(written).items())
    deed = Deed(what=What(what), by=by, at=datetime.fromisoformat(at), details=details)
    return Happened(seq=seq, deed=deed, patient=pid, mac=mac)

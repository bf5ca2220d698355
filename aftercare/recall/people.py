"""Who is to be called back, and what is known of it: the values of the recall register."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from aftercare.model import Channel, Fact, Interval, Moment, Side

Topic = str


class Standing(StrEnum):
    """Whether the clinic may write to somebody."""

    READY = "ready"  # may be contacted
    SILENT = "silent"  # kept, and never contacted
    HOLD = "hold"  # waits for a person to decide


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """Somebody on the register. ``ref`` is the clinic's own reference and holds no name.

    ``mobile`` is E.164; ``opted_out`` holds (topic, channel); ``facts`` are the needs, formats
    and cautions the visit vocabulary knows. ``household`` is the same for people who share a
    mobile, an e-mail or an address. ``zone`` is an IANA name, None for the clinic's own.
    ``reasons`` say why the standing is what it is.
    """

    ref: str
    first_name: str
    last_name: str
    language: str
    born: date | None = None
    mobile: str | None = None
    email: str | None = None
    address: tuple[str, ...] = ()
    agreed: frozenset[Channel] = frozenset()
    opted_out: frozenset[tuple[Topic, Channel]] = frozenset()
    facts: frozenset[Fact] = frozenset()
    household: str | None = None
    zone: str | None = None
    standing: Standing = Standing.READY
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """One visit, as far as recall needs it. ``case`` is the clinic's reference of the visit."""

    person: str
    case: str
    on: date
    conditions: frozenset[Fact] = frozenset()
    side: Side | None = None
    clinician: str | None = None


class RecallState(StrEnum):
    """Where a recall stands. There is no fourth state: that is how nobody is dropped."""

    SCHEDULED = "scheduled"  # its day is known, and reminders go out by themselves
    WAITING = "waiting"  # on a named person
    CLOSED = "closed"  # with a reason


@dataclass(frozen=True, slots=True, kw_only=True)
class News:
    """What was last decided of a recall's visit, on the day ``on``.

    ``moment`` is the message that tells the patient, None when they need none. ``former`` is the
    time that holds no more. ``changes`` counts how often the visit was moved, called off or made
    anew: the SEQUENCE of its calendar files (RFC 5545, 3.8.7.4).
    """

    on: date
    moment: Moment | None = None
    former: datetime | None = None
    changes: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Recall:
    """One promise to see somebody again, counted from ``anchor``.

    ``id`` is 0 until the register has given one. ``waiting_on`` names the person a WAITING
    recall waits on; ``because`` is the reason of a WAITING or CLOSED one, or of putting it off, and
    ``closed`` the day it was closed. ``booked`` carries its zone; ``told`` says whether the patient
    has heard of it. ``news`` is what became of the visit, None when none was ever booked.
    """

    person: str
    anchor: date
    interval: Interval
    due: date
    id: int = 0
    condition: Fact | None = None
    state: RecallState = RecallState.SCHEDULED
    waiting_on: str | None = None
    because: str | None = None
    booked: datetime | None = None
    told: bool = False
    closed: date | None = None
    news: News | None = None


class ReminderState(StrEnum):
    """What became of one reminder."""

    PLANNED = "planned"
    PREPARED = "prepared"  # its file is written
    SKIPPED = "skipped"  # with a reason


@dataclass(frozen=True, slots=True, kw_only=True)
class Reminder:
    """One message of a recall's sequence. ``step`` is its name in shared/recall.toml.

    ``day`` is the day it is for at the recipient; ``not_before`` and ``not_after`` are moments
    with a zone. ``key`` is the same whenever the same reminder is worked out again, so that
    nothing doubles. ``digest`` is the SHA-256 of what was prepared, ``settled`` the moment in UTC
    when it was prepared or skipped.
    """

    recall: int
    step: str
    channel: Channel
    day: date
    key: str
    not_before: datetime | None = None
    not_after: datetime | None = None
    state: ReminderState = ReminderState.PLANNED
    because: str | None = None
    digest: str | None = None
    settled: datetime | None = None


class What(StrEnum):
    """What can happen to a register, each kept for good."""

    IMPORTED = "imported"
    OPENED = "opened"
    SNOOZED = "snoozed"
    MOVED = "moved"
    BOOKED = "booked"
    CALLED_OFF = "called-off"
    MISSED = "missed"
    TOLD = "told"
    DONE = "done"
    CLOSED = "closed"
    HANDED_OVER = "handed-over"
    OPTED_OUT = "opted-out"
    OPTED_IN = "opted-in"
    DECEASED = "deceased"
    CORRECTED = "corrected"
    PLANNED = "planned"
    PREPARED = "prepared"
    SKIPPED = "skipped"
    FORGOTTEN = "forgotten"
    RESTORED = "restored"


@dataclass(frozen=True, slots=True, kw_only=True)
class Deed:
    """What is done now, by whom and when (``at`` in UTC).

    ``details`` are kept for ever and outlive erasure: dates, counts, digests and step names,
    never a name, a number or a clinic's reference.
    """

    what: What
    by: str
    at: datetime
    details: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Happened:
    """One link of the chain of what happened. ``patient`` is the register's own number."""

    seq: int
    deed: Deed
    patient: int | None
    mac: str

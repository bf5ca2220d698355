"""The tables. What may never be, such as an open recall that waits on nobody, they refuse.

Personal data is in ``patients`` alone; everything else knows a patient by ``pid``, a number
of the register's own. Lists are sorted texts parted by spaces or lines. Moments are ISO 8601
texts in UTC to the second, so that they sort as they stand.
"""

from __future__ import annotations

from enum import StrEnum

from sqlalchemy import (
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    Date,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
    text,
)

from aftercare.model import Channel, Side
from aftercare.recall.people import ReminderState, Standing

METADATA = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)
# SQLite gives numbers by itself to a key declared INTEGER, and to no other.
NUMBER = BigInteger().with_variant(Integer, "sqlite")


def one_of(column: str, kind: type[StrEnum]) -> CheckConstraint:
    """The column holds one of the names of ``kind``."""
    names = ", ".join(f"'{one.value}'" for one in kind)
    return CheckConstraint(f"{column} IN ({names})", name=column)


def only_where(rule: str, name: str, *columns: str) -> Index:
    """An index of the rows that a rule holds of, on either engine."""
    which = text(rule)
    return Index(name, *columns, sqlite_where=which, postgresql_where=which)


patients = Table(
    "patients",
    METADATA,
    Column("pid", NUMBER, primary_key=True),
    Column("ref", Text, nullable=False),
    Column("first_name", Text, nullable=False),
    Column("last_name", Text, nullable=False),
    Column("born", Date),
    Column("language", Text, nullable=False),
    Column("mobile", Text),
    Column("email", Text),
    Column("address", Text, nullable=False),
    Column("agreed", Text, nullable=False),
    Column("facts", Text, nullable=False),
    # Without an index: nothing is found by it, and it would cost a third of a large intake.
    Column("household", Text),
    Column("zone", Text),
    Column("standing", Text, nullable=False),
    Column("reasons", Text, nullable=False),
    Column("forgotten", Date),
    UniqueConstraint("ref"),
    CheckConstraint("ref <> ''", name="ref"),
    one_of("standing", Standing),
)

# No number of their own: a visit is its patient, day and reference, in the order they are asked.
visits = Table(
    "visits",
    METADATA,
    Column("pid", NUMBER, ForeignKey("patients.pid"), primary_key=True),
    Column("seen", Date, primary_key=True),
    Column("case_ref", Text, primary_key=True),
    Column("conditions", Text, nullable=False),
    Column("side", Text),
    Column("clinician", Text),
    one_of("side", Side),
    sqlite_with_rowid=False,
)

recalls = Table(
    "recalls",
    METADATA,
    Column("rid", NUMBER, primary_key=True),
    Column("pid", NUMBER, ForeignKey("patients.pid"), nullable=False),
    Column("condition", Text, nullable=False),
    Column("anchor", Date, nullable=False),
    Column("months", Integer, nullable=False),
    Column("weeks", Integer, nullable=False),
    Column("due", Date, nullable=False),
    Column("state", Text, nullable=False),
    Column("waiting_on", Text),
    Column("because", Text),
    Column("booked", Text),
    Column("booked_zone", Text),
    Column("closed", Date),
    Column("told", Boolean, nullable=False, server_default=text("false")),
    # What was last decided of its visit; nothing where none was ever booked.
    Column("news_on", Date),
    Column("news", Text),
    Column("former", Text),
    Column("changes", Integer),
    UniqueConstraint("pid", "anchor", "condition"),
    # The law of the register: scheduled, waiting on a named person, or closed with a reason.
    # One rule, because a million rows pass it.
    CheckConstraint(
        "CASE state WHEN 'scheduled' THEN closed IS NULL"
        " WHEN 'waiting' THEN closed IS NULL AND trim(coalesce(waiting_on, '')) <> ''"
        " AND trim(coalesce(because, '')) <> ''"
        " WHEN 'closed' THEN closed IS NOT NULL AND trim(coalesce(because, '')) <> ''"
        " ELSE false END",
        name="followed",
    ),
    CheckConstraint("(booked IS NULL) = (booked_zone IS NULL)", name="booked_with_a_zone"),
    # The lists by day read these alone, however many recalls are closed; sorting a million rows
    # instead would take 190 MB.
    only_where("state <> 'closed'", "ix_recalls_due", "due"),
    only_where("state = 'waiting'", "ix_recalls_waiting", "waiting_on"),
)

preferences = Table(
    "preferences",
    METADATA,
    Column("pid", NUMBER, ForeignKey("patients.pid"), primary_key=True),
    Column("topic", Text, primary_key=True),
    Column("channel", Text, primary_key=True),
    one_of("channel", Channel),
    sqlite_with_rowid=False,
)

reminders = Table(
    "reminders",
    METADATA,
    Column("id", NUMBER, primary_key=True),
    Column("rid", NUMBER, ForeignKey("recalls.rid"), nullable=False, index=True),
    Column("step", Text, nullable=False),
    Column("channel", Text, nullable=False),
    Column("day", Date, nullable=False),
    Column("not_before", Text),
    Column("not_after", Text),
    Column("key", Text, nullable=False),
    Column("state", Text, nullable=False),
    Column("because", Text),
    Column("digest", Text),
    Column("settled", Text),
    # Who holds it; of one that is prepared, the batch it was written with.
    Column("claimed_by", Text),
    Column("claimed_until", Text),
    UniqueConstraint("key"),
    one_of("channel", Channel),
    one_of("state", ReminderState),
    CheckConstraint(
        "state <> 'skipped' OR trim(coalesce(because, '')) <> ''", name="skipped_with_a_reason"
    ),
    CheckConstraint("state <> 'prepared' OR digest IS NOT NULL", name="prepared_with_a_digest"),
    CheckConstraint("(state = 'planned') = (settled IS NULL)", name="settled_at_a_moment"),
    only_where("state = 'prepared'", "ix_reminders_prepared", "settled"),
    # In the order they are claimed, so that whoever goes on reads nothing twice.
    only_where("state = 'planned'", "ix_reminders_planned", "day", "id"),
)

# The runs that write, or were stopped while they did. No part of a copy: it is of this moment.
outboxes = Table(
    "outboxes",
    METADATA,
    Column("name", Text, primary_key=True),
    Column("folder", Text, nullable=False),
    Column("host", Text, nullable=False),
    Column("until", Text, nullable=False),
    Column("batch", Text),
)

happened = Table(
    "happened",
    METADATA,
    Column("seq", NUMBER, primary_key=True, autoincrement=False),
    Column("at", Text, nullable=False),
    Column("pid", NUMBER, ForeignKey("patients.pid"), index=True),
    Column("what", Text, nullable=False),
    Column("by", Text, nullable=False),
    Column("details", Text, nullable=False),
    Column("mac", Text, nullable=False),
)

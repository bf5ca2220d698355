"""An invented clinic's register: people, visits and recalls nobody has, and places to keep them."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from aftercare.edges.register.place import Place
from aftercare.edges.register.register import SqlRegister
from aftercare.recall.people import Deed, Reminder, What
from aftercare.recall.port import IntakeRow, Taken

NOON = datetime(2026, 11, 30, 12, tzinfo=UTC)
CAVITY = "condition:open-cavity"
PASSPHRASE = "an invented passphrase; it's long"  # noqa: S105 - a quote, to trip SQL


def deed(what: What = What.IMPORTED, *details: tuple[str, str], by: str = "Ann Admin") -> Deed:
    return Deed(what=what, by=by, at=NOON, details=details)


def row(number: int = 1, **changed: Any) -> IntakeRow:
    """A person seen on 31 January 2026 for a cavity, due six months later.

    Numbers of Ofcom's drama range 07700 900000-900999; names and addresses are invented.
    """
    usual: dict[str, Any] = {
        "ref": f"P{number:07}",
        "first_name": "Nell",
        "last_name": f"Invented{number}",
        "born": "1961-04-23",
        "language": "en",
        "mobile": f"+447700900{number % 1000:03}",
        "email": f"nell{number}@example.org",
        "address": f"{number} Made-up Row\nNowhere",
        "agreed": "email sms",
        "facts": "",
        "household": f"h{number // 2}",
        "standing": "ready",
        "reasons": "",
        "case": f"v-{number}",
        "seen": "2026-01-31",
        "conditions": CAVITY,
        "side": "left",
        "clinician": "Nurse Example",
        "condition": CAVITY,
        "anchor": "2026-01-31",
        "months": 6,
        "weeks": 0,
        "due": "2026-07-31",
        "state": "scheduled",
    }
    return IntakeRow(**{**usual, **changed})


def take_in(register: SqlRegister, *rows: IntakeRow) -> Taken:
    with register.intake(deed()) as intake:
        intake.rows(rows)
    return intake.taken()


def reminder(recall: int, step: str = "invite", **changed: Any) -> Reminder:
    from aftercare.model import Channel

    usual: dict[str, Any] = {
        "recall": recall,
        "step": step,
        "channel": Channel.SMS,
        "day": date(2026, 7, 1),
        "key": f"{recall}/{step}/sms",
    }
    return Reminder(**{**usual, **changed})


def file_place(folder: Path, passphrase: str | None = None) -> Place:
    file = folder / "register.sqlite"
    return Place(beside=file, file=file, passphrase=passphrase)


@contextmanager
def opened(home: Path) -> Iterator[SqlRegister]:
    """A clinic's register, to look at what a command left in it."""
    from aftercare.edges.register import find_place
    from aftercare.edges.register.register import open_register

    register = open_register(find_place(home, {}))
    try:
        yield register
    finally:
        register.close()


def contents(register: SqlRegister) -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every table, in order: what two registers must have in common to be the same."""
    from sqlalchemy import select

    from aftercare.edges.register.copies import TABLES

    with register.engine.connect() as connection:
        return {
            table.name: [
                tuple(one)
                for one in connection.execute(select(table).order_by(*table.primary_key.columns))
            ]
            for table in TABLES
        }

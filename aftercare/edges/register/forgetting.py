"""Forgetting a person: what could tell who they are goes, what happened stays sealed.

The chain never held anything but the register's own number of a patient, so it verifies after
as before. Dates and conditions stay for the counts; nothing says any more whose they were.
"""

from __future__ import annotations

import secrets
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from itertools import islice
from typing import Any

from sqlalchemy import Select, delete, exists, func, or_, select, text, update

from aftercare.edges.register import rows
from aftercare.edges.register import tables as t
from aftercare.edges.register.control import Total
from aftercare.edges.register.engine import refusals
from aftercare.edges.register.reading import AT_A_TIME
from aftercare.edges.register.register import SqlRegister
from aftercare.edges.register.work import Work, working
from aftercare.errors import BadInput
from aftercare.recall.people import Deed, What

_BECAUSE = "forgotten"
_BLANK = {
    "first_name": "",
    "last_name": "",
    "born": None,
    "language": "",
    "mobile": None,
    "email": None,
    "address": "",
    "agreed": "",
    "facts": "",
    "household": None,
    "zone": None,
    "standing": "silent",
    "reasons": _BECAUSE,
}


def forget(register: SqlRegister, ref: str, deed: Deed) -> None:
    """Forget one person. Raises ``BadInput`` when nobody has the reference."""
    with working(register.place, register.engine) as work:
        query = select(t.patients.c.pid).where(t.patients.c.ref == ref)
        pid = work.connection.execute(query.with_for_update()).scalar()
        if pid is None:
            raise BadInput(register.place.name, "nobody has this reference", "check it")
        forget_these(work, [int(pid)], deed)
    sweep(register)


def forget_ended(register: SqlRegister, before: date, deed: Deed) -> int:
    """Forget everybody whose last visit and last recall ended before a day; how many.

    Nobody with an open recall is touched, nor anybody of whom no date is known at all.
    """
    count = 0
    with working(register.place, register.engine) as work:
        pids = iter(work.connection.execute(_ended(before)).scalars().all())
        while some := list(islice(pids, AT_A_TIME // 2)):
            forget_these(work, some, deed)
            count += len(some)
    if count:
        sweep(register)
    return count


def count_ended(register: SqlRegister, before: date) -> int:
    """How many `forget_ended` would forget."""
    with refusals(register.place), register.engine.connect() as connection:
        found = select(func.count()).select_from(_ended(before).subquery())
        return int(connection.execute(found).scalar_one())


def _ended(before: date) -> Select[Any]:
    p, v, r = t.patients.c, t.visits.c, t.recalls.c
    recalled = select(r.rid).where(r.pid == p.pid)
    seen = select(v.pid).where(v.pid == p.pid)
    kept = recalled.where(or_(r.state != "closed", r.closed >= before))
    return select(p.pid).where(
        p.forgotten.is_(None),
        or_(exists(recalled), exists(seen)),
        ~exists(kept),
        ~exists(seen.where(v.seen >= before)),
    )


def forget_these(work: Work, pids: list[int], deed: Deed) -> None:
    """Forget these, by the register's own numbers; `sweep` follows when the work has ended."""
    deed = replace(deed, what=What.FORGOTTEN)
    connection, on = work.connection, deed.at.date()
    for pid in pids:
        # The new reference is kept nowhere else: nothing leads back.
        gone = _BLANK | {"ref": f"forgotten-{secrets.token_hex(8)}", "forgotten": on}
        connection.execute(update(t.patients).where(t.patients.c.pid == pid).values(gone))
        work.happened(deed, pid)
    lost = connection.execute(delete(t.preferences).where(t.preferences.c.pid.in_(pids)))
    work.moves(Total(opt_outs=-lost.rowcount))
    _forget_recalls(work, pids, deed)
    _forget_visits(work, pids)


def _forget_recalls(work: Work, pids: list[int], deed: Deed) -> None:
    on, theirs = deed.at.date(), t.recalls.c.pid.in_(pids)
    still = {"state": "closed", "closed": on, "booked": None, "booked_zone": None}
    open_ = update(t.recalls).where(theirs, t.recalls.c.state != "closed")
    with work.moving(f"pid IN ({', '.join(map(str, pids))})"):
        work.connection.execute(open_.values(still | {"because": _BECAUSE}))
    # A reason and the name of who it waited on may say something of the patient.
    work.connection.execute(
        update(t.recalls).where(theirs).values(because=_BECAUSE, waiting_on=None, former=None)
    )
    rids = select(t.recalls.c.rid).where(theirs)
    planned = t.reminders.c.rid.in_(rids), text("reminders.state = 'planned'")
    work.connection.execute(
        update(t.reminders)
        .where(*planned)
        .values(state="skipped", because=_BECAUSE, settled=rows.moment(deed.at))
    )


def _forget_visits(work: Work, pids: list[int]) -> None:
    v = t.visits.c
    for pid, seen, case in _visits(work, pids):
        this = v.pid == pid, v.seen == seen, v.case_ref == case
        gone = {"case_ref": f"forgotten-{secrets.token_hex(8)}", "clinician": None}
        work.connection.execute(update(t.visits).where(*this).values(gone))


def _visits(work: Work, pids: list[int]) -> Iterator[Any]:
    query = select(t.visits.c.pid, t.visits.c.seen, t.visits.c.case_ref)
    yield from work.connection.execute(query.where(t.visits.c.pid.in_(pids))).all()


def sweep(register: SqlRegister) -> None:
    """Let no older copy of a row linger in the database's own files.

    SQLite overwrites what it deletes (``secure_delete``), but its log still holds older pages;
    PostgreSQL keeps a dead row until it is vacuumed.
    """
    with refusals(register.place):
        raw = register.engine.raw_connection()
        try:
            driver: Any = raw.driver_connection
            if register.place.file is not None:
                driver.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
            else:
                driver.autocommit = True
                for table in ("patients", "visits", "recalls", "preferences"):
                    driver.execute(f"VACUUM {table}")
                driver.autocommit = False
        finally:
            raw.close()

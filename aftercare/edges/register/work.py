"""One piece of work: what it changes and what it says of that, in one transaction."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field

from sqlalchemy import Connection, Engine, insert, select, text

from aftercare.edges.register import anchor, control, rows
from aftercare.edges.register import tables as t
from aftercare.edges.register.chain import Link, Tail, sealed
from aftercare.edges.register.control import Total
from aftercare.edges.register.engine import refusals, writer
from aftercare.edges.register.place import Place
from aftercare.errors import AftercareError, OutOfReach
from aftercare.recall.people import Deed

# Serialises those who lengthen one PostgreSQL chain; a SQLite writer is alone anyway.
_LOCK = 0x61667466
# Details outlive erasure, so they are words of a machine: no spaces, hence no full name.
_DETAIL = re.compile(r"[\w:.,+/=-]{0,120}")


@dataclass(slots=True)
class Work:
    """A transaction that is open for writing, and what will be said of it.

    ``moved`` is by how much the control total moves.
    """

    connection: Connection
    key: bytes = field(repr=False)
    said: list[Link] = field(default_factory=list)
    moved: Total = field(default_factory=Total)

    def happened(self, deed: Deed, pid: int | None = None) -> None:
        """Say what happens in this work, to one patient or to many."""
        for name, value in deed.details:
            if not _DETAIL.fullmatch(name) or not _DETAIL.fullmatch(value):
                raise ValueError("a detail of what happened is kept for ever and may be no prose")
        self.said.append(rows.link(deed, pid))

    def moves(self, by: Total) -> None:
        """Keep by how much the control total moves."""
        self.moved = self.moved.and_(by)

    @contextmanager
    def moving(self, which: str, **values: int) -> Iterator[None]:
        """Keep by how much the block moves the total of the recalls that ``which`` holds of."""
        before = control.of_recalls(self.connection, self.key, which, **values)
        yield
        after = control.of_recalls(self.connection, self.key, which, **values)
        self.moves(after.less(before))


@contextmanager
def working(place: Place, engine: Engine) -> Iterator[Work]:
    """Change and say so, or neither: both are there when the block ends well.

    The anchor follows the commit. When that fails or the process dies between, the anchor is
    behind, which is no alarm, and the next work moves it on.
    """
    key = anchor.read_key(place)
    with refusals(place), writer(engine).connect() as connection:
        with connection.begin():
            work = Work(connection, key)
            yield work
            tail = _append(place, work) if work.said else None
        if tail is not None:
            with suppress(AftercareError):
                anchor.advance(place, tail)


@contextmanager
def replacing(place: Place, engine: Engine, end: Tail) -> Iterator[Work]:
    """Put another chain, which ends at ``end``, in the place of this one, and go on from there.

    Until the commit the anchor allows for both chains, so that neither is taken for a cut one.
    """
    key = anchor.read_key(place)
    with refusals(place), writer(engine).connect() as connection:
        with connection.begin():
            work = Work(connection, key)
            yield work
            if work.moved != Total():
                _say_total(work, end)
            tail = _sealed(end, work)
            anchor.offer(place, tail)
        anchor.advance(place, tail)


def _append(place: Place, work: Work) -> Tail:
    connection = work.connection
    if connection.dialect.name == "postgresql":
        connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": _LOCK})
    tail = tail_of(connection)
    _hold_against_anchor(place, connection, tail)
    if work.moved != Total():
        _say_total(work, tail)
    return _sealed(tail, work)


def _say_total(work: Work, tail: Tail) -> None:
    """Seal by how much the total moved; the whole of it in a register that never said it."""
    said = t.happened.c.details.contains(f'"{control.NAME}"')
    first = select(t.happened.c.seq).where(said).order_by(t.happened.c.seq).limit(1)
    # Where nothing happened before, nothing was there, and the whole is what moved.
    if tail.count and work.connection.execute(first).first() is None:
        moved = control.whole(work.connection, work.key)
    else:
        moved = work.moved
    last = work.said[-1]
    details = json.loads(last.details) | {control.NAME: moved.written()}
    written = json.dumps(details, sort_keys=True, ensure_ascii=True)
    work.said[-1] = last._replace(details=written)


def _sealed(tail: Tail, work: Work) -> Tail:
    links = list(sealed(work.key, tail, work.said))
    work.connection.execute(insert(t.happened), [one._asdict() for one in links])
    return Tail(links[-1].seq, links[-1].mac)


def tail_of(connection: Connection) -> Tail:
    """Where the chain ends now."""
    last = select(t.happened.c.seq, t.happened.c.mac).order_by(t.happened.c.seq.desc()).limit(1)
    row = connection.execute(last).first()
    return Tail(row.seq, row.mac) if row else Tail()


def _hold_against_anchor(place: Place, connection: Connection, tail: Tail) -> None:
    """Refuse to build on a chain that was cut, which would bury the cut."""
    known = anchor.read_anchors(place)
    if not any(_holds(connection, tail, one) for one in known):
        raise OutOfReach(
            place.name,
            f"what happened was cut or replaced: {known[0].count} rows are known of",
            "'aftercare register verify' says more; restore a backup",
        )


def _holds(connection: Connection, tail: Tail, known: Tail) -> bool:
    if not known.count or known == tail:
        return True
    there = select(t.happened.c.mac).where(t.happened.c.seq == known.count)
    return tail.count > known.count and connection.execute(there).scalar() == known.mac

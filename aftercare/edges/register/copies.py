"""Backups: a register copied while others work on it, checked, and brought back.

A backup is always a SQLite register in one file, whatever engine it came from, with its anchor
beside it. The chain's key is not in it: who holds both could forge what happened.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass, replace
from functools import reduce
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Table, delete, func, insert, select, text

from aftercare.edges.register import anchor, control
from aftercare.edges.register import tables as t
from aftercare.edges.register.chain import Broken, Link, Reading, Tail
from aftercare.edges.register.control import Total
from aftercare.edges.register.editions import NEWEST, bring_up_to, check_edition
from aftercare.edges.register.engine import Damaged, connect_raw, refusals, writer
from aftercare.edges.register.forgetting import forget_these, sweep
from aftercare.edges.register.place import Place
from aftercare.edges.register.reading import AT_A_TIME
from aftercare.edges.register.register import SqlRegister, make_register
from aftercare.edges.register.work import replacing, tail_of
from aftercare.errors import AftercareError, BadInput, OutOfReach
from aftercare.recall.people import Deed

TABLES = (t.patients, t.visits, t.recalls, t.preferences, t.reminders, t.happened)
_NUMBERED = {"patients": "pid", "recalls": "rid", "reminders": "id"}
_NO_ANCHOR = (
    "the anchor is gone, so rows cut from the end of the chain would not show: bring it back; or, "
    "if the last row is the last there was, make a backup and restore it"
)
_PLAIN = b"SQLite format 3\x00"


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """What a check of a register found: rows by table, the chain's end, and what is broken."""

    rows: Mapping[str, int]
    tail: Tail
    broken: tuple[Broken, ...]
    damage: tuple[str, ...]

    @property
    def sound(self) -> bool:
        """Whether nothing was found."""
        return not self.broken and not self.damage


def verify(register: SqlRegister) -> Checked:
    """Check the file itself, the ties between its tables, and the chain against its anchor."""
    known = anchor.read_anchors(register.place)
    checked = _check(register, anchor.read_key(register.place), known)
    if checked.tail.count and anchor.is_gone(register.place):
        checked = replace(checked, damage=(*checked.damage, _NO_ANCHOR))
    return checked


def _check(register: SqlRegister, key: bytes, known: tuple[Tail, ...]) -> Checked:
    totals: list[Total] = []
    with refusals(register.place), register.engine.connect() as connection:
        if register.place.file is None:
            # One moment's view, whoever writes meanwhile; SQLite gives no other.
            connection = connection.execution_options(isolation_level="REPEATABLE READ")
        read = Reading(key, known).follow(control.following(_links(connection), totals))
        return Checked(
            rows={one.name: _count(connection, one) for one in TABLES},
            tail=read.tail,
            broken=tuple(read.broken),
            damage=(*_damage(connection), *_differing(connection, key, totals, read.tail)),
        )


def _differing(
    connection: Connection, key: bytes, totals: list[Total], tail: Tail
) -> Iterator[str]:
    """Where the tables do not hold what the chain says; an old one may not say it yet."""
    if not totals:
        if control.whole(connection, key).people and not tail.count:
            yield "nothing is told of how anybody came into the register"
        return
    off = control.whole(connection, key).less(reduce(Total.and_, totals))
    counts = (("people", off.people), ("opt-outs", off.opt_outs), ("recalls", off.recalls))
    for name, count in counts:
        if count:
            more = "more" if count > 0 else "fewer"
            yield f"{abs(count):,} {more} {name} than the chain tells of"
    if off.days and not off.recalls:
        yield "recalls are not as the chain tells: a day, a figure or whose it is was altered"


def _links(connection: Connection) -> Iterator[Link]:
    query = select(*(t.happened.c[name] for name in Link._fields)).order_by(t.happened.c.seq)
    for row in connection.execution_options(yield_per=AT_A_TIME).execute(query):
        yield Link(*row)


def _count(connection: Connection, table: Table) -> int:
    return int(connection.execute(select(func.count()).select_from(table)).scalar_one())


def _damage(connection: Connection) -> Iterator[str]:
    if connection.dialect.name != "sqlite":
        return  # PostgreSQL checks its own pages and ties as it goes
    for (said,) in connection.exec_driver_sql("PRAGMA integrity_check(10)"):
        if said != "ok":
            yield "the file is damaged"
            return
    loose = {row[0] for row in connection.exec_driver_sql("PRAGMA foreign_key_check")}
    yield from (f"rows of {name} belong to nobody" for name in sorted(loose))


# --- Backup -----------------------------------------------------------------------------


def backup(register: SqlRegister, target: Path) -> Checked:
    """Copy the register to a new file while others work, and check the copy.

    Raises ``BadInput`` when the file is there, ``OutOfReach`` when the copy is not sound; a copy
    that is not whole is never left under that name.
    """
    if target.exists():
        raise BadInput(str(target), "there is a file already", "name another; none is overwritten")
    aside = target.with_name(f".{target.name}.part")
    place = Place(beside=aside, file=aside, passphrase=register.place.passphrase)
    try:
        with _new_file(aside):
            known = _copy(register, place)
            checked = _check_copy(place, anchor.read_key(register.place), known)
        _put_in_place(aside, target)
    except OSError as error:
        raise OutOfReach(str(target), error.strerror or "cannot be written") from None
    finally:
        for name in ("", "-wal", "-shm"):
            Path(f"{aside}{name}").unlink(missing_ok=True)
    anchor.write_anchors(Place(beside=target), checked.tail)
    return checked


@contextmanager
def _new_file(path: Path) -> Iterator[None]:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.unlink(missing_ok=True)
    path.touch(0o600)
    yield


def _put_in_place(aside: Path, target: Path) -> None:
    log = Path(f"{aside}-wal")
    if log.exists() and log.stat().st_size:
        raise OutOfReach(str(target), "the copy was not brought into one file", "try again")
    descriptor = os.open(aside, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
    os.link(aside, target)  # fails, rather than replaces, when somebody made one meanwhile


def _check_copy(place: Place, key: bytes, known: tuple[Tail, ...]) -> Checked:
    copy = SqlRegister(place)
    try:
        checked = _check(copy, key, known)
    finally:
        copy.close()
    if not checked.sound:
        raise OutOfReach(
            place.name, "the copy is not sound, because the register is not", "verify the register"
        )
    return checked


def _copy(register: SqlRegister, place: Place) -> tuple[Tail, ...]:
    """Copy page by page where both are SQLite, else row by row. The anchor as it was before."""
    known = anchor.read_anchors(register.place)
    if register.place.file is None:
        copy = _empty(place)
        with closing(copy), register.engine.connect() as source:
            # One moment's view, however long it takes and whoever writes meanwhile.
            source = source.execution_options(isolation_level="REPEATABLE READ")
            with refusals(place), writer(copy.engine).begin() as target:
                _pour(source, target)
        return known
    with refusals(register.place), closing(connect_raw(place)) as target:
        raw = register.engine.raw_connection()
        try:
            driver: Any = raw.driver_connection
            driver.backup(target, pages=2048)
        finally:
            raw.close()
    return known


def _empty(place: Place) -> SqlRegister:
    register = SqlRegister(place)
    bring_up_to(place, register.engine, NEWEST)
    return register


def _pour(source: Connection, target: Connection) -> None:
    """Every row of every table from one to the other."""
    alike = source.dialect.name == target.dialect.name == "sqlite"
    for table in TABLES:
        if alike:
            _pour_as_stored(table, source, target)
        else:
            _pour_as_values(table, source, target)


def _pour_as_stored(table: Table, source: Connection, target: Connection) -> None:
    """Between two SQLite files, without making values of what is stored: four times as fast."""
    quoted = ", ".join(f'"{one.name}"' for one in table.columns)
    order = ", ".join(f'"{one.name}"' for one in table.primary_key.columns)
    holes = ", ".join("?" * len(table.columns))
    # Only names of our own tables and columns are put in.
    read = source.exec_driver_sql(f"SELECT {quoted} FROM {table.name} ORDER BY {order}")  # noqa: S608
    for some in read.partitions(AT_A_TIME):
        target.exec_driver_sql(
            f"INSERT INTO {table.name} ({quoted}) VALUES ({holes})",  # noqa: S608 - the same
            [tuple(one) for one in some],
        )


def _pour_as_values(table: Table, source: Connection, target: Connection) -> None:
    query = select(table).order_by(*table.primary_key.columns)
    read = source.execution_options(yield_per=AT_A_TIME).execute(query)
    for some in read.mappings().partitions(AT_A_TIME):
        target.execute(insert(table), [dict(one) for one in some])


# --- Restore ----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Restored:
    """What a check of the backup found, and what became of who was forgotten since it was made.

    ``again`` were forgotten once more. ``unsure`` were forgotten here, and the backup is of another
    course of things, so that nobody can tell whether it holds them.
    """

    checked: Checked
    again: int = 0
    unsure: int = 0


def restore(place: Place, source: Path, kept: Path, deed: Deed) -> Restored:
    """Put a backup in the place of the register; what was there is kept in ``kept``.

    The backup is checked before anything is touched. The rows are exchanged in one transaction, so
    that a run that is killed leaves the register as it was. Who was forgotten since stays so.
    Raises ``OutOfReach`` when the backup is not sound.
    """
    working_copy = place.beside.with_name(f".{place.beside.name}.restoring")
    try:
        backup_place = _backup_to_read(place, source, working_copy)
        checked = _check_backup(backup_place, source, anchor.read_key(place))
        register = _keep_what_is_there(place, kept)
        with closing(register), closing(SqlRegister(backup_place)) as old:
            restored = _exchange(old, register, checked, deed)
            if restored.again:
                sweep(register)
        return restored
    finally:
        for name in ("", "-wal", "-shm"):
            Path(f"{working_copy}{name}").unlink(missing_ok=True)


def _backup_to_read(place: Place, source: Path, working_copy: Path) -> Place:
    """A copy of the backup at this edition: the backup itself is not even opened for writing."""
    try:
        raw = source.open("rb")
        working_copy.parent.mkdir(parents=True, exist_ok=True)
        working_copy.unlink(missing_ok=True)
        working_copy.touch(0o600)
        with raw, working_copy.open("wb") as stream:
            head = raw.read(len(_PLAIN))
            stream.write(head)
            while some := raw.read(1 << 20):
                stream.write(some)
    except OSError as error:
        raise OutOfReach(str(source), error.strerror or "unreadable", "check its rights") from None
    passphrase = None if head == _PLAIN else place.passphrase
    copied = Place(beside=working_copy, file=working_copy, passphrase=passphrase)
    _bring_up_to_date(copied, source)
    return copied


def _bring_up_to_date(copied: Place, source: Path) -> None:
    register = SqlRegister(copied)
    try:
        found = check_edition(copied, register.engine)
        if found is None:
            raise OutOfReach(str(source), "an empty file", "name a backup")
        if found != NEWEST:
            bring_up_to(copied, register.engine, NEWEST)
    except AftercareError as error:
        raise OutOfReach(str(source), error.problem, "name a backup") from None
    finally:
        register.close()


def _check_backup(copied: Place, source: Path, key: bytes) -> Checked:
    known = anchor.read_anchors(Place(beside=source))
    register = SqlRegister(copied)
    try:
        checked = _check(register, key, known)
    finally:
        register.close()
    if not checked.sound:
        first = [*checked.damage, *(f"row {one.seq}: {one.because}" for one in checked.broken)][0]
        raise OutOfReach(str(source), f"not sound ({first})", "name another backup")
    return checked


def _keep_what_is_there(place: Place, kept: Path) -> SqlRegister:
    """The register as it is, kept beside; a file that is damaged is moved there as it lies."""
    try:
        register = make_register(place)
        _keep(register, kept)
    except Damaged:
        for name in ("", "-wal", "-shm"):
            there = Path(f"{place.file}{name}")
            if there.exists():
                there.rename(f"{kept}{name}")
        return make_register(place)
    return register


def _keep(register: SqlRegister, kept: Path) -> None:
    """A copy, sound or not: the register may be restored just because it is not."""
    with _new_file(kept):
        _copy(register, Place(beside=kept, file=kept, passphrase=register.place.passphrase))


def _exchange(old: SqlRegister, register: SqlRegister, checked: Checked, deed: Deed) -> Restored:
    place = register.place
    was = anchor.read_anchors(place)
    with refusals(place), old.engine.connect() as source:
        end = tail_of(source)
        with replacing(place, register.engine, end) as work:
            gone, ours = _forgotten(work.connection), _has_been(work.connection, end)
            for table in reversed(TABLES):
                work.connection.execute(delete(table))
            _pour(source, work.connection)
            _number_on(work.connection)
            more = (("rows_before", str(was[0].count)), ("rows_restored", str(end.count)))
            work.happened(replace(deed, details=(*deed.details, *more)))
            if not ours:
                return Restored(checked=checked, unsure=len(gone))
            again = sorted(gone - _forgotten(work.connection))
            for start in range(0, len(again), AT_A_TIME // 2):
                forget_these(work, again[start : start + AT_A_TIME // 2], deed)
            return Restored(checked=checked, again=len(again))


def _forgotten(connection: Connection) -> set[int]:
    """The numbers of those who were forgotten."""
    query = select(t.patients.c.pid).where(t.patients.c.forgotten.is_not(None))
    return set(connection.execute(query).scalars())


def _has_been(connection: Connection, end: Tail) -> bool:
    """Whether the chain went through this end: then a number was the same person's all along."""
    there = select(t.happened.c.mac).where(t.happened.c.seq == end.count)
    return not end.count or connection.execute(there).scalar() == end.mac


def _number_on(connection: Connection) -> None:
    """PostgreSQL hands out numbers from a counter, which must not repeat what was poured in.

    It only ever goes up: a counter is outside the transaction, which may yet fail.
    """
    if connection.dialect.name != "postgresql":
        return
    for table, column in _NUMBERED.items():
        counter = f"pg_get_serial_sequence('{table}', '{column}')"
        last = f"(SELECT coalesce(max({column}), 0) FROM {table})"  # noqa: S608 - names of our own
        connection.execute(
            text(f"SELECT setval({counter}, greatest(nextval({counter}), {last} + 1), false)")
        )

"""Rows packed to travel: staged by one process, taken in by another.

Handing rows to a database one by one from Python costs more than anything the database does
with them. A parcel is the bytes of a small SQLite database in memory with one staging table; a
reading process makes it, and the process that writes attaches it and merges with whole statements.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterator, Sequence

from aftercare.recall.port import IntakeRow

COLUMNS = IntakeRow._fields
_NAMES = ", ".join(f'"{one}"' for one in COLUMNS)
_PLAIN = re.compile(r"[a-z0-9:. -]*", re.ASCII)
_HOLES = ", ".join("?" * len(COLUMNS))


def pack(rows: Sequence[IntakeRow]) -> bytes:
    """The rows as bytes, which nothing but `Intake.parcel` reads."""
    connection = sqlite3.connect(":memory:", isolation_level=None)
    try:
        connection.execute(f"CREATE TABLE staged ({_NAMES})")
        connection.execute("BEGIN")
        connection.executemany(f"INSERT INTO staged VALUES ({_HOLES})", rows)  # noqa: S608
        connection.execute("COMMIT")
        return connection.serialize()
    finally:
        connection.close()


def pack_columns(columns: Sequence[Sequence[str | int | None]]) -> bytes:
    """As `pack`, from the columns of an ``IntakeRow``; columns that say one thing cost nothing."""
    # The reference is always handed over row by row, or nothing would say how many rows there are.
    values = [None, *(_literal(column) for column in columns[1:])]
    holes = ", ".join(value or "?" for value in values)
    rows = zip(*(c for c, value in zip(columns, values, strict=True) if not value), strict=True)
    connection = sqlite3.connect(":memory:", isolation_level=None)
    try:
        connection.execute(f"CREATE TABLE staged ({_NAMES})")
        connection.execute("BEGIN")
        connection.executemany(f"INSERT INTO staged VALUES ({holes})", rows)  # noqa: S608
        connection.execute("COMMIT")
        return connection.serialize()
    finally:
        connection.close()


def _literal(column: Sequence[str | int | None]) -> str | None:
    """What all of a column is, in SQL, if it is plain enough to stand in a statement."""
    first = column[0] if column else "?"
    if column and (column[-1] != first or column.count(first) < len(column)):
        return None
    if first is None:
        return "NULL"
    if isinstance(first, int):
        return str(first)
    return f"'{first}'" if _PLAIN.fullmatch(first) else None


def unpack(packed: bytes) -> Iterator[tuple[str | int | None, ...]]:
    """The rows again, for engines that cannot attach a parcel."""
    connection = sqlite3.connect(":memory:", isolation_level=None)
    try:
        connection.deserialize(packed)
        yield from connection.execute("SELECT * FROM staged")
    finally:
        connection.close()

"""Rows packed to travel: staged by one process, taken in by another.

Handing rows to a database one by one from Python costs more than anything the database does
with them. A parcel is the bytes of a small SQLite database in memory with one staging table; a
reading process makes it, and the process that writes attaches it and merges with whole statements.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence

from aftercare.recall.port import IntakeRow

COLUMNS = IntakeRow._fields
_NAMES = ", ".join(f'"{one}"' for one in COLUMNS)
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


def unpack(packed: bytes) -> Iterator[tuple[str | int | None, ...]]:
    """The rows again, for engines that cannot attach a parcel."""
    connection = sqlite3.connect(":memory:", isolation_level=None)
    try:
        connection.deserialize(packed)
        yield from connection.execute("SELECT * FROM staged")
    finally:
        connection.close()

"""Rows packed to travel: staged by one process, taken in by another.

Handing rows to a database one by one from Python costs more than anything the database does
with them. A parcel is the bytes of a small SQLite database in memory with what is staged; a
reading process makes it, and the process that writes attaches it and merges with whole statements.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterator, Sequence

from aftercare.recall.port import IntakeRow

Column = Sequence[str | int | None]
COLUMNS = IntakeRow._fields
_NAMES = ", ".join(f'"{one}"' for one in COLUMNS)
_PLAIN = re.compile(r"[a-z0-9:. -]*", re.ASCII)


def pack(rows: Sequence[IntakeRow]) -> bytes:
    """The rows as bytes, which nothing but `Intake.parcel` reads."""
    return pack_columns(list(zip(*rows, strict=True)) or [()] * len(COLUMNS))


def pack_columns(columns: Sequence[Sequence[str | int | None]]) -> bytes:
    """As `pack`, from the columns of an ``IntakeRow``.

    Columns that say one thing, or what another says, are told once and not row by row.
    """
    told, held = _parted(columns)
    names = ", ".join(f'"{name}"' for name in held)
    holes = ", ".join("?" * len(held))
    connection = sqlite3.connect(":memory:", isolation_level=None)
    try:
        connection.execute("PRAGMA page_size = 16384")  # larger pages, fewer of them
        connection.execute(f"CREATE TABLE held ({names})")
        # A view takes no parameters: every value in it went through ``_literal``.
        connection.execute(f"CREATE VIEW staged AS SELECT {', '.join(told)} FROM held")  # noqa: S608
        connection.execute("BEGIN")
        rows = zip(*held.values(), strict=True)
        connection.executemany(f"INSERT INTO held VALUES ({holes})", rows)  # noqa: S608 - holes
        connection.execute("COMMIT")
        return connection.serialize()
    finally:
        connection.close()


def _parted(columns: Sequence[Column]) -> tuple[list[str], dict[str, Column]]:
    """What each column of the rows is, in SQL, and the columns that have to be held."""
    told, held = ["rowid AS rowid"], dict[str, Column]()
    for name, column in zip(COLUMNS, columns, strict=True):
        # The reference is always held, or nothing would say how many rows there are.
        literal = _literal(column) if held else None
        same = next((one for one, other in held.items() if other == column), None)
        if literal is None and same is None:
            held[name] = column
        quoted = f'"{same or name}"'
        told.append(f'{literal or quoted} AS "{name}"')
    return told, held


def _literal(column: Column) -> str | None:
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
        yield from connection.execute(f"SELECT {_NAMES} FROM staged")  # noqa: S608 - our columns
    finally:
        connection.close()

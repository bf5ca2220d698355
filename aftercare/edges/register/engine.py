"""Connections: how each engine is opened, how a writer begins, and what its refusals mean."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import ModuleType
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, exc
from sqlalchemy.pool import QueuePool

from aftercare.edges.register.place import Place
from aftercare.errors import AftercareError, BadInput, OutOfReach

# How long somebody waits for another writer before being told, in seconds.
PATIENCE = 20.0
_WRITES = "aftercare_writes"
_TRUSTED = "aftercare_trusted"
_PRAGMAS = (
    "PRAGMA foreign_keys = ON",
    # What is erased or replaced is overwritten, not left in the free space of the file.
    "PRAGMA secure_delete = ON",
    # Rows on their way in are patients' too: they stay in memory, never in a folder for all.
    "PRAGMA temp_store = MEMORY",
    # What is held of the file, in KB: no more of a large register than of a small one, and a larger
    # one made nothing quicker.
    "PRAGMA cache_size = -16384",
    # In WAL mode this loses nothing to a killed process; FULL keeps the last commit through a
    # power cut as well, which an anchor that is ahead of the file would make an alarm of.
    "PRAGMA synchronous = FULL",
)


def open_engine(place: Place) -> Engine:
    """An engine for the place. Nothing is connected before the first use."""
    engine = _postgresql(place) if place.file is None else _sqlite(place)
    event.listen(engine, "begin", _begin)
    return engine


def writer(engine: Engine) -> Engine:
    """The same engine for those who write: on SQLite each takes its turn from the start."""
    return engine.execution_options(**{_WRITES: True})


def unlinked(engine: Engine) -> Engine:
    """The same engine for statements that take every patient's number from the patients' table.

    SQLite need not look each up again then, which is a tenth of a large intake.
    """
    return engine.execution_options(**{_TRUSTED: True})


def _begin(connection: Connection) -> None:
    if connection.dialect.name == "sqlite":
        options = connection.get_execution_options()
        writes, trusted = options.get(_WRITES), options.get(_TRUSTED)
        # Each time, for connections are used again; within a transaction it would do nothing.
        connection.exec_driver_sql(f"PRAGMA foreign_keys = {'OFF' if trusted else 'ON'}")
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _postgresql(place: Place) -> Engine:
    timeout = int(PATIENCE * 1000)
    return create_engine(
        place.url,
        hide_parameters=True,
        connect_args={"connect_timeout": 10, "options": f"-c lock_timeout={timeout}"},
    )


def _sqlite(place: Place) -> Engine:
    driver = _driver(place)
    return create_engine(
        "sqlite://",
        module=driver,
        creator=_opener(place, driver),
        poolclass=QueuePool,
        hide_parameters=True,
    )


def _driver(place: Place) -> ModuleType:
    if place.passphrase is None:
        return sqlite3
    try:
        from sqlcipher3 import dbapi2
    except ImportError:
        raise OutOfReach(
            place.name,
            "an encrypted register needs SQLCipher",
            "pip install 'aftercare[encrypted]'",
        ) from None
    return dbapi2  # type: ignore[no-any-return]


def _opener(place: Place, driver: ModuleType) -> Callable[[], Any]:
    def connect() -> Any:
        connection = connect_raw(place, driver)
        if place.passphrase is None:
            # Fewer, larger pages: many rows go in a fifth quicker. Of use to a new file alone.
            connection.execute("PRAGMA page_size = 16384")
            # Where parcels are opened; a transaction may not attach one itself.
            connection.execute("ATTACH ':memory:' AS parcel")
        for pragma in _PRAGMAS:
            connection.execute(pragma)
        if connection.execute("PRAGMA journal_mode").fetchone()[0] != "wal":
            connection.execute("PRAGMA journal_mode = WAL")
        return connection

    return connect


def connect_raw(place: Place, driver: ModuleType | None = None) -> Any:
    """A driver's own connection to a SQLite file, opened with its passphrase and nothing more."""
    path = str(place.file)
    _for_its_owner_alone(path)
    # isolation_level=None: `_begin` says when a transaction begins, not the driver.
    connection = (driver or _driver(place)).connect(
        path, timeout=PATIENCE, isolation_level=None, check_same_thread=False
    )
    if place.passphrase is not None:
        # It would write of a wrong passphrase on standard error, past our own words.
        connection.execute("PRAGMA cipher_log_level = NONE")
        quoted = place.passphrase.replace("'", "''")
        connection.execute(f"PRAGMA key = '{quoted}'")
    return connection


def _for_its_owner_alone(path: str) -> None:
    """Only the owner may read a register; SQLite gives its side files the same rights."""
    try:
        if os.stat(path).st_mode & 0o077:  # noqa: PTH116
            os.chmod(path, 0o600)  # noqa: PTH101
    except PermissionError:
        pass


# --- Refusals ---------------------------------------------------------------------------


class Damaged(OutOfReach):
    """The file is no register any more, or never was."""


_AGAIN = "try again in a moment"
# What the engines say, in part, what it means, and what to do. SQLite has texts, PostgreSQL codes.
_MEANINGS: tuple[tuple[str, str, str], ...] = (
    ("database is locked", "somebody else is writing to it", _AGAIN),
    ("55P03", "somebody else is writing to it", _AGAIN),
    ("40P01", "two writers stood in each other's way", _AGAIN),
    ("40001", "two writers stood in each other's way", _AGAIN),
    ("readonly", "it may be read but not written", "check its rights"),
    ("25006", "it may be read but not written", "ask whoever runs the server"),
    ("disk is full", "the disk is full; nothing was changed", "make room"),
    ("53100", "the disk is full; nothing was changed", "make room"),
    ("not a database", "not a register, or its passphrase is another", "check which file it is"),
    ("malformed", "the file is damaged", "restore a backup: aftercare register restore FILE"),
    ("unable to open", "cannot be opened", "check that it is there and its rights"),
    ("disk I/O error", "the disk refused; nothing was changed", "see that it has room"),
    ("22", "a value does not fit; nothing was changed", "check the rows that were given"),
    ("08", "the server cannot be reached", "check AFTERCARE_DATABASE and that it runs"),
    ("28", "the server does not let us in", "check AFTERCARE_DATABASE"),
    ("42501", "the server does not allow it", "ask whoever runs the server"),
)
_DAMAGE = ("not a database", "malformed")
_REMEDY = "'aftercare register verify' may say more"


@contextmanager
def refusals(place: Place) -> Iterator[None]:
    """Say what a database's refusal means, without a word of the data it was about."""
    try:
        yield
    except exc.IntegrityError as error:
        raise BadInput(
            place.name, f"refused what contradicts itself ({_constraint(error)})", "nothing changed"
        ) from None
    except exc.DBAPIError as error:
        raise _meaning(place, error.orig) from None
    except sqlite3.Error as error:
        raise _meaning(place, error) from None
    except Exception as error:
        # What is copied into PostgreSQL goes past SQLAlchemy, and so do its refusals.
        if not _is_postgresql(error):
            raise
        raise _meaning(place, error) from None


def _constraint(error: exc.IntegrityError) -> str:
    """The name of the rule that was broken; never its values, which SQLite does not say."""
    diagnosis = getattr(error.orig, "diag", None)
    if diagnosis is not None:
        return str(diagnosis.constraint_name or diagnosis.column_name)
    return str(error.orig).partition(": ")[2]


def _meaning(place: Place, error: BaseException | None) -> AftercareError:
    state = getattr(error, "sqlstate", None)
    if state is None and _is_postgresql(error):
        state = "08"  # no connection, so no code
    said = state if state is not None else str(error)
    for part, problem, remedy in _MEANINGS:
        if said.startswith(part) if state is not None else part in said:
            kind = Damaged if part in _DAMAGE else OutOfReach
            return kind(place.name, problem, remedy)
    return OutOfReach(place.name, f"the database refused ({state or _plain(error)})", _REMEDY)


def _is_postgresql(error: BaseException | None) -> bool:
    return type(error).__module__.startswith("psycopg")


def _plain(error: BaseException | None) -> str:
    """The kind of a SQLite error: its text may quote SQL, and that may hold a value."""
    return str(getattr(error, "sqlite_errorname", None) or type(error).__name__)

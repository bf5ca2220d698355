"""A PostgreSQL server of our own to test with, and a database on it that nobody has used.

The server belongs to a user without rights, listens on no network, and is gone afterwards.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from itertools import count
from pathlib import Path

import pytest

from aftercare.edges.register.place import Place

NOBODY = 65534
_names = count()


def _programs() -> Path | None:
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    return found[-1].parent if found else None


def _run(*command: str) -> None:
    as_nobody = {"user": NOBODY, "group": NOBODY, "extra_groups": []} if os.getuid() == 0 else {}
    subprocess.run(command, check=True, capture_output=True, cwd="/", **as_nobody)  # type: ignore[call-overload]


@pytest.fixture(scope="session")
def server() -> Iterator[str]:
    """The address of a PostgreSQL server, without a database's name."""
    programs = _programs()
    if programs is None:
        if os.environ.get("CI"):
            pytest.fail("PostgreSQL is not installed, and CI must test with it")
        pytest.skip("PostgreSQL is not installed")
    folder = Path(tempfile.mkdtemp(prefix="pg-", dir="/tmp"))  # a socket's path must be short
    if os.getuid() == 0:
        os.chown(folder, NOBODY, NOBODY)
    data = str(folder / "data")
    try:
        locale = ("-E", "UTF8", "--locale=C.UTF-8", "--no-sync")
        _run(str(programs / "initdb"), "-D", data, "-U", "clinic", "-A", "trust", *locale)
        options = f"-c listen_addresses='' -c unix_socket_directories={folder} -c fsync=off"
        start = ("-w", "-o", options, "-l", str(folder / "log"), "start")
        _run(str(programs / "pg_ctl"), "-D", data, *start)
        yield f"postgresql+psycopg://clinic@/%s?host={folder}"
    finally:
        subprocess.run(
            [str(programs / "pg_ctl"), "-D", data, "-m", "immediate", "stop"],
            capture_output=True,
            user=NOBODY if os.getuid() == 0 else None,
            cwd="/",
        )
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture
def postgresql(server: str, tmp_path: Path) -> Place:
    """A place on the server that nobody has used."""
    import psycopg

    name = f"clinic{next(_names)}"
    plain = server.replace("+psycopg", "") % "postgres"
    with psycopg.connect(plain, autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name}")
    return Place(beside=tmp_path / "register", url=server % name)

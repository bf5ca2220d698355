"""Registers to test with: a file, an encrypted file, and a database on a server of our own."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from made_up_register import PASSPHRASE, file_place
from made_up_server import postgresql, server

from aftercare.edges.register.place import Place
from aftercare.edges.register.register import SqlRegister, make_register

__all__ = ["postgresql", "server"]


@pytest.fixture(params=["file", "encrypted", "postgresql"])
def place(request: pytest.FixtureRequest, tmp_path: Path) -> Place:
    """A place of each kind, with nothing in it."""
    if request.param == "postgresql":
        found = request.getfixturevalue("postgresql")
        assert isinstance(found, Place)
        return found
    return file_place(tmp_path, PASSPHRASE if request.param == "encrypted" else None)


@pytest.fixture
def register(place: Place) -> Iterator[SqlRegister]:
    """An empty register of each kind."""
    made = make_register(place)
    yield made
    made.close()


@pytest.fixture
def file_register(tmp_path: Path) -> Iterator[SqlRegister]:
    """An empty register in a plain file."""
    made = make_register(file_place(tmp_path))
    yield made
    made.close()

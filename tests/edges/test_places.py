"""Numbers in a file without a name: the same as in memory, and gone with the process."""

from __future__ import annotations

import errno
import os
import tracemalloc
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from aftercare.edges import places as of_places
from aftercare.edges.places import IN_MEMORY, PlacesInFile, places
from aftercare.errors import OutOfReach
from aftercare.sending.households import Households, in_memory

MARK = st.integers(0, 2**64 - 1)


@given(st.dictionaries(st.integers(0, 20_000), MARK))
def test_they_are_what_was_put_there_and_else_zero(put: dict[int, int]) -> None:
    size = 20_001  # more than one block, and no whole number of them
    there, expected = PlacesInFile(size), in_memory(size)
    for at, mark in put.items():
        there[at] = expected[at] = mark

    assert list(there) == list(expected)
    assert [there[at] for at in put] == list(put.values())
    assert len(there) == size


def test_many_households_are_counted_as_in_memory_and_take_none(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(of_places, "IN_MEMORY", 1024)
    many = [f"h{number}" for number in range(3000)] + [f"h{number}" for number in range(0, 3000, 3)]
    counted, expected = Households(empty=places), Households()
    tracemalloc.start()
    for one in many:
        counted.add(one)
        expected.add(one)

    for number in range(4000):
        assert counted.count(f"h{number}", 3) == expected.count(f"h{number}", 3)
    assert isinstance(counted._places, PlacesInFile)
    grown, _ = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    # The one in memory has 8,192 places of 8 bytes.
    assert grown < 1.5 * 8 * 8192


def test_a_few_are_in_memory_and_more_in_a_file() -> None:
    assert not isinstance(places(IN_MEMORY), PlacesInFile)
    assert isinstance(places(IN_MEMORY + 1), PlacesInFile)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    return tmp_path


def test_the_file_has_no_name_and_is_let_go_of(folder: Path) -> None:
    there = PlacesInFile(10)
    there[3] = 7
    number = there._file

    assert list(folder.iterdir()) == []
    assert os.fstat(number).st_nlink == 0
    del there
    with pytest.raises(OSError, match="Bad file"):
        os.fstat(number)


def test_a_full_disk_is_refused_with_what_to_do(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    there = PlacesInFile(10)

    def full(*_: object) -> int:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "pwrite", full)
    with pytest.raises(OutOfReach, match="No space left on device; make room there") as refused:
        there[0] = 1
    assert refused.value.place == str(folder)

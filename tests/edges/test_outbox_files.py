"""What of an outbox outlasts a power cut: nothing is ever neither here nor there."""

from __future__ import annotations

import os
import shutil
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest

from aftercare.edges import outbox_files
from aftercare.edges.outbox_files import held, key_of_name, write_batch
from aftercare.model import Channel

FILES = (("1.invite.2027-01-01.txt", b"a text"), ("2.invite.2027-01-01.eml", b"an e-mail"))


@pytest.fixture(params=[True, False])
def at_once(request: pytest.FixtureRequest) -> bool:
    """Whether the system has a call that flushes everything."""
    return bool(request.param)


@pytest.fixture
def deeds(monkeypatch: pytest.MonkeyPatch, at_once: bool) -> list[tuple[str, str]]:
    """What is done to the disk, in order: moves, flushes of a folder, folders dropped."""
    done = list[tuple[str, str]]()

    def all_flushed(folder: Path) -> bool:
        assert was(folder)
        if at_once:
            done.append(("flushed all", folder.name))
        return at_once

    was = outbox_files._flushed_at_once
    monkeypatch.setattr(outbox_files, "_flushed_at_once", all_flushed)
    rename, fsync, rmtree = os.rename, os.fsync, shutil.rmtree

    def renamed(here: Any, there: Any) -> None:
        rename(here, there)
        done.append(("moved", Path(there).parent.name))

    def flushed(descriptor: int) -> None:
        fsync(descriptor)
        done.append(("flushed", Path(f"/proc/self/fd/{descriptor}").readlink().name))

    def dropped(path: Any) -> None:
        rmtree(path)
        done.append(("dropped", Path(path).name))

    monkeypatch.setattr(os, "rename", renamed)
    monkeypatch.setattr(os, "fsync", flushed)
    monkeypatch.setattr(shutil, "rmtree", dropped)
    return done


def flushed(at_once: bool, *folders: str) -> list[tuple[str, str]]:
    """All at once, in the last of the folders, or each by itself."""
    if at_once:
        return [("flushed all", folders[-1])]
    return [("flushed", folder) for folder in folders]


def test_the_files_of_a_batch_are_flushed_before_anybody_is_told_of_it(
    tmp_path: Path, deeds: list[tuple[str, str]], at_once: bool
) -> None:
    with held(tmp_path) as outbox:
        batch = outbox.batch()
        deeds.clear()

        write_batch(batch, FILES)

    assert deeds == flushed(at_once, *(name for name, _ in FILES), batch.name)


def test_a_batch_is_dropped_when_both_ends_of_its_moves_are_flushed(
    tmp_path: Path, deeds: list[tuple[str, str]], at_once: bool
) -> None:
    with held(tmp_path) as outbox:
        batch = outbox.batch()
        write_batch(batch, FILES)
        deeds.clear()

        assert outbox.place(batch) == 2

    assert deeds == [
        ("moved", "sms"), ("moved", "email"),
        *flushed(at_once, "email", "sms", batch.name),
        ("dropped", batch.name),
    ]  # fmt: skip


def test_what_is_recovered_is_flushed_as_well(
    tmp_path: Path, deeds: list[tuple[str, str]], at_once: bool
) -> None:
    with held(tmp_path) as outbox:
        batch = outbox.batch()
        write_batch(batch, FILES)
        digests = {key_of_name(name): sha256(raw).hexdigest() for name, raw in FILES[:1]}
        deeds.clear()

        assert outbox.recover(lambda keys, batch: digests) == 1

    assert deeds == [
        ("moved", "sms"), *flushed(at_once, "sms", batch.name), ("dropped", batch.name)
    ]  # fmt: skip


def test_a_channel_that_had_nothing_is_not_flushed(
    tmp_path: Path, deeds: list[tuple[str, str]], at_once: bool
) -> None:
    with held(tmp_path) as outbox:
        batch = outbox.batch()
        write_batch(batch, ())
        deeds.clear()

        assert outbox.place(batch) == 0

    assert deeds == [*flushed(at_once, batch.name), ("dropped", batch.name)]
    assert {one.name for one in tmp_path.iterdir() if one.is_dir()} == {"sms", "email", "letters"}
    assert len(Channel) == 3

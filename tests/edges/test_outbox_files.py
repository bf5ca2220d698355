"""What of an outbox outlasts a power cut: nothing is ever neither here nor there."""

from __future__ import annotations

import os
import shutil
from pathlib import Path
from typing import Any

import pytest

from aftercare.edges.outbox_files import held, write_batch
from aftercare.model import Channel

FILES = (("1.invite.2027-01-01.txt", b"a text"), ("2.invite.2027-01-01.eml", b"an e-mail"))


@pytest.fixture
def deeds(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, str]]:
    """What is done to the disk, in order: moves, flushes of a folder, folders dropped."""
    done = list[tuple[str, str]]()
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


def test_a_batch_is_dropped_when_both_ends_of_its_moves_are_flushed(
    tmp_path: Path, deeds: list[tuple[str, str]]
) -> None:
    with held(tmp_path) as outbox:
        batch = outbox.batch()
        write_batch(batch, FILES)
        deeds.clear()

        assert outbox.place(batch) == 2

    assert deeds == [
        ("moved", "sms"), ("moved", "email"),
        ("flushed", "email"), ("flushed", "sms"), ("flushed", batch.name),
        ("dropped", batch.name),
    ]  # fmt: skip


def test_what_is_recovered_is_flushed_as_well(tmp_path: Path, deeds: list[tuple[str, str]]) -> None:
    from hashlib import sha256

    from aftercare.edges.outbox_files import key_of_name

    with held(tmp_path) as outbox:
        batch = outbox.batch()
        write_batch(batch, FILES)
        digests = {key_of_name(name): sha256(raw).hexdigest() for name, raw in FILES[:1]}
        deeds.clear()

        assert outbox.recover(lambda keys, batch: digests) == 1

    assert deeds == [
        ("moved", "sms"), ("flushed", "sms"), ("flushed", batch.name), ("dropped", batch.name)
    ]  # fmt: skip


def test_a_channel_that_had_nothing_is_not_flushed(
    tmp_path: Path, deeds: list[tuple[str, str]]
) -> None:
    with held(tmp_path) as outbox:
        batch = outbox.batch()
        write_batch(batch, ())
        deeds.clear()

        assert outbox.place(batch) == 0

    assert deeds == [("flushed", batch.name), ("dropped", batch.name)]
    assert {one.name for one in tmp_path.iterdir() if one.is_dir()} == {"sms", "email", "letters"}
    assert len(Channel) == 3

"""The record on disk is only ever added to, line by whole line."""

from __future__ import annotations

import errno
import json
import os
import random
import subprocess
import sys
from dataclasses import asdict, replace
from pathlib import Path

import pytest

from aftercare.edges.records import RecordFile
from aftercare.errors import OutOfReach
from aftercare.model import Channel, Record, Status

RECORD = Record(
    at="2026-11-24T09:00:00+00:00",
    case="v-1",
    library="sha256:abc",
    channel=Channel.SMS,
    language="ur",
    status=Status.WITHHELD,
    because=("translation (ur) missing: کان",),
    digest=None,
)


# What JSON makes of a tuple.
LISTS = {"because": list(RECORD.because), "noted": []}


def lines(path: Path) -> list[dict[str, object]]:
    text = path.read_bytes().decode()
    assert text.endswith("\n")
    return [json.loads(line) for line in text.splitlines()]


def test_a_record_is_one_line_of_json_for_its_owner_alone(tmp_path: Path) -> None:
    path = tmp_path / "deep" / "record.jsonl"

    RecordFile(path).add([RECORD, replace(RECORD, case="v-2")])

    assert lines(path) == [
        {**asdict(RECORD), **LISTS},
        {**asdict(RECORD), **LISTS, "case": "v-2"},
    ]
    assert path.stat().st_mode & 0o777 == 0o600


def test_records_are_added_after_what_is_there(tmp_path: Path) -> None:
    path = tmp_path / "record.jsonl"
    store = RecordFile(path)
    store.add([RECORD])
    before = path.read_bytes()

    store.add([replace(RECORD, case="v-2")])
    RecordFile(path).add([])

    assert path.read_bytes().startswith(before)
    assert [line["case"] for line in lines(path)] == ["v-1", "v-2"]


def test_a_half_line_of_a_killed_run_does_not_swallow_the_next(tmp_path: Path) -> None:
    path = tmp_path / "record.jsonl"
    path.write_bytes(b'{"at": "2026-11-2')

    RecordFile(path).add([RECORD])

    half, whole = path.read_bytes().splitlines()
    assert half == b'{"at": "2026-11-2'
    assert json.loads(whole)["case"] == "v-1"


@pytest.mark.parametrize("fails", ["write", "fsync"])
def test_a_disk_that_fails_keeps_the_record_as_it_was(
    fails: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "record.jsonl"
    RecordFile(path).add([RECORD])
    before, write = path.read_bytes(), os.write
    full = OSError(errno.ENOSPC, "No space left on device")

    def half_written(descriptor: int, data: bytes) -> int:
        if len(data) < 20:
            raise full
        return write(descriptor, data[: len(data) // 2])

    def unflushed(descriptor: int) -> None:
        raise full

    with monkeypatch.context() as disk:
        disk.setattr(os, fails, half_written if fails == "write" else unflushed)
        with pytest.raises(OutOfReach, match="No space left on device; nothing was released"):
            RecordFile(path).add([replace(RECORD, case="v-2")])

    assert path.read_bytes() == before


def test_a_slow_disk_takes_a_line_in_pieces(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write = os.write
    monkeypatch.setattr(os, "write", lambda descriptor, data: write(descriptor, data[:7]))

    RecordFile(tmp_path / "record.jsonl").add([RECORD])

    assert lines(tmp_path / "record.jsonl")[0]["case"] == "v-1"


@pytest.mark.parametrize("name", [".", "file/below", "n" * 300, "/proc/1/record.jsonl"])
def test_a_place_that_cannot_hold_a_record_is_told(name: str, tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"")

    with pytest.raises(OutOfReach, match="nothing was released"):
        RecordFile(tmp_path / name).add([RECORD])


ADDER = """
import sys
from dataclasses import replace
from pathlib import Path
from aftercare.edges.records import RecordFile
from aftercare.model import Channel, Record, Status
store, name = RecordFile(Path(sys.argv[1])), sys.argv[2]
for number in range(50):
    store.add([
        Record(
            at="now", case=f"{name}-{number}", library="x" * 3000, channel=channel,
            language="en", status=Status.RELEASED, because=(), digest=None,
        )
        for channel in Channel
    ])
"""


def test_runs_at_the_same_time_mix_by_whole_additions_only(root: Path, tmp_path: Path) -> None:
    path = tmp_path / "record.jsonl"
    adders = [
        subprocess.Popen(
            [sys.executable, "-c", ADDER, str(path), name],
            env={**os.environ, "PYTHONPATH": str(root)},
        )
        for name in "abcd"
    ]
    assert [adder.wait() for adder in adders] == [0] * 4

    found = lines(path)

    cases = [str(line["case"]) for line in found]
    assert sorted(set(cases)) == sorted(f"{name}-{n}" for name in "abcd" for n in range(50))
    assert cases[0::3] == cases[1::3] == cases[2::3]  # the channels of a visit stay together
    for name in "abcd":
        own = [case for case in cases[::3] if case.startswith(name)]
        assert own == [f"{name}-{number}" for number in range(50)]


def test_killed_runs_leave_whole_lines_or_one_half_line_that_is_set_apart(
    root: Path, tmp_path: Path
) -> None:
    path = tmp_path / "record.jsonl"
    pause = random.Random(3)  # noqa: S311 - not a secret
    for _ in range(4):
        with subprocess.Popen(
            [sys.executable, "-c", ADDER, str(path), "k"],
            env={**os.environ, "PYTHONPATH": str(root)},
        ) as adder:
            try:
                adder.wait(0.06 + pause.random() / 20)
            except subprocess.TimeoutExpired:
                adder.kill()

    RecordFile(path).add([RECORD])

    *earlier, last = path.read_bytes().splitlines()
    assert json.loads(last)["case"] == "v-1"
    torn = [line for line in earlier if not line.endswith(b"}")]
    assert len(torn) <= 4
    for line in earlier:
        assert line in torn or json.loads(line)["at"] == "now"

"""`recall write` killed with SIGKILL at every point it can be: the next run finishes, once each.

Somebody takes the finished files away after each run, as whatever sends them would: a file that
came again would be sent again.
"""

from __future__ import annotations

import json
import multiprocessing
import os
import shutil
import signal
from collections import Counter
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from enum import Enum
from functools import lru_cache
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
from made_up_register import row, take_in

from aftercare.cli.bootstrap import House, make_register, open_house, open_register
from aftercare.cli.recall import writing
from aftercare.cli.recall.writing import Asked, write_due
from aftercare.edges import outbox_files
from aftercare.edges.outbox_files import Outbox, key_of_name
from aftercare.edges.records import RecordFile
from aftercare.edges.register.register import SqlRegister
from aftercare.errors import OutOfReach
from aftercare.recall.people import ReminderState

TODAY = date(2026, 11, 24)
PEOPLE = 7
# What a run ends with here when it is told that the process beside it was killed.
ENDED = 99
# Everything a run does to the world, each before and after which it can be killed.
Deeds = tuple[tuple[Any, str], ...]
DEEDS: Deeds = (
    (SqlRegister, "plan"),
    (SqlRegister, "claim"),
    (SqlRegister, "settle"),
    (SqlRegister, "release"),
    (RecordFile, "add"),
    (Outbox, "batch"),
    (outbox_files, "_write"),
    (outbox_files, "_flush"),
    (os, "rename"),
    (shutil, "rmtree"),
)
# From the register's word that a batch is written until its files are in place.
BETWEEN = ((SqlRegister, "settle"), (os, "rename"), (shutil, "rmtree"))


@pytest.fixture
def home(approved_home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("AFTERCARE_HOME", str(approved_home))
    folder = shutil.copytree(approved_home, tmp_path / "clinic")
    with closing(make_register(str(folder))) as register:
        channels = ("sms", "email")
        take_in(
            register,
            *(
                row(
                    n, due=(TODAY + timedelta(days=42)).isoformat(), condition="condition:wax",
                    agreed=channels[n % 2], household=f"h{n}",
                )
                for n in range(PEOPLE)
            ),
        )  # fmt: skip
    return folder


def another(home: Path, clinic: Path) -> Path:
    """The same clinic with a register of its own; what is on the shelf is shared."""
    shutil.copytree(home / "out", clinic / "out")
    for one in home.iterdir():
        if one.name != "out":
            (clinic / one.name).symlink_to(one)
    return clinic


@lru_cache(maxsize=1)
def shelf() -> House:
    """Read once: what is on the shelf is nothing a kill could harm."""
    return open_house(None)


class Who(Enum):
    """Which process of a run is killed: of one without parts, of one in two that or the other."""

    ALONE = "alone"
    FIRST = "first"
    BESIDE = "beside"


def killed_at(point: int, home: str, out: Path, deeds: Deeds, who: Who) -> None:
    """One run in this process, of which one kills itself before or after its nth deed."""
    done, first = 0, os.getpid()

    def met() -> None:
        nonlocal done
        if (os.getpid() != first) != (who is Who.BESIDE):
            return
        done += 1
        if done == point:
            os.kill(os.getpid(), signal.SIGKILL)

    def counted(what: Callable[..., Any]) -> Callable[..., Any]:
        def wrapped(*given: Any, **named: Any) -> Any:
            met()
            answer = what(*given, **named)
            met()
            return answer

        return wrapped

    for place, name in deeds:
        setattr(place, name, counted(getattr(place, name)))
    writing.AT_A_TIME = 3 if who is Who.ALONE else 2
    if who is not Who.ALONE:
        writing.WORTH_A_PROCESS, writing.cores = 0, lambda: 2
    writing.open_house = lambda _: shelf()
    # A clock that stands, in a process of its own.
    writing.this_moment = lambda: datetime(2026, 11, 24, 9, tzinfo=UTC)  # type: ignore[assignment]
    try:
        code = write_due(
            Asked(on=TODAY.isoformat(), out=out, home=home), dry_run=False, as_json=True
        )
    except OutOfReach as refused:
        code = ENDED if "ended from outside" in refused.problem else 3
    os._exit(code)


def taken_away(out: Path) -> list[tuple[str, str]]:
    """The finished files, gone from the outbox: the name and digest of each."""
    found = [path for folder in ("sms", "email", "letters") for path in (out / folder).glob("*")]
    told = [(path.name, sha256(path.read_bytes()).hexdigest()) for path in found]
    for path in found:
        path.unlink()
    return told


def run(
    point: int, home: Path, out: Path, deeds: Deeds = DEEDS, who: Who = Who.ALONE
) -> int | None:
    shelf()
    process = multiprocessing.get_context("fork").Process(
        target=killed_at, args=(point, str(home), out, deeds, who)
    )
    process.start()
    process.join(60)
    return process.exitcode


def prepared(home: Path) -> dict[str, str | None]:
    with closing(open_register(str(home))) as register:
        found = [one for n in range(PEOPLE) for one in register.reminders(f"P{n:07}")]
    assert [one.state for one in found] == [ReminderState.PREPARED] * PEOPLE
    return {one.key: one.digest for one in found}


@pytest.mark.parametrize("first", range(1, 4))
def test_killed_again_and_again_each_message_comes_once(
    home: Path, tmp_path: Path, first: int
) -> None:
    out, got, kills = tmp_path / "o", list[tuple[str, str]](), 0
    # Each run gets a little further than the one before; the points differ from test to test.
    for point in range(first, 200, 3):
        code = run(point, home, out)
        got += taken_away(out)
        if code != -signal.SIGKILL:
            break
        kills += 1

    assert (kills > 7, code) == (True, 0)
    assert Counter(name for name, _ in got) == Counter(dict.fromkeys((n for n, _ in got), 1))
    assert {key_of_name(name): digest for name, digest in got} == prepared(home)
    assert not list(out.glob(".aftercare-batch-*"))


def test_a_run_killed_anywhere_is_finished_by_one_that_writes_elsewhere(
    home: Path, tmp_path: Path
) -> None:
    left_there = 0
    for point in range(1, 200, 4):
        clinic, first, second = (tmp_path / f"{name}{point}" for name in ("c", "o", "p"))
        another(home, clinic)
        code = run(point, clinic, first, BETWEEN)
        if code != -signal.SIGKILL:
            break
        aside = len(list(first.glob(".aftercare-batch-*/*")))
        before = taken_away(first)
        assert run(10**6, clinic, second) in (0, 1)
        after = taken_away(first)
        left_there += bool(after)
        got = before + after + taken_away(second)
        assert {key_of_name(name): digest for name, digest in got} == prepared(clinic)
        assert len(got) == PEOPLE
        assert len(after) <= aside
        with closing(open_register(str(clinic))) as register:
            assert register.underway() == ()
    assert left_there > 2


def test_one_kill_at_every_point_then_a_run_to_the_end(home: Path, tmp_path: Path) -> None:
    fresh, points = home, 0
    for point in range(2, 200, 8):
        clinic, out = tmp_path / f"c{point}", tmp_path / f"o{point}"
        another(fresh, clinic)
        code = run(point, clinic, out)
        got = taken_away(out)
        if code != -signal.SIGKILL:
            break
        points += 1
        assert run(10**6, clinic, out) in (0, 1)
        got += taken_away(out)
        assert {key_of_name(name): digest for name, digest in got} == prepared(clinic)
        assert len(got) == PEOPLE
        kept = [json.loads(line) for line in (out / "record.jsonl").read_text().splitlines()]
        # On record before it is in place; a message that was made again is there twice.
        assert {one["case"] for one in kept} == set(prepared(clinic))
    assert points > 8


@pytest.mark.parametrize(("who", "first"), [(Who.FIRST, 1), (Who.BESIDE, 2)])
def test_either_process_of_two_killed_again_and_again_each_message_comes_once(
    home: Path, tmp_path: Path, who: Who, first: int
) -> None:
    out, got, kills = tmp_path / "o", list[tuple[str, str]](), 0
    killed = ENDED if who is Who.BESIDE else -signal.SIGKILL
    for point in range(first, 200, 4):
        code = run(point, home, out, who=who)
        got += taken_away(out)
        if code != killed:
            break
        kills += 1

    assert (kills > 3, code) == (True, 0)
    assert Counter(name for name, _ in got) == Counter(dict.fromkeys((n for n, _ in got), 1))
    assert {key_of_name(name): digest for name, digest in got} == prepared(home)
    assert not list(out.glob(".aftercare-batch-*"))
    with closing(open_register(str(home))) as register:
        assert register.underway() == ()


@pytest.mark.parametrize("who", [Who.FIRST, Who.BESIDE])
def test_either_process_of_two_killed_between_register_and_folder_is_finished_elsewhere(
    home: Path, tmp_path: Path, who: Who
) -> None:
    left_there = points = 0
    killed = ENDED if who is Who.BESIDE else -signal.SIGKILL
    for point in range(1, 200, 3):
        clinic, first, second = (tmp_path / f"{name}{point}" for name in ("c", "o", "p"))
        another(home, clinic)
        code = run(point, clinic, first, BETWEEN, who)
        if code != killed:
            break
        before = taken_away(first)
        assert run(10**6, clinic, second, who=who) in (0, 1)
        after = taken_away(first)
        left_there += bool(after)
        points += 1
        got = before + after + taken_away(second)
        assert {key_of_name(name): digest for name, digest in got} == prepared(clinic)
        assert len(got) == PEOPLE
        with closing(open_register(str(clinic))) as register:
            assert register.underway() == ()
    assert points > 2
    assert left_there > 0

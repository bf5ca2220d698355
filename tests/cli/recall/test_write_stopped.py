"""`recall write` stopped by what it runs on: a lost folder, a full disk, a process that is gone."""

from __future__ import annotations

import csv
import errno
import json
import multiprocessing
import os
import shutil
import signal
import time
from collections import Counter
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
from made_up_register import row, take_in
from sqlalchemy import event, text

from aftercare.cli.bootstrap import make_register, open_register
from aftercare.cli.recall import write_list, writing
from aftercare.cli.recall.writing import Asked, write_due
from aftercare.edges import outbox_files
from aftercare.edges.outbox_files import Outbox, key_of_name
from aftercare.edges.register.register import SqlRegister
from aftercare.errors import OutOfReach
from aftercare.recall.people import Reminder, ReminderState
from aftercare.recall.port import Part

TODAY = date(2026, 11, 24)
NINE = datetime(2026, 11, 24, 9, tzinfo=UTC)
PEOPLE = 8
FORK = multiprocessing.get_context("fork")


@pytest.fixture
def home(approved_home: Path, tmp_path: Path) -> Path:
    """The approved shelf, and a register of people whose first message is due today."""
    folder = shutil.copytree(approved_home, tmp_path / "clinic")
    with closing(make_register(str(folder))) as register:
        due = (TODAY + timedelta(days=42)).isoformat()
        invited = (
            row(n, due=due, condition="condition:wax", agreed=("sms", "email")[n % 2],
                household=f"h{n}")
            for n in range(PEOPLE)
        )  # fmt: skip
        take_in(register, *invited)
    return folder


@pytest.fixture(autouse=True)
def _in_small_batches(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(writing, "this_moment", lambda: NINE)
    monkeypatch.setattr(writing, "AT_A_TIME", 3)


def write(home: Path, out: Path) -> int:
    asked = Asked(on=TODAY.isoformat(), out=out, home=str(home))
    return write_due(asked, dry_run=False, as_json=True)


def placed(*outs: Path) -> list[tuple[str, str]]:
    """Key and digest of every file that is in place."""
    found = [p for out in outs for sub in ("sms", "email") for p in (out / sub).glob("*")]
    return sorted((key_of_name(p.name), sha256(p.read_bytes()).hexdigest()) for p in found)


def reminders(home: Path) -> list[Reminder]:
    with closing(open_register(str(home))) as register:
        return list(register.all_reminders())


def assert_each_is_there_once(home: Path, *outs: Path) -> None:
    found = reminders(home)
    assert [one.state for one in found] == [ReminderState.PREPARED] * PEOPLE
    assert placed(*outs) == sorted((one.key, one.digest) for one in found)
    assert not [p for out in outs for p in out.glob(".aftercare-batch-*")]


def listed(out: Path) -> dict[str, tuple[str, str]]:
    with (out / "list.csv").open(encoding="utf-8", newline="") as stream:
        return {one["ref"]: (one["what"], one["because"]) for one in csv.DictReader(stream)}


# --- stopped, and then written elsewhere ------------------------------------------------


@pytest.fixture
def stopped(home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder of a run that stopped when its second batch was settled and not yet moved."""
    out, moves = tmp_path / "first", iter((True, False))

    def place(outbox: Outbox, batch: Path, keys: Any = None) -> int:
        if next(moves):
            return was(outbox, batch, keys)
        raise KeyboardInterrupt

    was = Outbox.place
    with monkeypatch.context() as patch:
        patch.setattr(Outbox, "place", place)
        with pytest.raises(KeyboardInterrupt):
            write(home, out)
    assert (len(placed(out)), len(list(out.glob(".aftercare-batch-*/*")))) == (3, 3)
    return out


def hold_the_rest(home: Path) -> None:
    """As a run that had claimed them when it was stopped."""
    with closing(open_register(str(home))) as register:
        (run,) = register.underway()
        held = register.claim(
            TODAY, worker=run.worker, now=NINE, until=NINE + timedelta(hours=2), limit=9
        )
    assert len(held) == 2


def test_the_next_run_finishes_it_in_its_own_folder_and_writes_the_rest(
    home: Path, stopped: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    second = tmp_path / "second"
    hold_the_rest(home)

    assert write(home, second) == 0

    assert (len(placed(stopped)), len(placed(second))) == (6, 2)
    assert_each_is_there_once(home, stopped, second)
    told = capsys.readouterr()
    assert json.loads(told.out)["completed"] == 3
    assert f"{stopped} was stopped: 3 of its messages put in place there" in told.err


def test_a_folder_that_was_moved_is_still_known(home: Path, stopped: Path, tmp_path: Path) -> None:
    moved = stopped.rename(tmp_path / "moved")

    assert write(home, moved) == 0

    assert_each_is_there_once(home, moved)


def test_when_the_folder_is_gone_its_last_messages_are_a_person_s_once(
    home: Path, stopped: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    in_place = {key for key, _ in placed(stopped)}
    hold_the_rest(home)
    away = stopped.rename(tmp_path / "away")
    second = tmp_path / "second"

    assert write(home, second) == 1

    rows = listed(second)
    assert {what for what, _ in rows.values()} == {"for a person"}
    assert all("was stopped, and the folder is gone" in why for _, why in rows.values())
    by_key = {one.key: one for one in reminders(home)}
    written = {key for key, _ in placed(second)}
    doubted = by_key.keys() - in_place - written
    assert (len(rows), len(doubted), len(written)) == (3, 3, 2)
    assert "the folder is gone: 3 of its last messages" in capsys.readouterr().err

    # Told of once; and what a person was asked to tell is never put in place after all.
    assert (write(home, second), listed(second)) == (0, {})
    away.rename(stopped)
    assert write(home, stopped) == 0
    assert {key for key, _ in placed(stopped)} == in_place


def on_another_machine(home: Path) -> None:
    with closing(open_register(str(home))) as register, register.engine.begin() as connection:
        connection.execute(text("UPDATE outboxes SET host = 'elsewhere', folder = '/not/here'"))


def test_what_another_machine_may_still_write_is_left_to_it_until_its_time_is_up(
    home: Path, stopped: Path, tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    second = tmp_path / "second"
    hold_the_rest(home)
    on_another_machine(home)

    assert write(home, second) == 1
    told = capsys.readouterr()
    assert json.loads(told.out)["not_ended_elsewhere"] == ["/not/here"]
    assert "on elsewhere has not ended; if it was stopped, run it again there" in told.err
    assert "before 2026-11-24 11:00 UTC" in told.err
    assert (placed(second), listed(second)) == ([], {})

    monkeypatch.setattr(writing, "this_moment", lambda: NINE + timedelta(hours=2))
    assert write(home, second) == 1
    assert (len(placed(second)), len(listed(second))) == (2, 3)


def test_a_run_that_writes_at_this_moment_is_left_alone_and_waited_for(
    home: Path, stopped: Path, tmp_path: Path
) -> None:
    with outbox_files.held(stopped), pytest.raises(OutOfReach, match="is writing there now"):
        write(home, tmp_path / "second")
    assert placed(tmp_path / "second") == []
    assert len(placed(stopped)) == 3
    with closing(open_register(str(home))) as register:
        assert [one.folder for one in register.underway()] == [str(stopped)]


# --- a full disk ------------------------------------------------------------------------

FULL = OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def full_at(number: int, patch: pytest.MonkeyPatch) -> Callable[[], bool]:
    """Let the disk be full at the nth write of a file; whether it came to that."""
    was, writes = os.write, iter(range(10**6))
    met = []

    def written(descriptor: int, raw: bytes) -> int:
        if next(writes) < number:
            return was(descriptor, raw)
        met.append(descriptor)
        if len(met) == 1 and len(raw) > 1:
            return was(descriptor, raw[: len(raw) // 2])  # as much as there was room for
        raise FULL

    patch.setattr(os, "write", written)
    return lambda: bool(met)


def test_a_disk_that_fills_at_any_write_loses_and_doubles_nothing(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    told = Counter[str]()
    for number in range(0, 100, 2):
        clinic, out = (tmp_path / f"{name}{number}" for name in "co")
        shutil.copytree(home, clinic)
        with monkeypatch.context() as patch:
            full = full_at(number, patch)
            try:
                told[f"ended with {write(clinic, out)}"] += 1
            except OutOfReach as error:
                told[error.problem] += 1
        assert write(clinic, out) == 0
        assert_each_is_there_once(clinic, out)
        if not full():
            break
    assert not full()
    assert told["No space left on device"] > 5
    # A register goes on whose anchor could not be moved: the next change moves it.
    assert set(told) == {"No space left on device", "ended with 0"}


@pytest.mark.parametrize("full", [".list.csv-0.", ".list.csv.", ".list.txt."])
def test_a_list_the_disk_has_no_room_for_is_refused_and_written_by_the_next_run(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, full: str
) -> None:
    out, was = tmp_path / "o", write_list._owned
    with closing(make_register(str(home))) as register:
        take_in(register, row(99, state="waiting", waiting_on="Ann Admin", because="asked for it"))

    def owned(path: Path) -> Any:
        # Opened and closed by what is tested.
        return Path("/dev/full").open("w") if path.name.startswith(full) else was(path)

    with monkeypatch.context() as patch:
        patch.setattr(write_list, "_owned", owned)
        with pytest.raises(OutOfReach, match=r"list\.csv: No space left on device; make room"):
            write(home, out)

    assert not (out / "list.csv").exists()
    assert write(home, out) == 0
    assert listed(out) == {"P0000099": ("waiting", "asked for it")}
    assert_each_is_there_once(home, out)


def test_a_register_that_may_grow_no_more_is_refused_and_goes_on_later(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """SQLite's own limit of pages, which it reports as a full disk."""
    out, was = tmp_path / "o", SqlRegister.__init__

    def small(register: SqlRegister, *given: Any) -> None:
        was(register, *given)
        event.listen(
            register.engine, "connect",
            lambda connection, _: connection.execute("PRAGMA max_page_count = 1"),
        )  # fmt: skip

    # Many more than a page has room for.
    with closing(make_register(str(home))) as register:
        due = (TODAY + timedelta(days=42)).isoformat()
        more = (
            row(n, due=due, condition="condition:wax", agreed="sms", household=f"h{n}")
            for n in range(PEOPLE, PEOPLE + 600)
        )
        take_in(register, *more)
    monkeypatch.setattr(writing, "AT_A_TIME", 500)
    with monkeypatch.context() as patch:
        patch.setattr(SqlRegister, "__init__", small)
        with pytest.raises(OutOfReach, match="the disk is full; nothing was changed; make room"):
            write(home, out)

    assert write(home, out) == 0
    assert len(placed(out)) == len(reminders(home)) == PEOPLE + 600


# --- a process that is gone -------------------------------------------------------------


@pytest.fixture
def two_processes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(writing, "WORTH_A_PROCESS", 1)
    monkeypatch.setattr(writing, "cores", lambda: 2)


def beside() -> bool:
    """Whether this is the process beside another, which a run was split into."""
    return multiprocessing.parent_process() is not None


def at_a_batch(patch: pytest.MonkeyPatch, number: int, deed: Callable[[], object]) -> None:
    """Do something when the process beside has settled its nth batch and not yet placed it."""
    was, batches = Outbox.place, iter(range(1, 10**6))

    def place(outbox: Outbox, batch: Path, keys: Any = None) -> int:
        if beside() and next(batches) == number:
            deed()
        return was(outbox, batch, keys)

    patch.setattr(Outbox, "place", place)


def of_parts(home: Path) -> list[set[int]]:
    """The recalls of each of two parts."""
    with closing(open_register(str(home))) as register:
        return [
            {recall.id for recall, _ in register.all_recalls(part=Part(number, 2))}
            for number in range(2)
        ]


def test_a_process_beside_that_is_killed_is_told_of_and_the_next_run_goes_on(
    home: Path, tmp_path: Path, two_processes: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "o"
    here, there = of_parts(home)
    assert min(len(here), len(there)) > 2
    with monkeypatch.context() as patch:
        at_a_batch(patch, 1, lambda: os.kill(os.getpid(), signal.SIGKILL))
        with pytest.raises(OutOfReach, match="ended from outside; see that memory is enough"):
            write(home, out)

    # This process went on to the end of its own part.
    assert {int(key.partition("/")[0]) for key, _ in placed(out)} == here
    assert not (out / "list.csv").exists()
    # Whether or not that is in parts as well.
    monkeypatch.setattr(writing, "WORTH_A_PROCESS", 10**6)
    assert write(home, out) == 0
    assert_each_is_there_once(home, out)
    with closing(open_register(str(home))) as register:
        assert register.underway() == ()


def test_what_a_killed_part_had_finished_is_finished_by_a_run_that_writes_elsewhere(
    home: Path, tmp_path: Path, two_processes: None,
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    first, second = tmp_path / "first", tmp_path / "second"
    monkeypatch.setattr(writing, "AT_A_TIME", 2)
    with monkeypatch.context() as patch:
        at_a_batch(patch, 1, lambda: os.kill(os.getpid(), signal.SIGKILL))
        with pytest.raises(OutOfReach):
            write(home, first)
    before = placed(first)

    assert write(home, second) == 0

    assert len(placed(first)) == len(before) + 2
    assert_each_is_there_once(home, first, second)
    assert capsys.readouterr().err.count("was stopped: 2 of its messages put in place there") == 1


def test_when_the_folder_of_parts_is_gone_the_last_batch_of_each_is_a_person_s(
    home: Path, tmp_path: Path, two_processes: None,
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    first, second = tmp_path / "first", tmp_path / "second"
    monkeypatch.setattr(writing, "AT_A_TIME", 1)

    def place(outbox: Outbox, batch: Path, keys: Any = None) -> int:
        (tmp_path / f"settled-{beside()}").touch()
        if beside():
            os.kill(os.getpid(), signal.SIGKILL)
        while not (tmp_path / "settled-True").exists():
            time.sleep(0.01)
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(Outbox, "place", place)
        with pytest.raises(KeyboardInterrupt):
            write(home, first)
    shutil.rmtree(first)

    assert write(home, second) == 1

    assert len(placed(second)) == PEOPLE - 2
    assert {what for what, _ in listed(second).values()} == {"for a person"}
    assert len(listed(second)) == 2
    assert capsys.readouterr().err.count("the folder is gone: 2 of its last messages") == 1
    with closing(open_register(str(home))) as register:
        assert register.underway() == ()


def test_what_a_part_refuses_is_said_as_it_said_it_and_a_fault_by_its_place(
    home: Path, tmp_path: Path, two_processes: None,
    monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    def refused() -> None:
        raise OutOfReach("there", "is no room", "make some")

    def at_fault() -> None:
        raise ValueError("Nell of Made-up Row")

    for deed, kind, said in (
        (refused, OutOfReach, "there: is no room; make some"),
        (at_fault, RuntimeError, "ValueError"),
    ):
        with monkeypatch.context() as patch:
            at_a_batch(patch, 1, deed)
            with pytest.raises(kind, match=said):
                write(home, tmp_path / "o")
    told = capfd.readouterr().err
    assert "a fault of our own in test_write_stopped.py, at_fault" in told
    assert "Nell" not in told

    assert write(home, tmp_path / "o") == 0
    assert_each_is_there_once(home, tmp_path / "o")


def test_what_a_stopped_run_had_planned_is_written_in_parts_too(
    home: Path, tmp_path: Path, two_processes: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patch:
        patch.setattr(SqlRegister, "claim", lambda *_, **__: 1 / 0)
        with pytest.raises((ZeroDivisionError, RuntimeError)):
            write(home, tmp_path / "o")
    assert {one.state for one in reminders(home)} == {ReminderState.PLANNED}

    assert write(home, tmp_path / "o") == 0

    assert_each_is_there_once(home, tmp_path / "o")


def test_processes_beside_end_when_the_run_is_killed(
    home: Path, tmp_path: Path, two_processes: None
) -> None:
    here, there = FORK.Pipe(duplex=False)

    def run_until_killed() -> None:
        run, was = os.getpid(), Outbox.place

        def place(outbox: Outbox, batch: Path, keys: Any = None) -> int:
            if os.getpid() != run:
                there.send(os.getpid())
            time.sleep(60)
            return was(outbox, batch, keys)

        Outbox.place = place  # type: ignore[method-assign]  # it stops half way
        write(home, tmp_path / "o")

    run = FORK.Process(target=run_until_killed)
    run.start()
    beside = here.recv()
    assert lives(beside)
    assert run.pid is not None
    os.kill(beside, signal.SIGSTOP)
    os.kill(run.pid, signal.SIGKILL)
    os.waitid(os.P_PID, run.pid, os.WEXITED | os.WNOWAIT)

    # As long as it is there and may yet finish something, no other run begins.
    with pytest.raises(OutOfReach, match="another run is writing there"):
        write(home, tmp_path / "o")
    os.kill(beside, signal.SIGCONT)
    for _ in range(300):
        if not lives(beside):
            break
        time.sleep(0.1)
    assert not lives(beside)
    assert write(home, tmp_path / "o") == 0
    assert_each_is_there_once(home, tmp_path / "o")


def lives(process: int) -> bool:
    """Whether a process is there, and not only its last word."""
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(") ")[2][0] != "Z"
    except FileNotFoundError:
        return False

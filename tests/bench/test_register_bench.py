"""How quickly a register is filled and asked, against the bare way of putting a CSV into SQLite.

`AFTERCARE_BENCH_PATIENTS` sets how many; 100,000 without it. Processor time is told beside the
clock, because the clock of a machine that others use says little.
"""

from __future__ import annotations

import csv
import hashlib
import multiprocessing
import os
import resource
import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime, timedelta
from itertools import islice
from pathlib import Path
from typing import Any

import pytest
from made_up_register import CAVITY, deed, file_place, reminder

from aftercare.edges.register.copies import backup, verify
from aftercare.edges.register.parcel import pack
from aftercare.edges.register.register import SqlRegister, make_register
from aftercare.recall.people import What
from aftercare.recall.port import Taken

PATIENTS = int(os.environ.get("AFTERCARE_BENCH_PATIENTS", "100000"))
IN_A_PARCEL = 20_000
FIRST = date(2024, 1, 1)

pytestmark = pytest.mark.bench


def made_up(number: int) -> tuple[str, ...]:
    return (
        f"P{number:07}",
        f"Nell{number % 997}",
        f"Invented{number % 9973}",
        f"19{number % 80 + 10}-0{number % 9 + 1}-1{number % 9}",
        "en",
        f"+447700900{number % 1000:03}",
        f"p{number}@example.org",
        f"{number % 200} Made-up Row",
        "email sms",
        "",
        hashlib.sha256(b"%d" % (number // 2)).hexdigest()[:12],
        CAVITY,
        "2024-03-05",
        (FIRST + timedelta(days=number % 1500)).isoformat(),
    )


@pytest.fixture(scope="module")
def clinic_list(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("list") / "patients.csv"
    with path.open("w", newline="") as stream:
        csv.writer(stream).writerows(made_up(number) for number in range(PATIENTS))
    return path


def bare(clinic_list: Path, folder: Path) -> int:
    """The yardstick: `csv.reader` straight into one table without keys or indexes."""
    connection = sqlite3.connect(folder / "bare.sqlite")
    columns = ", ".join(f"c{number} TEXT" for number in range(14))
    connection.execute(f"CREATE TABLE patients ({columns})")
    with clinic_list.open(newline="") as stream:
        holes = ", ".join("?" * 14)
        # Nothing from outside stands in the statement, only holes.
        connection.executemany(f"INSERT INTO patients VALUES ({holes})", csv.reader(stream))  # noqa: S608
    connection.commit()
    count = connection.execute("SELECT count(*) FROM patients").fetchone()[0]
    connection.close()
    return int(count)


def rows(clinic_list: Path) -> Iterator[tuple[Any, ...]]:
    with clinic_list.open(newline="") as stream:
        for one in csv.reader(stream):
            yield (
                *one[:11], None, "ready", "",
                "", one[12], one[11], None, None,
                one[11], one[12], 6, 0, one[13], "scheduled", None, None, None, None,
            )  # fmt: skip


def parcels(clinic_list: Path) -> Iterator[bytes]:
    waiting = rows(clinic_list)
    while some := list(islice(waiting, IN_A_PARCEL)):
        yield pack(some)  # type: ignore[arg-type]


def read_and_pack(clinic_list: Path, parcels_out: Any) -> None:
    for one in parcels(clinic_list):
        parcels_out.put(one)
    parcels_out.put(None)


def fill(register: SqlRegister, clinic_list: Path) -> Taken:
    """As an import does it: one process reads and packs, this one takes in."""
    fork = multiprocessing.get_context("fork")
    queue = fork.Queue(4)
    reader = fork.Process(target=read_and_pack, args=(clinic_list, queue))
    reader.start()
    with register.intake(deed()) as intake:
        while (one := queue.get()) is not None:
            intake.parcel(one)
    reader.join()
    return intake.taken()


@contextmanager
def timed(what: str, count: int, against: Callable[[], float] | None = None) -> Iterator[None]:
    clock, processor = time.perf_counter(), time.process_time()
    yield
    clock, processor = time.perf_counter() - clock, time.process_time() - processor
    print(
        f"\n{what}: {count / clock:,.0f}/s by the clock, "
        f"{processor / count * 1e6:.2f} µs of processor each"
    )


@pytest.fixture(scope="module")
def filled(clinic_list: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[SqlRegister]:
    folder = tmp_path_factory.mktemp("register")
    with timed("bare CSV to SQLite", PATIENTS):
        assert bare(clinic_list, folder) == PATIENTS
    register = make_register(file_place(folder))
    with timed("register, first time (person, visit, recall; this process)", PATIENTS):
        assert fill(register, clinic_list) == Taken(new=PATIENTS, visits=PATIENTS, recalls=PATIENTS)
    size = (folder / "register.sqlite").stat().st_size
    print(f"{size / PATIENTS:.0f} bytes a patient")
    yield register
    register.close()


def test_filling_against_the_bare_way(filled: SqlRegister, clinic_list: Path) -> None:
    with timed("register, the same file again", PATIENTS):
        assert fill(filled, clinic_list) == Taken(same=PATIENTS)


def test_the_day_s_list(filled: SqlRegister) -> None:
    """Of a day, and of everything overdue at the start: as quick as its answer is short."""
    day, early = FIRST + timedelta(days=700), FIRST + timedelta(days=2)
    for name, first, last in (("one day", day, day), ("the first three days", None, early)):
        times = []
        for _ in range(9):
            begun = time.perf_counter()
            found = list(filled.due(first, last))
            times.append(time.perf_counter() - begun)
        days = range(700, 701) if first else range(3)
        numbers = [n for one in days for n in range(one, PATIENTS, 1500)]
        assert [person.ref for _, person in found] == [f"P{n:07}" for n in numbers]
        assert [(recall.due - FIRST).days for recall, _ in found] == [n % 1500 for n in numbers]
        print(
            f"\ndue, {name}: {len(numbers)} people of {PATIENTS:,} in"
            f" {sorted(times)[4] * 1e3:.1f} ms"
        )


def test_streaming_takes_no_memory_and_planning_is_quick(filled: SqlRegister) -> None:
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    with timed("reading every open recall with its person", PATIENTS):
        assert sum(1 for _ in filled.open_recalls()) == PATIENTS
    wanted = (reminder(number) for number in range(1, PATIENTS + 1))
    with timed("planning a reminder each", PATIENTS):
        assert filled.plan(wanted, deed(What.PLANNED)) == PATIENTS
    grown = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024
    print(f"memory grew by {grown:.0f} MB")
    assert grown < 100


def test_claiming_and_settling(filled: SqlRegister) -> None:
    from aftercare.recall.people import ReminderState
    from aftercare.recall.port import Settled

    now = datetime(2026, 7, 1, 9, tzinfo=UTC)
    until, count = now + timedelta(minutes=10), 0
    filled.plan((reminder(n) for n in range(1, PATIENTS + 1)), deed(What.PLANNED))
    with timed("claiming and settling, 500 at a time", min(PATIENTS, 20_000)):
        while count < min(PATIENTS, 20_000):
            held = filled.claim(date(2026, 7, 1), worker="one", now=now, until=until, limit=500)
            done = [
                Settled(key=one.reminder.key, state=ReminderState.PREPARED, digest="0" * 64)
                for one in held
            ]
            count += filled.settle(done, deed(What.PREPARED))
    assert count == min(PATIENTS, 20_000)


def test_one_change(filled: SqlRegister) -> None:
    from dataclasses import replace

    with timed("one change with its row in the chain, on the disk", 200):
        for number in range(200):
            (was,) = filled.recalls(f"P{number:07}")
            filled.change(deed(What.SNOOZED), (was, replace(was, due=date(2027, 1, 1))))
    assert [str(one.due) for one in filled.recalls("P0000199")] == ["2027-01-01"]


def test_a_checked_copy(filled: SqlRegister, tmp_path: Path) -> None:
    with timed("a backup, checked", PATIENTS):
        backup(filled, tmp_path / "copy")
    with timed("the checks alone", PATIENTS):
        assert verify(filled).sound

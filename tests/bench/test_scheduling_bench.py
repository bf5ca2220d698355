"""How long a night's scheduling takes, and how it grows with the register.

Every open recall is followed and what is due is put in, as the nightly run does it before it writes
a word. `AFTERCARE_BENCH_RECALLS` sets the largest register, 64,000 without it; the others are a
quarter and a sixteenth of it. Half of the recalls have an invitation due, the others have months to
go. Times are of the processor, of one core, with the clock beside them.
"""

from __future__ import annotations

import os
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import closing
from datetime import date, timedelta
from itertools import islice
from pathlib import Path

import pytest
from made_up_register import deed, row

from aftercare.cli.bootstrap import make_register, open_recall_desk
from aftercare.edges.register.register import SqlRegister
from aftercare.recall.people import Reminder, What
from aftercare.recall.port import IntakeRow
from aftercare.recall.steps import Planner
from aftercare.recall.write import follow

LARGEST = int(os.environ.get("AFTERCARE_BENCH_RECALLS", "64000"))
SIZES = (LARGEST // 16, LARGEST // 4, LARGEST)
TODAY = date(2026, 11, 30)
IN_SIX_WEEKS = TODAY + timedelta(days=42)
AT_A_TIME = 5000
WARMING = 400  # only loads what is loaded when it is first needed
ROOT = Path(__file__).parents[2]
# What grows with the square of the register would be sixteen times as slow for each.
LINEAR = 2.0

pytestmark = pytest.mark.bench


def listed(number: int) -> IntakeRow:
    """Every other recall is due for an invitation today."""
    due = IN_SIX_WEEKS if number % 2 else IN_SIX_WEEKS + timedelta(days=30 + number % 300)
    return row(
        number, due=due.isoformat(), condition="condition:wax", household=f"h{number}",
        agreed=("sms", "email")[number // 2 % 2],
    )  # fmt: skip


def filled(home: Path, recalls: int) -> SqlRegister:
    register = make_register(str(home))
    with register.intake(deed()) as intake:
        for start in range(0, recalls, AT_A_TIME):
            intake.rows([listed(n) for n in range(start, min(start + AT_A_TIME, recalls))])
    return register


def due_now(register: SqlRegister, planner: Planner) -> Iterator[Reminder]:
    for one in follow(register.all_recalls(), register.all_reminders(), planner, TODAY):
        yield from one.new


def schedule(register: SqlRegister, planner: Planner) -> int:
    """How many reminders are put in."""
    count, wanted = 0, due_now(register, planner)
    while some := list(islice(wanted, AT_A_TIME)):
        count += register.plan(some, deed(What.PLANNED))
    return count


def test_a_night_takes_as_much_longer_as_there_are_more_recalls(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    planner, each = open_recall_desk(str(ROOT)).planner, list[float]()
    for number, size in enumerate((WARMING, *SIZES)):
        monkeypatch.setenv("AFTERCARE_DATABASE", f"sqlite:///{tmp_path / f'{number}.sqlite'}")
        with closing(filled(ROOT, size)) as register:
            begun, clock = time.process_time(), time.perf_counter()
            assert schedule(register, planner) == size // 2
            begun, clock = time.process_time() - begun, time.perf_counter() - clock
            each.append(begun / size)
            put_in = register.all_reminders()
            days = Counter((one.step, one.day, one.channel.value) for one in put_in)
            assert schedule(register, planner) == 0  # the next night finds all of it there
        assert days == {
            ("invite", TODAY, "sms"): size // 4,
            ("invite", TODAY, "email"): size // 4,
        }
        if number == 0:
            each.clear()
            continue
        with capsys.disabled():
            print(
                f"\n  scheduling {size:,} recalls: {each[-1] * 1e6:.1f} µs of processor each, "
                f"{each[-1] / each[0]:.2f} times the smallest; {begun:.1f} s, "
                f"{clock:.1f} s by the clock, load {os.getloadavg()[0]:.0f}"
            )
    assert each[-1] / each[0] < LINEAR

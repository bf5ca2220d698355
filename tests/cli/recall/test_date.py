"""``aftercare recall date``: what it answers, and what it refuses, as somebody types it."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]


@pytest.mark.parametrize(
    ("words", "day"),
    [
        ("--from 2027-01-31 --months 1", "2027-02-28"),
        ("--from 2028-01-31 --months 1", "2028-02-29"),
        ("--from 2027-01-31 --months 2", "2027-03-31"),
        ("--from 2028-02-29 --months 12", "2029-02-28"),
        ("--from 2026-03-31 --months -1", "2026-02-28"),
        ("--from 2026-03-02 --weeks -1", "2026-02-23"),
        ("--from 2026-03-01 --days -1", "2026-02-28"),
        ("--from 2026-12-24 --working-days 1", "2026-12-25"),
        ("--from 2026-12-24 --working-days 1 --region GB-ENG", "2026-12-29"),
        ("--from 2026-12-29 --working-days -1 --region GB-ENG", "2026-12-24"),
        ("--from 2026-04-02 --working-days 1 --region GB-ENG", "2026-04-07"),
        ("--from 2026-04-02 --working-days 1 --region GB-SCT", "2026-04-06"),
        ("--from 2026-06-10 --working-days 0", "2026-06-10"),
    ],
)
def test_days_are_counted_from_the_day_given(words: str, day: str, run: Run) -> None:
    answer = run("recall", "date", *words.split(), "--json")

    assert answer.code == 0
    assert answer.json() == {"date": day, "utc": None, "moved_because": None}


def test_a_closed_day_is_moved_when_asked_and_told_when_not(run: Run) -> None:
    counted = ("recall", "date", "--from", "2026-12-24", "--days", "1", "--region", "GB-ENG")

    left, on, back = (
        run(*counted, "--json", "--roll", how) for how in ("none", "next", "previous")
    )

    because = "2026-12-25 is a bank holiday in GB-ENG (Christmas Day)"
    assert left.json() == {"date": "2026-12-25", "utc": None, "moved_because": None}
    assert because in left.err
    assert on.json() == {"date": "2026-12-29", "utc": None, "moved_because": because}
    assert back.json() == {"date": "2026-12-24", "utc": None, "moved_because": because}
    assert on.err == ""
    assert run(*counted, "--roll", "next").out == f"2026-12-29 Tuesday\nmoved: {because}\n"


def at(run: Run, day: str, clock: str, *more: str) -> Any:
    counted = ("recall", "date", "--from", day, "--days", "0", "--at", clock, "--json")
    return run(*counted, "--zone", "Europe/London", *more)


def test_a_time_is_told_in_utc_on_the_day_it_was_moved_to(run: Run) -> None:
    assert at(run, "2026-07-01", "09:30").json()["utc"] == "2026-07-01T08:30:00Z"
    # Moved over the night clocks go back: the wall time stays.
    moved = at(run, "2026-10-24", "09:30", "--roll", "next").json()
    assert moved["utc"] == "2026-10-26T09:30:00Z"


def test_a_time_that_never_comes_is_refused(run: Run) -> None:
    answer = at(run, "2026-03-29", "01:30")

    assert (answer.code, answer.out) == (2, "")
    assert "--at: 2026-03-29 01:30 in Europe/London does not exist" in answer.err


def test_a_time_that_comes_twice_is_asked_and_can_be_answered(run: Run) -> None:
    asked = at(run, "2026-10-25", "01:30")

    assert (asked.code, asked.out) == (2, "")
    assert "2026-10-25T00:30:00Z and 2026-10-25T01:30:00Z; add --fold first or" in asked.err
    first, second = (at(run, "2026-10-25", "01:30", "--fold", one) for one in ("first", "second"))
    assert first.json()["utc"] == "2026-10-25T00:30:00Z"
    assert second.json()["utc"] == "2026-10-25T01:30:00Z"


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("--from 2026-02-30 --days 1", "--from: '2026-02-30' is no such day"),
        ("--from 30.02.2026 --days 1", "--from: '30.02.2026' is not a day"),
        ("--from 2026-W05 --days 1", "is not a day"),
        ("--from ٢٠٢٦-01-01 --days 1", "is not a day"),
        ("--from 2026-01-01", "nothing to count"),
        ("--from 2026-01-01 --days 1 --weeks 1", "2 things to count"),
        ("--from 2026-01-01 --days 99999999999999", "--days: beyond the ends"),
        ("--from 2026-01-01 --months -99999", "--months: beyond the ends"),
        ("--from 9999-12-30 --working-days 5", "--working-days: beyond the ends"),
        ("--from 9999-12-30 --days 1 --roll next --region IE", "known for 9999"),
        ("--from 2026-01-01 --months 1.5", "--months"),
        ("--from 2026-01-01 --days 1 --region GB", "write GB-ENG"),
        ("--from 2026-01-01 --days 1 --region XX-1", "no bank holidays are known"),
        ("--from 2126-01-01 --days 1 --region GB-ENG", "known for 2126"),
        ("--from 2026-01-01 --days 1 --at 09:30", "add --zone"),
        ("--from 2026-01-01 --days 1 --zone UTC", "add --at"),
        ("--from 2026-01-01 --days 1 --fold first", "add --at"),
        ("--from 2026-01-01 --days 1 --at 24:00 --zone UTC", "'24:00' is not a time"),
        ("--from 2026-01-01 --days 1 --at 9:30 --zone UTC", "'9:30' is not a time"),
        ("--from 2026-01-01 --days 1 --at 09:30 --zone Nowhere", "--zone: 'Nowhere' is no time"),
        ("--from 9999-12-31 --days 0 --at 23:59 --zone America/New_York", "ends of the calendar"),
        ("--from 2026-01-01 --days 1 --roll sideways", "--roll"),
    ],
)
def test_bad_input_is_refused_and_answers_nothing(words: str, told: str, run: Run) -> None:
    answer = run("recall", "date", *words.split(), "--json")

    assert (answer.code, answer.out) == (2, "")
    assert told in answer.err
    assert "Traceback" not in answer.err


def test_no_clinic_is_read(tmp_path: Path, environment: dict[str, str]) -> None:
    """From an empty folder with a home that does not exist: the arithmetic needs neither."""
    done = subprocess.run(
        [sys.executable, "-m", "aftercare", "recall", "date", "--from", "2026-01-31",
         "--months", "1"],
        cwd=tmp_path, env={**environment, "AFTERCARE_HOME": "/nowhere"},
        capture_output=True, text=True, check=True,
    )  # fmt: skip

    assert done.stdout == "2026-02-28 Saturday\n"
    assert list(tmp_path.iterdir()) == []

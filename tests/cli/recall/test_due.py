"""``aftercare recall due``: who stands where, and why."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from made_up_register import file_place, row, take_in

from aftercare.edges.register.register import make_register

Run = Callable[..., Any]


def refs(answer: Any) -> list[str]:
    return [one["ref"] for one in answer.json()["people"]]


def test_the_day_is_listed_by_risk_and_waiting_ones_are_on_it(clinic: Path, run: Run) -> None:
    answer = run("recall", "due", "--on", "2026-11-30", "--json", "--home", clinic)

    assert (answer.code, answer.err) == (0, "")
    assert refs(answer) == ["P0000001", "P0000006", "P0000002", "P0000005"]
    assert answer.json()["due_before"] == 1
    first, silent, wax, waits = answer.json()["people"]
    assert (first["weight"], first["overdue_days"], first["limit"]) == (8, 0, "2027-05-31")
    assert first["why"] == (
        "open-cavity: an overdue day counts 8; due today; 182 days to its limit, 2027-05-31"
    )
    assert (first["how"], first["mobile"]) == (["phone", "text"], "+447700900001")
    assert (silent["how"], silent["mobile"]) == ([], None)
    # Its recall waits on whoever took the list in, because nobody may write to the patient.
    assert silent["now"] == "waits on Ann Admin: may not be contacted"
    # 28 days on is the bank holiday that stands for Boxing Day, and the clinic closes that week.
    assert wax["now"] == "reminders go out by themselves; the recall desk from 2027-01-04"
    assert waits["now"] == "waits on Sam Field: asked for a call in the evening"


def test_without_a_day_it_is_today_s(clinic: Path, run: Run) -> None:
    assert run("recall", "due", "--json", "--home", clinic).json()["on"] == "2026-11-24"


def test_within_adds_the_days_after_and_overdue_those_before(clinic: Path, run: Run) -> None:
    day = ("recall", "due", "--on", "2026-11-30", "--json", "--home", clinic)

    assert refs(run(*day, "--within", 6)) == refs(run(*day))
    assert refs(run(*day, "--within", 7)) == [
        "P0000001", "P0000006", "P0000003", "P0000002", "P0000005",
    ]  # fmt: skip
    everybody = run(*day, "--overdue")
    # Past the hard limit comes before any weight.
    assert refs(everybody) == ["P0000004", "P0000001", "P0000006", "P0000002", "P0000005"]
    late = everybody.json()["people"][0]
    assert late["past_limit"] is True
    assert late["why"].endswith("273 days overdue; 91 days past its limit, 2026-08-31")
    assert late["now"] == "the turn of the recall desk"


def test_past_the_hard_limit_comes_before_any_weight(clinic: Path, run: Run) -> None:
    # Wax may wait 52 weeks: it is past them, and the cavity due that day is not.
    wax = {"condition": "condition:wax", "conditions": "condition:wax"}
    register = make_register(file_place(clinic / "out"))
    take_in(register, row(8, seen="2025-04-01", anchor="2025-04-01", due="2025-10-01", **wax))
    register.close()

    listed = run("recall", "due", "--on", "2026-11-30", "--overdue", "--json", "--home", clinic)

    assert refs(listed)[:3] == ["P0000004", "P0000008", "P0000001"]


def test_the_screen_fits_80_columns_and_tells_who_was_due_before(clinic: Path, run: Run) -> None:
    answer = run("recall", "due", "--on", "2026-11-30", "--home", clinic)

    lines = answer.out.splitlines()
    assert lines[0] == "Due on 2026-11-30: 4 patients"
    assert lines[1] == "1. P0000001 Nell Invented1"
    assert lines[-1] == "Open and due before: 1; '--overdue' lists them too"
    assert max(map(len, lines)) <= 80


def test_several_recalls_of_one_patient_are_one_line(clinic: Path, run: Run) -> None:
    again = row(1, condition="condition:wax", anchor="2026-06-02", seen=None, due="2026-11-30")
    register = make_register(file_place(clinic / "out"))
    take_in(register, again)
    register.close()

    answer = run("recall", "due", "--on", "2026-11-30", "--json", "--home", clinic).json()

    first = answer["people"][0]
    assert [one["condition"] for one in first["recalls"]] == [
        "condition:open-cavity", "condition:wax",
    ]  # fmt: skip
    assert (len(answer["people"]), first["weight"]) == (4, 8)


def test_a_name_cannot_steer_the_terminal(clinic: Path, run: Run) -> None:
    register = make_register(file_place(clinic / "out"))
    take_in(register, row(8, first_name="\x1b[2J\u202eNell", due="2027-01-04"))
    register.close()

    answer = run("recall", "due", "--on", "2027-01-04", "--home", clinic)

    assert "\\u001b[2J\\u202eNell" in answer.out
    assert "\x1b" not in answer.out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--on", "2026-02-30"), "--on: there is no day 2026-02-30"),
        (("--on", "30/11/2026"), "--on: '30/11/2026' is not a day like 2026-12-03"),
        (("--on", "9999-12-31", "--within", 1), "--within: beyond the last year"),
        # A Friday, closed, and no day comes after it.
        (("--on", "9999-12-31", "--overdue"), "the end of the calendar"),
    ],
)
def test_a_day_there_is_none_of_is_refused(
    clinic: Path, run: Run, words: tuple[object, ...], said: str
) -> None:
    answer = run("recall", "due", *words, "--home", clinic)

    assert (answer.code, answer.out) == (2, "")
    assert said in answer.err


def test_without_a_register_it_says_what_makes_one(clinic: Path, run: Run) -> None:
    (clinic / "out" / "register.sqlite").unlink()

    answer = run("recall", "due", "--home", clinic)

    assert answer.code == 2
    assert "there is no register; 'aftercare recall import' makes one" in answer.err

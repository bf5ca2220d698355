"""``aftercare recall audit``: it finds whoever is dropped, each kind once, and nobody else."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from made_up_register import CAVITY, deed, opened, row, take_in

from aftercare.recall.people import Standing, What

Run = Callable[..., Any]
SEEN = {"seen": "2026-05-30", "anchor": None, "months": None, "due": None, "state": None}


def audit(home: Path, run: Run) -> Any:
    return run("recall", "audit", "--json", "--home", home)


def dropped(home: Path, run: Run) -> list[tuple[str, str]]:
    answer = audit(home, run)
    assert answer.code == 1
    assert answer.json()["sound"] is False
    return [(one["ref"], one["because"]) for one in answer.json()["dropped"]]


def harm(home: Path, sql: str) -> None:
    connection = sqlite3.connect(home / "out" / "register.sqlite")
    connection.execute("PRAGMA ignore_check_constraints = ON")
    connection.execute(sql)
    connection.commit()
    connection.close()


def test_a_list_that_loses_nobody_is_proved_with_its_counts(clinic: Path, run: Run) -> None:
    answer = audit(clinic, run)

    assert (answer.code, answer.err) == (0, "")
    found = answer.json()
    assert found["recalls"] == {"scheduled": 4, "waiting": 2, "closed": 1}
    assert (found["dropped"], found["broken"], found["damage"]) == ([], [], [])
    assert run("recall", "audit", "--home", clinic).out.endswith(
        "Nobody is dropped, and what happened is whole.\n"
    )


def test_scheduled_for_somebody_who_may_not_be_contacted(clinic: Path, run: Run) -> None:
    with opened(clinic) as register:
        person = register.person("P0000001")
        assert person is not None
        silent = replace(person, standing=Standing.SILENT, reasons=("no consent",))
        register.change(deed(What.CORRECTED), (person, silent))

    assert dropped(clinic, run) == [
        ("P0000001", "scheduled, but the person may not be contacted: put it on somebody")
    ]


@pytest.mark.parametrize(
    ("harmed", "because"),
    [
        ("state = 'waiting', waiting_on = ' ', because = 'x'", "waits, but on nobody"),
        ("state = 'closed', closed = '2026-11-01', because = ''", "closed without a reason"),
        ("state = 'lost'", "in no state there is"),
    ],
)
def test_what_the_tables_refuse_is_found_if_somebody_forced_it_in(
    clinic: Path, run: Run, harmed: str, because: str
) -> None:
    harm(clinic, f"UPDATE recalls SET {harmed} WHERE rid = 2")  # noqa: S608 - the harms above

    assert ("P0000002", because) in dropped(clinic, run)


def test_a_cavity_without_any_recall_is_found(clinic: Path, run: Run) -> None:
    with opened(clinic) as register:
        take_in(
            register,
            row(11, **SEEN),
            row(12, **SEEN, standing="silent", reasons="moved away"),
            row(13, **{**SEEN, "conditions": "condition:wax"}),
            row(14, **{**SEEN, "conditions": f"condition:grommet {CAVITY}"}),
        )

    # Who may not be contacted, and who had wax alone, need none.
    assert dropped(clinic, run) == [
        ("P0000011", "open-cavity, and no recall for it is open"),
        ("P0000014", "open-cavity, and no recall for it is open"),
    ]


@pytest.mark.parametrize(
    ("because", "closed", "lost"),
    [
        ("came", "2026-11-01", True),  # and nothing was opened for the next time
        ("came: with her son", "2026-11-01", True),
        ("declined", "2026-11-01", False),
        ("declined", "2026-05-01", True),  # and has been seen with it since
    ],
)
def test_a_cavity_whose_last_recall_was_closed(
    clinic: Path, run: Run, because: str, closed: str, lost: bool
) -> None:
    with opened(clinic) as register:
        closed_one = row(
            11, seen="2026-05-30", anchor="2025-11-01", due="2026-05-01", state="closed",
            because=because, closed=closed,
        )  # fmt: skip
        take_in(register, closed_one)

    assert audit(clinic, run).code == int(lost)
    if lost:
        assert dropped(clinic, run) == [("P0000011", "open-cavity, and no recall for it is open")]


def test_a_visit_told_by_its_recall_alone_is_enough(clinic: Path, run: Run) -> None:
    over = {"state": "closed", "closed": "2026-11-01", "seen": None}
    with opened(clinic) as register:
        take_in(
            register,
            row(11, **over, because="came"),
            row(12, **over, because="came: with her son"),
            row(13, **over, because="declined"),
        )

    assert [ref for ref, _ in dropped(clinic, run)] == ["P0000011", "P0000012"]


def test_whoever_altered_what_happened_is_found(clinic: Path, run: Run) -> None:
    harm(clinic, "UPDATE happened SET by = 'Eve'")

    answer = audit(clinic, run)

    assert (answer.code, answer.json()["sound"]) == (1, False)
    assert answer.json()["broken"][0] == {"row": 1, "because": "altered since it was written"}


def test_what_nothing_moves_on_is_told_and_handing_it_over_ends_that(
    clinic: Path, run: Run
) -> None:
    def late() -> list[str]:
        answer = audit(clinic, run)
        assert answer.code == 0
        return [one["ref"] for one in answer.json()["late"]]

    # Due on 2026-03-02: a person's turn was two weeks later.
    assert late() == ["P0000004"]
    words = ("--to", "Sam Field", "--because", "ring in the evening", "--by", "Ann Admin")
    assert run("recall", "hand-over", "P0000004", *words, "--home", clinic).code == 0
    assert late() == []
    with opened(clinic) as register:
        (recall,) = register.recalls("P0000004")
        assert (recall.waiting_on, recall.because) == ("Sam Field", "ring in the evening")
        assert register.history("P0000004")[-1].deed.what is What.HANDED_OVER


def test_a_visit_that_is_over_and_a_reminder_that_is_coming(clinic: Path, run: Run) -> None:
    from made_up_register import reminder

    with opened(clinic) as register:
        (first,) = register.recalls("P0000001")
        booked = replace(first, booked=datetime(2026, 11, 2, 9, tzinfo=UTC))
        register.change(deed(What.BOOKED), (first, booked))
        (fourth,) = register.recalls("P0000004")
        register.plan([reminder(fourth.id, day=date(2026, 11, 26))], deed(What.PLANNED))

    assert [(one["ref"], one["because"]) for one in audit(clinic, run).json()["late"]] == [
        ("P0000001", "booked for 2026-11-02, and nobody has said whether the patient came")
    ]

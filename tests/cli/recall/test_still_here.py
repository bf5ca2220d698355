"""``aftercare recall still-here``: a death said of the wrong person drops nobody."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from made_up_register import deed, opened, row, take_in

from aftercare.edges.register.copies import verify
from aftercare.recall.people import Person, Recall, RecallState, Standing, What

Run = Callable[..., Any]
ANN = ("--by", "Ann Admin")
HERE = ("--because", "rang today", *ANN)


def known(home: Path, ref: str) -> tuple[Person, tuple[Recall, ...]]:
    with opened(home) as register:
        person = register.person(ref)
        assert person is not None
        return person, register.recalls(ref)


@pytest.mark.parametrize("command", ["deceased", "moved"])
def test_who_is_here_after_all_waits_on_who_says_so_and_goes_on_from_there(
    clinic: Path, run: Run, command: str
) -> None:
    before, (was,) = known(clinic, "P0000001")
    assert run("recall", command, "P0000001", *ANN, "--home", clinic).code == 0

    answer = run("recall", "still-here", "P0000001", *HERE, "--home", clinic)

    assert "open-cavity: open again, was due 2026-11-30; waits on Ann Admin" in " ".join(
        answer.out.split()
    )
    after, (recall,) = known(clinic, "P0000001")
    assert after == before
    assert (recall.state, recall.waiting_on) == (RecallState.WAITING, "Ann Admin")
    assert (recall.because, recall.closed) == ("here after all: rang today", None)
    assert (recall.id, recall.due, recall.interval) == (was.id, was.due, was.interval)
    words = ("--until", "2026-12-07", *ANN, "--home", clinic)
    assert run("recall", "snooze", "P0000001", *words).code == 0
    with opened(clinic) as register:
        assert register.history("P0000001")[-2].deed.what is What.CORRECTED
        assert list(register.audit()) == []
        assert verify(register).sound


def test_a_visit_that_was_booked_is_told_of_and_is_not_booked_any_more(
    clinic: Path, run: Run
) -> None:
    with opened(clinic) as register:
        (was,) = register.recalls("P0000003")
        booked = replace(was, booked=datetime(2026, 12, 3, 9, tzinfo=UTC), told=True)
        register.change(deed(What.BOOKED), (was, booked))
    run("recall", "deceased", "P0000003", *ANN, "--home", clinic)

    answer = run("recall", "still-here", "P0000003", *HERE, "--home", clinic)

    assert "the visit on 2026-12-03 09:00 was given up" in " ".join(answer.out.split())
    _, (recall,) = known(clinic, "P0000003")
    assert (recall.booked, recall.told) == (None, False)
    assert recall.news is not None
    assert (recall.news.former, recall.news.changes) == (booked.booked, 1)


def test_only_the_last_of_each_condition_and_only_what_was_closed_by_it_is_opened(
    clinic: Path, run: Run
) -> None:
    gone = {"state": "closed", "because": "moved away", "closed": "2026-10-01"}
    silent = {"standing": "silent", "reasons": "moved away"}
    with opened(clinic) as register:
        take_in(
            register,
            row(11, **silent, **gone),
            row(11, first_name=None, seen=None, anchor="2025-01-31", due="2025-07-31", **gone),
            row(12, **silent, **{**gone, "because": "declined"}),
            row(13, **silent, **gone),
            row(13, first_name=None, seen=None, anchor="2026-06-30", due="2026-12-31",
                state="waiting", waiting_on="Sam Field", because="may not be contacted"),
            row(14, **silent, **gone),
            row(14, first_name=None, seen=None, anchor="2025-01-31", due="2025-07-31",
                state="waiting", waiting_on="Sam Field", because="may not be contacted"),
        )  # fmt: skip

    for ref in ("P0000011", "P0000012", "P0000013", "P0000014"):
        assert run("recall", "still-here", ref, *HERE, "--home", clinic).code == 0

    states = {ref: [(one.anchor, one.state) for one in known(clinic, f"P00000{ref}")[1]]
              for ref in (11, 12, 13, 14)}  # fmt: skip
    closed, waits = RecallState.CLOSED, RecallState.WAITING
    assert states == {
        11: [(date(2025, 1, 31), closed), (date(2026, 1, 31), waits)],
        12: [(date(2026, 1, 31), closed)],
        13: [(date(2026, 1, 31), closed), (date(2026, 6, 30), waits)],
        14: [(date(2025, 1, 31), waits), (date(2026, 1, 31), closed)],
    }


@pytest.mark.parametrize(
    ("reasons", "standing", "left"),
    [
        ("died", Standing.READY, ()),
        ("deceased: 'rip' in the list", Standing.READY, ()),
        ("moved away\nno consent", Standing.SILENT, ("no consent",)),
        ("moved away\nmobile: two numbers in it", Standing.HOLD, ("mobile: two numbers in it",)),
    ],
)
def test_what_else_keeps_them_from_being_written_to_stays(
    clinic: Path, run: Run, reasons: str, standing: Standing, left: tuple[str, ...]
) -> None:
    with opened(clinic) as register:
        take_in(register, row(11, standing="silent", reasons=reasons))

    assert run("recall", "still-here", "P0000011", *HERE, "--home", clinic).code == 0

    person, _ = known(clinic, "P0000011")
    assert (person.standing, person.reasons) == (standing, left)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("P0000001", *HERE), "nobody has said that they died or moved away"),
        (("P0000006", *HERE), "nobody has said that they died or moved away"),
        (("P9999999", *HERE), "nobody has the reference"),
        (("P0000001", "--because", " ", *ANN), "--because: no reason"),
        (("P0000001", "--because", "x", "--by", ""), "--by: nobody is named"),
    ],
)
def test_it_is_refused_of_whom_nobody_said_so(
    clinic: Path, run: Run, words: tuple[str, ...], said: str
) -> None:
    answer = run("recall", "still-here", *words, "--home", clinic)

    assert (answer.code, answer.out) == (2, "")
    assert said in answer.err

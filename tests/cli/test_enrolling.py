"""``aftercare discharge`` and the recall register: the recall that was agreed is there, once."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from made_up import HOME
from made_up_register import contents, opened, row, take_in

from aftercare.edges.clock import SystemClock
from aftercare.edges.register import find_place
from aftercare.edges.register.register import make_register
from aftercare.model import Interval
from aftercare.recall.people import RecallState, Standing, What

Run = Callable[..., Any]
SMS = ("--channel", "sms")


@pytest.fixture
def home(approved_home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An approved clinic with an empty register."""
    for name in ("AFTERCARE_DATABASE", "AFTERCARE_REGISTER_KEY", "AFTERCARE_REGISTER_KEY_FILE"):
        monkeypatch.delenv(name, raising=False)
    noon = datetime(2026, 11, 24, 12, tzinfo=UTC).isoformat()
    monkeypatch.setattr(SystemClock, "now", lambda clock: noon)
    copy = tmp_path / "clinic"
    shutil.copytree(approved_home, copy)
    shutil.copy(HOME / "shared" / "recall.toml", copy / "shared")
    make_register(find_place(copy, {})).close()
    return copy


def test_a_released_visit_is_in_the_register_with_its_recall(
    home: Path, run: Run, visit: Run
) -> None:
    answer = run("discharge", visit(patient__ref="P-17"), *SMS, "--home", home)

    assert answer.err == ""
    with opened(home) as register:
        person = register.person("P-17")
        assert person is not None
        assert (person.first_name, person.last_name, person.mobile, person.standing) == (
            "Wilhelmina Featherby", "", "+447700900777", Standing.READY,
        )  # fmt: skip
        (recall,) = register.recalls("P-17")
        # Nine months from 2026-11-18 is Wednesday 2027-08-18.
        assert (recall.anchor, recall.interval, recall.due, recall.condition) == (
            date(2026, 11, 18), Interval(months=9), date(2027, 8, 18), "condition:wax",
        )  # fmt: skip
        assert recall.state is RecallState.SCHEDULED
        assert [one.case for one in register.visits("P-17")] == ["v-1"]


def test_the_same_visit_twice_changes_nothing(home: Path, run: Run, visit: Run) -> None:
    words = ("discharge", visit(patient__ref="P-17"), *SMS, "--home", home)
    run(*words)
    with opened(home) as register:
        before = contents(register)
    run(*words)
    with opened(home) as register:
        assert contents(register) == before


def test_a_visit_ends_what_was_open_before_it(home: Path, run: Run, visit: Run) -> None:
    with opened(home) as register:
        take_in(register, row(1, last_name="Featherby"))
    run("discharge", visit(patient__ref="P0000001"), *SMS, "--home", home)

    with opened(home) as register:
        was, new = register.recalls("P0000001")
        assert (was.because, was.closed) == ("came", date(2026, 11, 18))
        assert new.due == date(2027, 8, 18)
        person = register.person("P0000001")
        # The clinic's list says who somebody is; a visit does not rename them.
        assert person is not None
        assert person.first_name == "Nell"
        assert What.DONE in [one.deed.what for one in register.history("P0000001")]


def test_what_was_declined_is_kept_closed_with_its_reason(home: Path, run: Run, visit: Run) -> None:
    file = visit(patient__ref="P-17", recall={"declined": "goes elsewhere"})
    run("discharge", file, *SMS, "--home", home)

    with opened(home) as register:
        (recall,) = register.recalls("P-17")
    assert (recall.state, recall.because, recall.closed) == (
        RecallState.CLOSED, "declined: goes elsewhere", date(2026, 11, 18),
    )  # fmt: skip


def test_who_may_not_be_contacted_is_not_scheduled(home: Path, run: Run, visit: Run) -> None:
    with opened(home) as register:
        silent = {"standing": "silent", "reasons": "no consent", "anchor": None, "seen": None}
        take_in(register, row(1, last_name="Featherby", **silent))
    run("discharge", visit(patient__ref="P0000001"), *SMS, "--home", home)

    with opened(home) as register:
        (recall,) = register.recalls("P0000001")
    assert recall.state is RecallState.WAITING
    assert recall.waiting_on == "Idris Penhale, nurse"


def test_what_is_in_the_way_is_told_and_the_messages_stand(
    home: Path, run: Run, visit: Run
) -> None:
    with opened(home) as register:
        take_in(register, row(1))
        before = contents(register)

    nobody = run("discharge", visit(), *SMS, "--home", home)
    another = run("discharge", visit(patient__ref="P0000001"), *SMS, "--home", home)

    assert (nobody.code, another.code) == (1, 1)
    assert "the visit does not say whose it is; add 'ref' to [patient]" in nobody.err
    assert "its reference is somebody else's" in another.err
    assert "Featherby" not in nobody.err + another.err
    assert Path("out/v-1/sms.txt").exists()
    with opened(home) as register:
        assert contents(register) == before


def test_what_is_withheld_schedules_nothing(home: Path, run: Run, visit: Run) -> None:
    shutil.rmtree(home / "content")
    shutil.copytree(HOME / "content", home / "content")

    answer = run("discharge", visit(patient__ref="P-17"), *SMS, "--home", home)

    assert "the recall is not in the register: nothing was released" in answer.err
    with opened(home) as register:
        assert register.person("P-17") is None


def test_another_figure_for_the_same_visit_is_told_and_not_overwritten(
    home: Path, run: Run, visit: Run
) -> None:
    run("discharge", visit(patient__ref="P-17"), *SMS, "--home", home)
    changed = visit(patient__ref="P-17", recall={"months": 6})
    answer = run("discharge", changed, *SMS, "--home", home)

    assert answer.code == 1
    assert "it has another day for this visit, 2027-08-18, and keeps it" in answer.err
    with opened(home) as register:
        (recall,) = register.recalls("P-17")
    assert recall.interval == Interval(months=9)


def test_without_a_register_nothing_is_said_of_one(
    approved_home: Path, run: Run, visit: Run
) -> None:
    answer = run("discharge", visit(), *SMS, "--home", approved_home)

    assert answer.err == ""
    assert not (approved_home / "out" / "register.sqlite").exists()


def test_a_register_that_cannot_be_opened_keeps_nobody_from_their_message(
    home: Path, run: Run, visit: Run
) -> None:
    (home / "out" / "register.sqlite").write_bytes(b"no register at all, " * 100)

    answer = run("discharge", visit(patient__ref="P-17"), *SMS, "--home", home)

    assert answer.code == 1
    assert "no recall is put in the register:" in answer.err
    assert Path("out/v-1/sms.txt").exists()

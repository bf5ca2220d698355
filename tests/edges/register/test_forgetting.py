"""Forgetting: nothing of a person stays in the files, and what happened still verifies."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_up_register import contents, deed, file_place, reminder, row, take_in
from sqlalchemy import text

from aftercare.edges.register.copies import backup, restore, verify
from aftercare.edges.register.forgetting import count_ended, forget, forget_ended
from aftercare.edges.register.register import SqlRegister, make_register
from aftercare.errors import BadContent, BadInput
from aftercare.library.retention import kept_from, parse_retention
from aftercare.recall.people import RecallState, What
from aftercare.recall.port import OptOutRow

FORGOTTEN, RESTORED = deed(What.FORGOTTEN), deed(What.RESTORED)
MARK = "Zzyzxvale"  # a name that nothing else in a database could contain


def with_marked(register: SqlRegister) -> SqlRegister:
    """Three people; the second is marked wherever a person can be, and was changed many times."""
    marked = row(
        2,
        ref=f"ref-{MARK}",
        first_name=MARK,
        last_name=MARK,
        email=f"{MARK}@example.org",
        address=f"{MARK} Lane",
        household=f"h-{MARK}",
        case=f"v-{MARK}",
        reasons=f"{MARK} moved",
        facts=f"needs:{MARK}",
        clinician=MARK,
    )
    with register.intake(deed()) as intake:
        intake.rows([row(1), marked, row(3)])
        intake.opt_outs([OptOutRow(f"ref-{MARK}", "recall", "sms")])
    for version in range(5):
        take_in(register, marked._replace(address=f"{MARK} Lane {version}" * 20))
    (recall,) = register.recalls(f"ref-{MARK}")
    waiting = replace(recall, state=RecallState.WAITING, waiting_on=MARK, because=f"{MARK} rang")
    register.change(deed(What.HANDED_OVER), (recall, waiting))
    register.plan([reminder(recall.id)], deed(What.PLANNED))
    return register


def test_nothing_of_the_person_is_left_in_any_table(register: SqlRegister) -> None:
    forget(with_marked(register), f"ref-{MARK}", FORGOTTEN)

    assert MARK not in str(contents(register))
    assert register.person(f"ref-{MARK}") is None
    assert [len(rows) for rows in contents(register).values()][:3] == [3, 3, 3]
    assert list(register.audit()) == []


@pytest.mark.parametrize("passphrase", [None, "a made passphrase of some length"])
def test_nothing_of_the_person_is_left_in_the_files(tmp_path: Path, passphrase: str | None) -> None:
    """SQLite leaves deleted bytes in free space unless told (sqlite.org, secure_delete)."""
    register = with_marked(make_register(file_place(tmp_path, passphrase)))
    held = b"".join(file.read_bytes() for file in tmp_path.iterdir())
    assert (MARK.encode() in held) is (passphrase is None)

    forget(register, f"ref-{MARK}", FORGOTTEN)

    for file in tmp_path.iterdir():
        assert MARK.encode() not in file.read_bytes(), file.name
    register.close()


def test_the_chain_still_verifies_and_says_that_somebody_was_forgotten(
    register: SqlRegister,
) -> None:
    forget(with_marked(register), f"ref-{MARK}", FORGOTTEN)

    assert verify(register).sound
    with register.engine.connect() as connection:
        last = connection.execute(text("SELECT what FROM happened ORDER BY seq DESC")).scalar()
    assert last == "forgotten"


def test_what_is_open_or_planned_for_the_person_is_over(register: SqlRegister) -> None:
    forget(with_marked(register), f"ref-{MARK}", FORGOTTEN)

    assert [person.ref for _, person in register.open_recalls()] == ["P0000001", "P0000003"]
    (planned,) = register.all_reminders()
    assert (planned.state, planned.because) == ("skipped", "forgotten")


def test_an_older_copy_does_not_bring_them_back(register: SqlRegister, tmp_path: Path) -> None:
    with_marked(register)
    backup(register, tmp_path / "copy")
    forget(register, f"ref-{MARK}", FORGOTTEN)
    take_in(register, row(9))  # somebody new goes with what is given up

    restored = restore(register.place, tmp_path / "copy", tmp_path / "kept", RESTORED)

    assert (restored.again, restored.unsure) == (1, 0)
    assert MARK not in str(contents(register))
    assert [one.ref for one in register.people()][:2] == ["P0000001", "P0000003"]
    found = verify(register)
    assert (found.broken, found.damage) == ((), ())
    with register.engine.connect() as connection:
        said = list(connection.execute(text("SELECT what FROM happened ORDER BY seq")).scalars())
    assert said[-2:] == ["restored", "forgotten"]
    # Again from the same copy: its end is in this chain too.
    again = restore(register.place, tmp_path / "copy", tmp_path / "kept2", RESTORED)
    assert (again.again, MARK in str(contents(register))) == (1, False)


def test_nothing_of_them_comes_back_into_the_files(tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    register = with_marked(make_register(file_place(tmp_path / "out")))
    backup(register, tmp_path / "copy")
    forget(register, f"ref-{MARK}", FORGOTTEN)

    restore(register.place, tmp_path / "copy", tmp_path / "out" / "kept", RESTORED)

    for file in (tmp_path / "out").iterdir():
        assert MARK.encode() not in file.read_bytes(), file.name
    register.close()


def test_where_a_copy_is_of_another_course_nobody_is_taken_for_another(
    register: SqlRegister, tmp_path: Path
) -> None:
    take_in(register, row(1))
    backup(register, tmp_path / "first")
    take_in(register, row(2, ref="kept-here"))
    backup(register, tmp_path / "second")
    restore(register.place, tmp_path / "first", tmp_path / "kept", RESTORED)
    # On a file the number of who was given up is given again, to somebody else.
    take_in(register, row(3, ref="gone"))
    forget(register, "gone", FORGOTTEN)

    restored = restore(register.place, tmp_path / "second", tmp_path / "kept2", RESTORED)

    assert (restored.again, restored.unsure) == (0, 1)
    assert register.person("kept-here") is not None


def test_forgetting_nobody_is_refused(register: SqlRegister) -> None:
    take_in(register, row(1))
    before = contents(register)

    with pytest.raises(BadInput, match="nobody has this reference"):
        forget(register, "P0000009", FORGOTTEN)

    assert contents(register) == before


def test_only_those_whose_time_is_over_are_forgotten(register: SqlRegister) -> None:
    over = {"state": "closed", "because": "came", "seen": "2017-06-01", "closed": "2018-01-31"}
    take_in(
        register,
        row(1, **over),
        row(2, **over | {"closed": "2018-11-30"}),
        row(3, **over | {"seen": "2018-12-01"}),
        row(4, seen="2017-06-01", state="waiting", waiting_on="Ann", because="rang"),
        row(5, seen="2017-06-01"),
        row(6, seen=None, anchor=None),
        row(7, seen="2017-06-01", anchor=None),
    )
    before = date(2018, 11, 30)

    assert count_ended(register, before) == 2
    assert forget_ended(register, before, FORGOTTEN) == 2

    left = [person.ref[-1] for person in register.people() if person.ref.startswith("P")]
    assert left == ["2", "3", "4", "5", "6"]
    assert forget_ended(register, before, FORGOTTEN) == 0
    assert verify(register).sound


def test_the_years_are_the_clinic_s_own() -> None:
    assert parse_retention(b"[retention]\nyears_after_closing = 8\n[other]\nx = 1") == 8


@pytest.mark.parametrize(
    "raw",
    [
        b"",
        b"[retention]",
        b"[retention]\nyears_after_closing = 0",
        b"[retention]\nyears_after_closing = '8'",
        b"[retention]\nyears_after_closing = 8\nmonths = 2",
    ],
)
def test_years_that_are_none_are_refused(raw: bytes) -> None:
    with pytest.raises(BadContent, match=r"shared/recall.toml"):
        parse_retention(raw)


@given(st.dates(date(2001, 1, 1)), st.integers(1, 100))
def test_the_first_day_kept_is_that_of_dateutil(today: date, years: int) -> None:
    from dateutil.relativedelta import relativedelta

    assert kept_from(today, years) == today - relativedelta(years=years)

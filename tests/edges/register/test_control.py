"""The control total: what is altered behind the register's back is noticed, and nothing else is."""

from __future__ import annotations

from contextlib import ExitStack
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from made_up_register import deed, file_place, row, take_in
from sqlalchemy import event, text

from aftercare.edges.register import anchor, control
from aftercare.edges.register.chain import Link
from aftercare.edges.register.control import Total, read_total
from aftercare.edges.register.copies import backup, restore, verify
from aftercare.edges.register.forgetting import forget
from aftercare.edges.register.place import Place
from aftercare.edges.register.register import SqlRegister, make_register, open_register
from aftercare.model import Channel
from aftercare.recall.people import Recall, RecallState, What
from aftercare.recall.port import OptOutRow

ALTERED = "recalls are not as the chain tells: a day, a figure or whose it is was altered"
PRIME = 2**31 - 1
# J2000.0, noon of 1 January 2000, is JD 2451545 (IAU 1994 resolution C7); midnight is in 2451544.
J2000 = date(2000, 1, 1), 2451544


def filled(register: SqlRegister) -> SqlRegister:
    """A dozen people, and one of everything that moves the total."""
    with register.intake(deed()) as intake:
        intake.rows([row(number) for number in range(1, 13)])
        intake.opt_outs([OptOutRow("P0000003", "recall", "sms")])
    (first,) = register.recalls("P0000001")
    register.change(deed(What.SNOOZED), (first, replace(first, due=date(2026, 9, 1))))
    (second,) = register.recalls("P0000002")
    over = replace(second, state=RecallState.CLOSED, closed=date(2026, 8, 1), because="came")
    following = replace(second, id=0, anchor=date(2026, 8, 1), due=date(2027, 2, 1))
    register.change(deed(What.DONE), (second, over), (None, following))
    person = register.person("P0000004")
    assert person is not None
    quiet = replace(person, opted_out=frozenset({("recall", Channel.SMS)}))
    register.change(deed(What.OPTED_OUT), (person, quiet))
    forget(register, "P0000003", deed(What.FORGOTTEN))
    take_in(register, row(2), row(20, standing="silent", reasons="no consent"))
    return register


def harm(register: SqlRegister, *statements: str) -> None:
    with register.engine.begin() as connection:
        for one in statements:
            connection.execute(text(one))


def test_whatever_the_register_itself_does_comes_to_the_total(register: SqlRegister) -> None:
    assert verify(filled(register)).damage == ()


@pytest.mark.parametrize(
    ("sql", "noticed"),
    [
        ("DELETE FROM recalls WHERE rid = 6", "1 fewer recalls than the chain tells of"),
        ("DELETE FROM preferences", "1 fewer opt-outs than the chain tells of"),
        ("UPDATE recalls SET due = '2036-07-31' WHERE rid = 6", ALTERED),
        ("UPDATE recalls SET anchor = '2026-01-30' WHERE rid = 6", ALTERED),
        ("UPDATE recalls SET months = 60 WHERE rid = 6", ALTERED),
        ("UPDATE recalls SET weeks = 1 WHERE rid = 6", ALTERED),
        ("UPDATE recalls SET condition = 'condition:wax' WHERE rid = 6", ALTERED),
        ("UPDATE recalls SET pid = 2, months = 7, anchor = '2026-02-01' WHERE rid = 6", ALTERED),
        (
            "UPDATE recalls SET state = 'closed', closed = '2026-08-01', because = 'x' "
            "WHERE rid = 6",
            ALTERED,
        ),
        (
            # Two recalls exchange their days: what is added up of each alone would be the same.
            "UPDATE recalls SET due = CASE rid WHEN 1 THEN DATE '2026-07-31' ELSE "
            "DATE '2026-09-01' END WHERE rid IN (1, 6)",
            ALTERED,
        ),
    ],
)
def test_what_was_altered_behind_its_back_is_noticed_and_stays_so(
    postgresql: Place, tmp_path: Path, sql: str, noticed: str
) -> None:
    for place in (file_place(tmp_path), postgresql):
        register = filled(make_register(place))
        dialect = register.engine.dialect.name
        said = sql.replace("DATE '", "'") if dialect == "sqlite" else sql
        harm(register, said)
        assert verify(register).damage == (noticed,)
        # Work that goes on does not make it good.
        take_in(register, row(30))
        assert verify(register).damage == (noticed,)
        register.close()


def test_somebody_taken_out_with_all_their_rows_is_missed(file_register: SqlRegister) -> None:
    filled(file_register)

    harm(
        file_register,
        "DELETE FROM visits WHERE pid = 7",
        "DELETE FROM recalls WHERE pid = 7",
        "DELETE FROM patients WHERE pid = 7",
    )

    assert verify(file_register).damage == (
        "1 fewer people than the chain tells of", "1 fewer recalls than the chain tells of",
    )  # fmt: skip


def test_the_total_is_that_of_plain_arithmetic(register: SqlRegister) -> None:
    filled(register)
    key = anchor.read_key(register.place)
    a, b, c, d, e, f, g, h, i = (control._factor(key, number) for number in range(9))

    def day(one: date | None) -> int:
        return 0 if one is None else J2000[1] + (one - J2000[0]).days

    def product(rid: int, pid: int, recall: Recall) -> int:
        condition = recall.condition or ""
        named = len(condition) * 65536 + ord(condition[10])
        interval = recall.interval.months * 1000 + recall.interval.weeks
        agreed = day(recall.anchor) * d + day(recall.due) * e + day(recall.closed) * f
        agreed += interval * g + named * h + i
        return (rid * a + pid * b + c) % PRIME * (agreed % PRIME) % PRIME

    with register.engine.connect() as connection:
        found_pids = connection.execute(text("SELECT rid, pid FROM recalls")).all()
        found = control.whole(connection, key)

    pids = {one.rid: one.pid for one in found_pids}
    recalls = [recall for recall, _ in register.all_recalls()]
    expected = sum(product(one.id, pids[one.id], one) for one in recalls)
    assert found == Total(people=13, opt_outs=1, recalls=14, days=expected)


def test_a_recall_without_a_condition_or_figure_counts_too(register: SqlRegister) -> None:
    take_in(register, row(1, condition="", months=None, weeks=None))
    harm(register, "UPDATE recalls SET due = '2030-01-01'")

    assert verify(register).damage == (ALTERED,)


def test_an_old_register_says_the_whole_at_its_first_change(
    register: SqlRegister, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as before:
        before.setattr("aftercare.edges.register.work._say_total", lambda work, tail: None)
        filled(register)
    assert verify(register).damage == ()  # nothing is said of it yet, so nothing is claimed

    take_in(register, row(40))

    assert verify(register).damage == ()
    harm(register, "UPDATE recalls SET due = '2030-01-01' WHERE rid = 6")
    assert verify(register).damage == (ALTERED,)


def test_a_copy_that_was_altered_is_not_brought_back(register: SqlRegister, tmp_path: Path) -> None:
    filled(register)
    copy = tmp_path / "copy"
    backup(register, copy)
    restore(register.place, copy, tmp_path / "kept", deed(What.RESTORED))
    assert verify(register).damage == ()
    harm(register, "UPDATE recalls SET due = '2030-01-01' WHERE rid = 6")
    assert verify(register).damage == (ALTERED,)  # the chain that came back is held to as well


def test_two_who_write_at_once_come_to_the_total(postgresql: Place) -> None:
    one, other = make_register(postgresql), open_register(postgresql)
    take_in(one, row(1))

    with ExitStack() as theirs, one.intake(deed()) as mine:
        theirs.enter_context(other.intake(deed())).rows([row(number) for number in range(50, 60)])

        def they_commit(connection: object, cursor: object, statement: str, *_: object) -> None:
            if "INSERT INTO recalls" in statement:
                theirs.close()  # between my rows and whatever I ask of them, with lower numbers

        event.listen(one.engine, "after_cursor_execute", they_commit)
        mine.rows([row(number) for number in range(2, 9)])

    assert verify(one).rows["recalls"] == 18
    assert verify(one).damage == ()
    one.close()
    other.close()


def test_the_total_is_a_word_of_the_chain_and_says_nothing_of_anybody(
    file_register: SqlRegister,
) -> None:
    take_in(file_register, row(1), row(2))

    with file_register.engine.connect() as connection:
        (link,) = (Link(*one) for one in connection.execute(text("SELECT * FROM happened")))
        whole = control.whole(connection, anchor.read_key(file_register.place))

    assert f'"control_total": "{whole.written()}"' in link.details
    assert (read_total(link), whole[:3]) == (whole, (2, 0, 2))
    assert read_total(link._replace(details="{}")) is None

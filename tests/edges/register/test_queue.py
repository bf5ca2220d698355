"""Reminders handed out: what it costs however many are held back, and who writes where."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from typing import Any

import pytest
from made_up_register import NOON, deed, reminder, row, take_in
from sqlalchemy import event

from aftercare.edges.register.register import SqlRegister
from aftercare.recall.people import ReminderState, What
from aftercare.recall.port import Claimed, InBatch, Settled, Underway

DAY = date(2026, 7, 1)
MANY, AT_A_TIME = 600, 50


def planned(register: SqlRegister, people: int = 4, days: int = 1) -> list[int]:
    """A reminder each, the days taking turns."""
    take_in(register, *(row(number) for number in range(people)))
    ids = [recall.id for recall, _ in register.all_recalls()]
    made = [reminder(one, day=DAY - timedelta(days=one % days)) for one in ids]
    register.plan(made, deed(What.PLANNED))
    return ids


def claim(register: SqlRegister, after: Claimed | None, worker: str = "one") -> tuple[Claimed, ...]:
    until = NOON + timedelta(hours=1)
    return register.claim(DAY, worker=worker, now=NOON, until=until, limit=AT_A_TIME, after=after)


@contextmanager
def steps_of(register: SqlRegister) -> Iterator[list[int]]:
    """Counts what SQLite does, in tens of its own instructions, whatever the machine."""
    counted = [0]

    def one_more() -> None:
        counted[0] += 1

    def listen(connection: Any, *_: Any) -> None:
        connection.set_progress_handler(one_more, 10)

    event.listen(register.engine, "checkout", listen)
    yield counted
    event.remove(register.engine, "checkout", listen)


@pytest.mark.parametrize("days", [1, 7])
def test_claiming_costs_the_same_however_many_are_held_back(
    file_register: SqlRegister, days: int
) -> None:
    planned(file_register, MANY, days)
    costs, got, last = list[int](), list[str](), None
    with steps_of(file_register) as steps:
        while found := claim(file_register, last):
            last = found[-1]
            got += [one.reminder.key for one in found]
            costs.append(steps[0])
            steps[0] = 0

    assert (len(got), len(set(got)), len(costs)) == (MANY, MANY, MANY // AT_A_TIME)
    assert max(costs[1:]) < 1.2 * min(costs[1:])


def test_going_on_gives_each_once_by_day_and_what_another_holds_never(
    register: SqlRegister,
) -> None:
    planned(register, 200, days=3)
    theirs = claim(register, None, "two")

    mine, last = list[Claimed](), None
    while found := claim(register, last):
        mine += found
        last = found[-1]

    order = [(one.reminder.day, one.number) for one in mine]
    assert order == sorted(order)
    keys = {one.reminder.key for one in mine}
    assert len(keys) == len(mine) == 150
    assert not keys & {one.reminder.key for one in theirs}


# --- who writes where -------------------------------------------------------------------

RUN = Underway(
    outbox="0123456789abcdef", folder="/somewhere/o", host="night", until=NOON + timedelta(hours=2)
)


def prepared(register: SqlRegister, batch: str) -> list[str]:
    """Two reminders settled with a batch of ``RUN``, two still held."""
    ids = planned(register)
    register.set_out(RUN)
    claim(register, None, RUN.worker)
    keys = [f"{number}/invite/sms" for number in ids[:2]]
    done = [Settled(key=key, state=ReminderState.PREPARED, digest="ab") for key in keys]
    register.settle(done, deed(What.PREPARED), batch=InBatch(RUN.outbox, batch))
    return keys


def test_a_run_is_known_with_its_last_batch_until_it_has_ended(register: SqlRegister) -> None:
    keys = prepared(register, "b1")

    (found,) = register.underway()
    assert (found.folder, found.host, found.until, found.batch) == (
        RUN.folder, RUN.host, RUN.until, "b1"
    )  # fmt: skip
    assert [one.key for one, _ in register.prepared_in("b1")] == keys
    assert claim(register, None, "other") == ()
    register.arrived(found)
    assert register.underway() == ()
    assert len(claim(register, None, "other")) == 2


def test_only_the_batch_it_was_settled_with_has_a_reminder_s_digest(register: SqlRegister) -> None:
    keys = prepared(register, "b1")

    assert register.digests(keys, "b1") == dict.fromkeys(keys, "ab")
    assert register.digests(keys, "b2") == {}


def test_what_is_given_up_is_put_in_place_by_nobody(register: SqlRegister) -> None:
    keys = prepared(register, "b1")
    (found,) = register.underway()

    register.given_up(found)

    assert register.digests(keys, "b1") == {}
    assert register.underway() == ()
    states = [one.state for one in register.all_reminders()]
    assert states == [ReminderState.PREPARED] * 2 + [ReminderState.PLANNED] * 2
    assert len(claim(register, None, "other")) == 2

"""Reminders handed out: what it costs however many are held back, and who writes where."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from made_up_register import NOON, deed, reminder, row, take_in
from sqlalchemy import event

from aftercare.edges.register.register import SqlRegister
from aftercare.recall.people import ReminderState, What
from aftercare.recall.port import WHOLE, Claimed, InBatch, Part, Settled, Underway

DAY = date(2026, 7, 1)
MANY, AT_A_TIME = 600, 50


def planned(register: SqlRegister, people: int = 4, days: int = 1) -> list[int]:
    """A reminder each, the days taking turns."""
    take_in(register, *(row(number) for number in range(people)))
    ids = [recall.id for recall, _ in register.all_recalls()]
    made = [reminder(one, day=DAY - timedelta(days=one % days)) for one in ids]
    register.plan(made, deed(What.PLANNED))
    return ids


def claim(
    register: SqlRegister, after: Claimed | None, worker: str = "one", part: Part = WHOLE
) -> tuple[Claimed, ...]:
    until = NOON + timedelta(hours=1)
    return register.claim(
        DAY, worker=worker, now=NOON, until=until, limit=AT_A_TIME, after=after, part=part
    )


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


# --- in parts ---------------------------------------------------------------------------

HOUSEHOLDS = ("tel:+447700900{}", "mailto:{}@example.org", "post:{} Made-up Row", "Ünal ☎ {}", None)


def of_each_kind(register: SqlRegister, people: int) -> None:
    """Two of each household, of every kind of household there is, and some of none."""
    kinds = [HOUSEHOLDS[n // 2 % len(HOUSEHOLDS)] for n in range(people)]
    named = [None if kind is None else kind.format(n // 2) for n, kind in enumerate(kinds)]
    take_in(register, *(row(n, household=one) for n, one in enumerate(named)))
    made = [reminder(recall.id, day=DAY) for recall, _ in register.all_recalls()]
    register.plan(made, deed(What.PLANNED))


@pytest.mark.parametrize("count", [2, 3])
def test_each_is_in_one_part_with_all_of_its_household(register: SqlRegister, count: int) -> None:
    of_each_kind(register, 200)
    parts = [Part(number, count) for number in range(count)]

    seen = [list(register.all_recalls(part=one)) for one in parts]

    assert sorted(recall.id for some in seen for recall, _ in some) == [
        recall.id for recall, _ in register.all_recalls()
    ]
    homes = [{person.household or person.ref for _, person in some} for some in seen]
    assert sum(map(len, homes)) == len(set().union(*homes))
    # Households of one kind, alike but for a number, are shared out as well as any.
    for kind in ("tel:", "mailto:", "post:", "Ünal", "P0"):
        shares = [sum(home.startswith(kind) for home in some) for some in homes]
        assert min(shares) > sum(shares) / count / 4
    for (number, some), reminders in zip(
        enumerate(seen), (register.all_reminders(part=one) for one in parts), strict=True
    ):
        assert [one.recall for one in reminders] == [recall.id for recall, _ in some], number


def test_a_part_claims_its_own_alone_and_knows_its_own_households(register: SqlRegister) -> None:
    of_each_kind(register, 200)
    parts = [Part(number, 2) for number in range(2)]
    got = list[list[Claimed]]()
    for part in parts:
        got.append([])
        last = None
        while found := claim(register, last, f"w{part.number}", part):
            got[-1] += found
            last = found[-1]

    assert sum(map(len, got)) == 200
    for some, part in zip(got, parts, strict=True):
        assert [one.recall.id for one in some] == [
            recall.id for recall, _ in register.all_recalls(part=part)
        ]
    done = [
        Settled(key=one.reminder.key, state=ReminderState.PREPARED, digest="ab")
        for some in got for one in some
    ]  # fmt: skip
    register.settle(done, deed(What.PREPARED))
    hour = timedelta(hours=1)
    for some, part in zip(got, parts, strict=True):
        wrote = register.written_to(NOON - hour, NOON + hour, part=part)
        assert sorted(wrote) == sorted(one.person.household or one.person.ref for one in some)


def test_who_is_passed_over_for_another_part_is_looked_at_once(file_register: SqlRegister) -> None:
    of_each_kind(file_register, MANY)
    costs, last = list[int](), None
    with steps_of(file_register) as steps:
        while found := claim(file_register, last, part=Part(0, 2)):
            last = found[-1]
            costs.append(steps[0])
            steps[0] = 0

    assert len(costs) > 4
    assert max(costs[1:-1]) < 1.5 * min(costs[1:-1])


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


def test_each_part_of_a_run_has_its_own_last_batch_and_lets_go_of_its_own(
    register: SqlRegister,
) -> None:
    keys = [f"{number}/invite/sms" for number in planned(register)]
    parts = [replace(RUN, part=number) for number in range(2)]
    for one, key in zip(parts, keys[:2], strict=True):
        register.set_out(one)
        done = Settled(key=key, state=ReminderState.PREPARED, digest="ab")
        register.settle([done], deed(What.PREPARED), batch=InBatch(one.name, f"b{one.part}"))

    found = register.underway()
    assert [(one.outbox, one.part, one.batch) for one in found] == [
        (RUN.outbox, 0, "b0"), (RUN.outbox, 1, "b1")
    ]  # fmt: skip
    claim(register, None, found[1].worker)
    register.arrived(found[0])
    assert register.underway() == found[1:]
    assert claim(register, None, "other") == ()
    register.given_up(found[1])
    assert register.digests(keys, "b1") == {}
    assert register.digests(keys, "b0") == {keys[0]: "ab"}
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

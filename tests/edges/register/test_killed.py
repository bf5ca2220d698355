"""Killed at any point, and several at once: nothing is lost and nothing doubled.

Workers are processes of their own. Each says on a pipe what it was told was done; whatever it
said must be there, and whatever is there must have been done whole and once.
"""

from __future__ import annotations

import multiprocessing
import os
import random
import signal
import time
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date, timedelta
from multiprocessing.connection import Connection
from typing import Any

import pytest
from made_up_register import NOON, deed, reminder, row, take_in

from aftercare.edges.register.copies import verify
from aftercare.edges.register.place import Place
from aftercare.edges.register.register import SqlRegister, make_register, open_register
from aftercare.errors import BadInput
from aftercare.recall.people import ReminderState, What
from aftercare.recall.port import IntakeRow, Settled

FIRST_DUE = date(2026, 7, 31)
DAY = date(2026, 7, 1)
FORK = multiprocessing.get_context("fork")
KILLS = 12
ENOUGH = 1000
IN_A_FILE, AT_A_TIME = 1000, 200


@pytest.fixture(params=["file", "postgresql"])
def shared(request: pytest.FixtureRequest, tmp_path: Any) -> Place:
    """A register that processes share, with ten people whose recalls are due on one day."""
    from made_up_register import file_place

    place = (
        file_place(tmp_path) if request.param == "file" else request.getfixturevalue("postgresql")
    )
    assert isinstance(place, Place)
    register = make_register(place)
    take_in(register, *(row(number) for number in range(10)))
    register.close()
    return place


def start(work: Callable[[Place, Connection], None], place: Place) -> tuple[Any, Connection]:
    mine, theirs = FORK.Pipe(duplex=False)

    def run() -> None:
        work(place, theirs)
        theirs.close()
        os._exit(0)

    child = FORK.Process(target=run)
    child.start()
    theirs.close()
    return child, mine


def said_by(pipe: Connection) -> Iterator[Any]:
    while True:
        try:
            yield pipe.recv()
        except EOFError:
            return


def snooze(register: SqlRegister, ref: str) -> bool:
    """Move the person's recall on by a day; False when somebody else was first."""
    (was,) = register.recalls(ref)
    try:
        register.change(deed(What.SNOOZED), (was, replace(was, due=was.due + timedelta(days=1))))
    except BadInput:
        return False
    return True


def snoozed(register: SqlRegister, ref: str) -> tuple[int, int]:
    """By how many days a recall was moved, and how often it is said to have been."""
    (recall,) = register.recalls(ref)
    told = Counter(it.deed.what for it in register.history(ref))
    return (recall.due - FIRST_DUE).days, told[What.SNOOZED]


def claim(register: SqlRegister, worker: str, limit: int = 7) -> list[str]:
    until = NOON + timedelta(hours=1)
    found = register.claim(DAY, worker=worker, now=NOON, until=until, limit=limit)
    return [one.reminder.key for one in found]


def settle(register: SqlRegister, keys: list[str], worker: str) -> int:
    done = [Settled(key=key, state=ReminderState.PREPARED, digest=worker) for key in keys]
    return register.settle(done, deed(What.PREPARED))


def kill_after(child: Any, pipe: Connection, luck: random.Random, *, words: int) -> list[Any]:
    """Let it say so many words, then kill it within a moment; all it said.

    The words pace it, so that as much happens on a slow machine as on a quick one.
    """
    said = [pipe.recv() for _ in range(words)]
    time.sleep(luck.uniform(0, 0.02))
    os.kill(child.pid, signal.SIGKILL)
    said.extend(said_by(pipe))
    child.join()
    return said


# --- Killed -----------------------------------------------------------------------------


def rows_of(number: int) -> list[IntakeRow]:
    return [row(n, ref=f"F{number}-{n}", household=f"f{number}") for n in range(IN_A_FILE)]


def takes_a_file_in(number: int) -> Callable[[Place, Connection], None]:
    def work(place: Place, pipe: Connection) -> None:
        register = open_register(place)
        rows = rows_of(number)
        pipe.send("begun")
        with register.intake(deed()) as intake:
            for start in range(0, IN_A_FILE, AT_A_TIME):
                intake.rows(rows[start : start + AT_A_TIME])
                pipe.send("some")
        pipe.send("done")

    return work


def test_a_file_is_in_whole_or_not_at_all_and_once_in_the_end(shared: Place) -> None:
    luck = random.Random(6)  # noqa: S311
    outcomes = Counter[str]()
    for number in range(KILLS):
        child, pipe = start(takes_a_file_in(number), shared)
        said = kill_after(child, pipe, luck, words=luck.randint(1, 2 + IN_A_FILE // AT_A_TIME))

        register = open_register(shared)
        there = len(list(register.people(one.ref for one in rows_of(number))))
        assert there in (0, IN_A_FILE)
        assert there == IN_A_FILE or "done" not in said
        assert verify(register).sound
        taken = take_in(register, *rows_of(number))
        assert (taken.new, taken.same) == (IN_A_FILE - there, there)
        assert verify(register).sound
        register.close()
        outcomes["done" if there else "nothing"] += 1
    print(f"killed during {KILLS} files: {dict(outcomes)}")


def works_on(place: Place, pipe: Connection) -> None:
    """Snooze, plan, claim and settle until killed."""
    register = open_register(place)
    ids = {recall.person: recall.id for recall, _ in register.all_recalls()}
    pipe.send(("begun", "", 0))
    for turn in range(ENOUGH):
        ref = f"P000000{turn % 10}"
        if snooze(register, ref):
            pipe.send(("snoozed", ref, 1))
        key = f"{os.getpid()}/{turn}"
        planned = register.plan([reminder(ids[ref], key=key)], deed(What.PLANNED))
        pipe.send(("planned", key, planned))
        keys = claim(register, str(os.getpid()), limit=1)
        if settle(register, keys, "x"):
            pipe.send(("prepared", keys[0], 1))


def test_what_was_said_to_be_done_is_done_once_however_often_it_is_killed(shared: Place) -> None:
    luck = random.Random(7)  # noqa: S311
    said = Counter[tuple[str, str]]()
    for _ in range(KILLS):
        child, pipe = start(works_on, shared)
        words = kill_after(child, pipe, luck, words=luck.randint(1, 20))
        said.update((what, which) for what, which, _ in words if what != "begun")
        register = open_register(shared)
        assert verify(register).sound
        register.close()

    register = open_register(shared)
    lost_words = 0
    for number in range(10):
        days, told = snoozed(register, f"P000000{number}")
        heard = said["snoozed", f"P000000{number}"]
        assert days == told
        assert told >= heard
        lost_words += told - heard
    # A run that dies between the commit and its word leaves one more than was heard of.
    assert lost_words <= KILLS
    states = {one.key: one.state for one in register.all_reminders()}
    for what, which in said:
        if what == "planned":
            assert which in states
        if what == "prepared":
            assert states[which] is ReminderState.PREPARED
    assert max(said[one] for one in said if one[0] != "snoozed") == 1
    assert sum(said.values()) > 5 * KILLS
    print(f"killed {KILLS} times among {sum(said.values())} acts; {lost_words} done and not told")
    register.close()


# --- Several at once --------------------------------------------------------------------

SNOOZES, REMINDERS = 30, 120


def an_admin(place: Place, pipe: Connection) -> None:
    register = open_register(place)
    done = refused = 0
    while done < SNOOZES:
        if snooze(register, f"P000000{done % 3}"):
            done += 1
        else:
            refused += 1
    pipe.send(("admin", done, refused))


def a_nightly_job(place: Place, pipe: Connection) -> None:
    register = open_register(place)
    me = str(os.getpid())
    (recall,) = register.recalls("P0000009")
    wanted = [reminder(recall.id, key=f"night/{n}") for n in range(REMINDERS)]
    pipe.send(("planned", register.plan(wanted, deed(What.PLANNED)), 0))
    while keys := claim(register, me):
        pipe.send(("claimed", keys, settle(register, keys, me)))


def an_import(place: Place, pipe: Connection) -> None:
    register = open_register(place)
    for number in range(3):
        taken = take_in(register, *rows_of(number)[:400])
        pipe.send(("imported", taken.new, 0))


def test_two_admins_an_import_and_two_nightly_jobs_lose_nothing(shared: Place) -> None:
    children = [
        start(work, shared)
        for work in (an_admin, an_admin, a_nightly_job, a_nightly_job, an_import)
    ]
    said = [word for _, pipe in children for word in said_by(pipe)]
    for child, _ in children:
        child.join(120)
        assert child.exitcode == 0

    register = open_register(shared)
    moved = [snoozed(register, f"P000000{number}") for number in range(3)]
    assert sum(days for days, _ in moved) == sum(told for _, told in moved) == 2 * SNOOZES
    assert [n for what, n, _ in said if what == "imported"] == [400] * 3
    assert sum(n for what, n, _ in said if what == "planned") == REMINDERS
    claimed = [key for what, keys, _ in said if what == "claimed" for key in keys]
    assert sorted(claimed) == sorted(f"night/{n}" for n in range(REMINDERS))
    assert all(settled == len(keys) for what, keys, settled in said if what == "claimed")
    assert all(one.state is ReminderState.PREPARED for one in register.all_reminders())
    assert list(register.audit()) == []
    assert verify(register).sound
    register.close()


def test_one_nightly_job_s_claims_are_not_the_other_s(shared: Place) -> None:
    """On PostgreSQL nobody waits for rows that are held; on SQLite writers take turns."""
    register, other = open_register(shared), open_register(shared)
    (recall,) = register.recalls("P0000009")
    register.plan([reminder(recall.id, key=f"{n}") for n in range(10)], deed(What.PLANNED))

    mine, theirs = claim(register, "a", 4), claim(other, "b", 40)

    assert (len(mine), len(theirs)) == (4, 6)
    assert not set(mine) & set(theirs)
    register.close()
    other.close()


def test_two_who_open_a_new_register_at_once_make_one(postgresql: Place, tmp_path: Any) -> None:
    from made_up_register import file_place

    def opens(place: Place, pipe: Connection) -> None:
        register = make_register(place)
        pipe.send(take_in(register, row(os.getpid())).new)

    for place in (file_place(tmp_path / "new"), postgresql):
        children = [start(opens, place) for _ in range(4)]
        assert [word for _, pipe in children for word in said_by(pipe)] == [1] * 4
        register = open_register(place)
        assert verify(register).sound
        assert len(list(register.people())) == 4
        register.close()

"""Two admins decide while a nightly run writes: whatever was decided stands, each is written once.

All are processes of their own on one register, in a file and on a server.
"""

from __future__ import annotations

import multiprocessing
import os
import shutil
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import closing, suppress
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from hashlib import sha256
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

import pytest
from made_up_register import deed, row, take_in
from made_up_server import postgresql, server

from aftercare.cli.bootstrap import make_register, open_house, open_register
from aftercare.cli.recall import writing
from aftercare.cli.recall.writing import Asked, write_due
from aftercare.edges.outbox_files import key_of_name
from aftercare.edges.register.copies import verify
from aftercare.edges.register.place import Place
from aftercare.edges.register.register import SqlRegister
from aftercare.errors import BadInput
from aftercare.model import Channel
from aftercare.recall.people import ReminderState, What
from aftercare.recall.port import Swap

__all__ = ["postgresql", "server"]

FORK = multiprocessing.get_context("fork")
TODAY = date(2026, 11, 24)
DUE = TODAY + timedelta(days=42)
NINE = datetime(2026, 11, 24, 9, tzinfo=UTC)
PEOPLE = 30
STOPPED = ("recall", Channel.SMS)
REFS = [f"P{number:07}" for number in range(PEOPLE)]
# From the last on, so that some are decided about before they are written to, and some after.
WHO_STOP, PUT_OFF = REFS[::-2], REFS[::-3]


@pytest.fixture(params=["file", "postgresql"])
def home(
    request: pytest.FixtureRequest, approved_home: Path, tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> Path:  # fmt: skip
    """A clinic in which everybody is due a text today, with its register here or on a server."""
    if request.param == "postgresql":
        place = request.getfixturevalue("postgresql")
        assert isinstance(place, Place)
        monkeypatch.setenv("AFTERCARE_DATABASE", place.url)
    folder = shutil.copytree(approved_home, tmp_path / "clinic")
    (folder / "out").mkdir(exist_ok=True)
    with closing(make_register(str(folder))) as register:
        due = {"due": DUE.isoformat(), "condition": "condition:wax", "agreed": "sms"}
        take_in(register, *(row(n, household=f"h{n}", **due) for n in range(PEOPLE)))
    return folder


def start(work: Callable[[Connection], None]) -> tuple[Any, Connection]:
    mine, theirs = FORK.Pipe()

    def run() -> None:
        theirs.recv()
        work(theirs)
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


def nightly(home: Path, out: Path, parts: int) -> Callable[[Connection], None]:
    """Writes what is due in so many parts, two at a time; says when the first begins to claim."""
    house = open_house(str(home))

    def work(pipe: Connection) -> None:
        was, begun, me = SqlRegister.claim, [], os.getpid()

        def claim(register: SqlRegister, *given: Any, **named: Any) -> Any:
            if not begun and os.getpid() == me:
                begun.append(True)
                pipe.send(("begun", ""))
            return was(register, *given, **named)

        SqlRegister.claim = claim  # type: ignore[method-assign]  # it says that it began
        writing.AT_A_TIME, writing.open_house = 2, lambda _: house
        writing.WORTH_A_PROCESS, writing.cores = 0, lambda: parts
        writing.this_moment = lambda: NINE  # type: ignore[assignment]  # a clock that stands
        asked = Asked(on=TODAY.isoformat(), out=out, home=str(home))
        pipe.send(("night", write_due(asked, dry_run=False, as_json=True)))

    return work


Change = Callable[[SqlRegister, str], Swap]


def admin(home: Path, what: What, change: Change, refs: list[str]) -> Callable[[Connection], None]:
    """Decides about one after the other, and looks again when somebody was first."""

    def work(pipe: Connection) -> None:
        with closing(open_register(str(home))) as register:
            for ref in refs:
                while True:
                    with suppress(BadInput):
                        register.change(deed(what), change(register, ref))
                        break
                pipe.send((what, ref))

    return work


def stop_texts(register: SqlRegister, ref: str) -> Swap:
    was = register.person(ref)
    assert was is not None
    return was, replace(was, opted_out=was.opted_out | {STOPPED})


def put_off(register: SqlRegister, ref: str) -> Swap:
    (was,) = register.recalls(ref)
    return was, replace(was, due=was.due + timedelta(days=1))


def at_once(home: Path, out: Path, parts: int) -> Counter[str]:
    """The nightly run, and two admins from its first claim on; what was said to be done."""
    children = [
        start(nightly(home, out, parts)),
        start(admin(home, What.OPTED_OUT, stop_texts, WHO_STOP)),
        start(admin(home, What.SNOOZED, put_off, 3 * PUT_OFF)),
    ]
    for _, pipe in children:
        pipe.send("go")
        if pipe is children[0][1]:
            assert pipe.recv() == ("begun", "")
    said = [word for _, pipe in children for word in said_by(pipe)]
    for child, _ in children:
        child.join(60)
        assert child.exitcode == 0
    return Counter(what for what, _ in said)


@pytest.mark.parametrize("parts", [1, 2])
def test_two_admins_and_a_nightly_run_lose_and_double_nothing(
    home: Path, tmp_path: Path, parts: int
) -> None:
    out = tmp_path / "o"

    told = at_once(home, out, parts)

    assert told == {"night": 1, What.OPTED_OUT: len(WHO_STOP), What.SNOOZED: 3 * len(PUT_OFF)}
    with closing(open_register(str(home))) as register:
        assert verify(register).sound
        assert list(register.audit()) == []
        assert register.underway() == ()
        for ref in REFS:
            assert_all_that_was_decided_stands(register, ref)
        reminders = list(register.all_reminders())
    assert len(reminders) == PEOPLE
    assert {one.state for one in reminders} <= {ReminderState.PREPARED, ReminderState.SKIPPED}
    prepared = [(one.key, one.digest) for one in reminders if one.state is ReminderState.PREPARED]
    written = [(key_of_name(p.name), sha256(p.read_bytes()).hexdigest()) for p in out.glob("sms/*")]
    assert sorted(written) == sorted(prepared)
    print(f"of {PEOPLE}, {len(prepared)} written before anybody decided otherwise")


def assert_all_that_was_decided_stands(register: SqlRegister, ref: str) -> None:
    stopped, days = ref in WHO_STOP, 3 * (ref in PUT_OFF)
    found, (recall,) = register.person(ref), register.recalls(ref)
    history = Counter(one.deed.what for one in register.history(ref))
    (reminder,) = register.reminders(ref)
    assert found is not None
    assert (STOPPED in found.opted_out, recall.due) == (stopped, DUE + timedelta(days=days))
    assert (history[What.OPTED_OUT], history[What.SNOOZED]) == (stopped, days)
    # Only about whom something was decided was anything left out.
    assert reminder.state is ReminderState.PREPARED or stopped or days

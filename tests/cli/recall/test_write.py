"""`recall write`: from a register to files, once each, whatever stops it."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
from made_up_register import deed as a_deed
from made_up_register import row, take_in

from aftercare.cli.bootstrap import make_register, open_register
from aftercare.edges.outbox_files import held
from aftercare.model import Channel
from aftercare.recall.people import ReminderState, What
from aftercare.recall.port import IntakeRow, Underway

TODAY = date(2026, 11, 24)
WAX = "condition:wax"
Run = Callable[..., Any]


def due(days: int) -> str:
    return (TODAY + timedelta(days=days)).isoformat()


def invited(number: int, **changes: Any) -> IntakeRow:
    """Somebody whose first message is due today: 42 days before the visit."""
    usual: dict[str, Any] = {
        "condition": WAX, "due": due(42), "household": f"h{number}", "agreed": "sms"
    }  # fmt: skip
    return row(number, **{**usual, **changes})


@pytest.fixture
def home(approved_home: Path, tmp_path: Path) -> Path:
    """The approved shelf with a register of its own."""
    import shutil

    return shutil.copytree(approved_home, tmp_path / "clinic")


@pytest.fixture
def fill(home: Path) -> Callable[..., None]:
    def filled(*rows: IntakeRow) -> None:
        with closing(make_register(str(home))) as register:
            take_in(register, *rows)

    return filled


@pytest.fixture(autouse=True)
def _the_same_moment(monkeypatch: pytest.MonkeyPatch) -> None:
    from aftercare.cli.recall import writing

    monkeypatch.setattr(writing, "this_moment", lambda: datetime(2026, 11, 24, 9, tzinfo=UTC))


def files(out: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(out)): path.read_bytes()
        for path in sorted(out.rglob("*"))
        if path.is_file() and path.parent != out
    }


def listed(out: Path) -> dict[str, tuple[str, str]]:
    with (out / "list.csv").open(encoding="utf-8", newline="") as stream:
        return {one["ref"]: (one["what"], one["because"]) for one in csv.DictReader(stream)}


def states(home: Path, ref: str) -> list[tuple[str, ReminderState]]:
    with closing(open_register(str(home))) as register:
        return [(one.step, one.state) for one in register.reminders(ref)]


def test_each_is_written_on_the_channel_they_agreed_to(run: Run, home: Path, fill: Run) -> None:
    fill(
        invited(1), invited(2, agreed="email"), invited(3, agreed="print"), invited(4, due=due(90))
    )

    told = run("recall", "write", "--home", home, "--out", "o", "--json")

    assert told.json()["written"] == {"sms": 1, "email": 1, "print": 1}
    day = due(42)
    assert set(files(Path("o"))) == {
        f"sms/1.invite.{day}.txt", f"email/2.invite.{day}.eml", f"letters/3.invite.{day}.pdf"
    }  # fmt: skip
    assert (told.code, listed(Path("o"))) == (0, {})
    assert states(home, "P0000001") == [("invite", ReminderState.PREPARED)]
    assert states(home, "P0000004") == []


def test_the_register_and_the_record_have_the_digest_of_the_file(
    run: Run, home: Path, fill: Run
) -> None:
    fill(invited(1))
    run("recall", "write", "--home", home, "--out", "o")

    (raw,) = files(Path("o")).values()
    with closing(open_register(str(home))) as register:
        (reminder,) = register.reminders("P0000001")
    (kept,) = map(json.loads, Path("o/record.jsonl").read_text().splitlines())
    assert reminder.digest == kept["digest"] == sha256(raw).hexdigest()
    assert kept["case"] == reminder.key
    assert "Nell" not in json.dumps(kept)


def test_a_second_run_writes_nothing_again(run: Run, home: Path, fill: Run) -> None:
    fill(*map(invited, range(1, 6)))
    run("recall", "write", "--home", home, "--out", "o")
    before = files(Path("o"))

    told = run("recall", "write", "--home", home, "--out", "o", "--json").json()

    assert told["written"] == {"sms": 0, "email": 0, "print": 0}
    assert files(Path("o")) == before
    assert len(before) == 5


def test_a_dry_run_says_the_same_and_changes_nothing(run: Run, home: Path, fill: Run) -> None:
    fill(*map(invited, range(1, 6)), invited(6, household="h1"), invited(7, agreed=""))
    words = ("recall", "write", "--home", home, "--out", "o", "--json")

    dry = run(*words, "--dry-run").json()

    assert not Path("o").exists()
    assert states(home, "P0000001") == []
    wet = run(*words).json()
    for name in ("written", "listed", "planned"):
        assert dry[name] == wet[name]
    assert wet["listed"]["later"] == wet["listed"]["for a person"] == 1


def test_files_are_for_their_owner_alone(run: Run, home: Path, fill: Run) -> None:
    fill(invited(1), invited(2, agreed="email"))
    run("recall", "write", "--home", home, "--out", "o")

    assert {
        path.stat().st_mode & 0o077 for path in Path("o").rglob("*") if path.is_file()
    } == {0}  # fmt: skip


def test_a_household_is_written_to_once_a_day_even_by_two_runs(
    run: Run, home: Path, fill: Run
) -> None:
    fill(invited(1, household="one"))
    run("recall", "write", "--home", home, "--out", "o")
    fill(invited(2, household="one"))

    told = run("recall", "write", "--home", home, "--out", "elsewhere", "--json").json()

    assert (told["written"]["sms"], told["listed"]["later"]) == (0, 1)
    because = listed(Path("elsewhere"))["P0000002"]
    assert because == ("later", "the household has been written to today")
    assert states(home, "P0000002") == [("invite", ReminderState.PLANNED)]


def test_whoever_cannot_be_written_to_does_not_take_the_household_s_turn(
    run: Run, home: Path, fill: Run
) -> None:
    fill(invited(1, household="one", first_name="N\0ell"), invited(2, household="one"))

    told = run("recall", "write", "--home", home, "--out", "o", "--json")

    assert (told.code, told.json()["written"]["sms"]) == (1, 1)
    what, because = listed(Path("o"))["P0000001"]
    assert what == "not written"
    assert "U+0000" in because


def test_what_nobody_approved_waits_with_its_reason_and_goes_when_approved(
    run: Run, home: Path, fill: Run
) -> None:
    block = home / "content/reminders/invite.md"
    approved = block.read_bytes()
    block.write_bytes(approved.replace(b"state: approved", b"state: draft"))
    fill(invited(1))

    told = run("recall", "write", "--home", home, "--out", "o", "--json")

    assert (told.code, told.json()["listed"]["not written"]) == (1, 1)
    assert "reminder-invite" in listed(Path("o"))["P0000001"][1]
    assert states(home, "P0000001") == [("invite", ReminderState.PLANNED)]
    block.write_bytes(approved)
    again = run("recall", "write", "--home", home, "--out", "o", "--json")
    assert (again.code, again.json()["written"]["sms"]) == (0, 1)


def test_an_opt_out_after_planning_counts(run: Run, home: Path, fill: Run) -> None:
    from dataclasses import replace

    block = home / "content/reminders/invite.md"
    approved = block.read_bytes()
    block.write_bytes(approved.replace(b"state: approved", b"state: draft"))
    fill(invited(1))
    run("recall", "write", "--home", home, "--out", "o")
    block.write_bytes(approved)
    with closing(open_register(str(home))) as register:
        was = register.person("P0000001")
        assert was is not None
        out = replace(was, opted_out=frozenset({("recall", Channel.SMS)}))
        register.change(a_deed(What.OPTED_OUT), (was, out))

    told = run("recall", "write", "--home", home, "--out", "o", "--json")

    assert told.json()["written"]["sms"] == 0
    assert states(home, "P0000001") == [("invite", ReminderState.SKIPPED)]
    assert files(Path("o")) == {}


def test_the_list_says_whom_to_phone_and_who_waits(run: Run, home: Path, fill: Run) -> None:
    fill(
        invited(1, due=due(-200)),
        invited(2, state="waiting", waiting_on="Ann Admin", because="asks for a Friday"),
        invited(3, standing="silent", reasons="no consent", state="waiting", waiting_on="Ann",
                because="no consent"),
        invited(4, agreed=""),
    )  # fmt: skip

    told = run("recall", "write", "--home", home, "--out", "o", "--json")

    rows = listed(Path("o"))
    assert rows["P0000002"] == ("waiting", "asks for a Friday")
    assert rows["P0000004"][0] == "for a person"
    assert told.json()["listed"]["waiting"] == 2
    text = Path("o/list.txt").read_text()
    assert "Waiting on a named person" in text
    assert "Ann Admin" in text


@pytest.mark.parametrize(
    ("on", "why"), [("2026-11-23", "is over"), ("2026-02-30", "no day"), ("soon", "not a day")]
)
def test_a_day_that_is_over_or_none_is_refused(
    run: Run, home: Path, fill: Run, on: str, why: str
) -> None:
    fill(invited(1))

    told = run("recall", "write", "--home", home, "--out", "o", "--on", on)

    assert told.code == 2
    assert why in told.err
    assert not Path("o").exists()


def test_a_day_to_come_is_written_ahead_and_counted_for_that_day(
    run: Run, home: Path, fill: Run
) -> None:
    fill(invited(1, due=due(43), household="one"), invited(2, household="one"))
    words = ("recall", "write", "--home", home, "--out", "o", "--json")

    ahead = run(*words, "--on", due(1))
    again = run(*words, "--on", due(1)).json()

    assert "written ahead" in ahead.err
    for told, written in ((ahead.json(), 1), (again, 0)):
        assert (told["written"]["sms"], told["listed"]["later"]) == (written, 1)


def test_without_a_register_it_says_how_to_make_one(run: Run, home: Path) -> None:
    told = run("recall", "write", "--home", home, "--out", "o")

    assert told.code == 2
    assert "recall import" in told.err


def test_two_runs_do_not_write_to_one_folder(run: Run, home: Path, fill: Run) -> None:
    fill(invited(1))
    with held(Path("o")):
        told = run("recall", "write", "--home", home, "--out", "o")

    assert told.code == 2
    assert "another run is writing there" in told.err


def test_two_runs_of_one_register_do_not_write_side_by_side(
    run: Run, home: Path, fill: Run
) -> None:
    """Each knows whom the other had written to when it began, and not whom it writes to then."""
    fill(invited(1))
    with held(Path("o")) as outbox, closing(open_register(str(home))) as register:
        now = datetime.now(UTC)
        register.set_out(
            Underway(outbox=outbox.name, folder=str(Path("o").resolve()), host="here", until=now)
        )
        told = run("recall", "write", "--home", home, "--out", "elsewhere")

    assert told.code == 2
    assert "of the same register is writing there now" in told.err
    assert not list(Path("elsewhere").rglob("*.txt"))
    assert run("recall", "write", "--home", home, "--out", "elsewhere", "--json").json()["written"][
        "sms"
    ] == 1  # fmt: skip


def test_a_folder_of_another_register_is_left_as_it_is(run: Run, home: Path, fill: Run) -> None:
    fill(invited(1))
    theirs = Path("o/sms") / f"1.invite.{due(42)}.txt"
    theirs.parent.mkdir(parents=True)
    theirs.write_text("somebody else's")

    told = run("recall", "write", "--home", home, "--out", "o")

    assert (told.code, theirs.read_text()) == (2, "somebody else's")
    assert "another message of that name" in told.err
    assert "Nell" not in told.err


def many_kinds() -> list[IntakeRow]:
    """Pairs of a household that are both due, and some of each kind on the list."""
    return [
        *(
            invited(n, agreed=("sms", "email")[n // 2 % 2], household=f"h{n // 2}")
            for n in range(12)
        ),
        *(invited(n, household=None, first_name="N\0ell") for n in range(12, 16)),
        *(invited(n, agreed="", household=None) for n in range(16, 20)),
        *(invited(n, due=due(-200)) for n in range(20, 24)),
        *(
            invited(n, state="waiting", waiting_on="Ann Admin", because=f"asks for day {n}")
            for n in range(24, 28)
        ),
    ]


def records(out: Path) -> list[Any]:
    kept = [json.loads(one) for one in (out / "record.jsonl").read_text().splitlines()]
    return sorted((one | {"at": None} for one in kept), key=str)


@pytest.mark.parametrize("parts", [2, 3])
def test_a_run_in_parts_writes_tells_and_keeps_the_very_same(
    run: Run, home: Path, fill: Run, monkeypatch: pytest.MonkeyPatch, parts: int
) -> None:
    import shutil

    from aftercare.cli.recall import writing

    fill(*many_kinds())
    other = shutil.copytree(home, home.with_name("other"))
    words = ("recall", "write", "--json", "--home")
    whole = run(*words, home, "--out", "whole")
    monkeypatch.setattr(writing, "WORTH_A_PROCESS", 0)
    monkeypatch.setattr(writing, "cores", lambda: parts)
    monkeypatch.setattr(writing, "AT_A_TIME", 2)

    told = run(*words, other, "--out", "parts")

    assert told.json() | {"out": None} == whole.json() | {"out": None}
    assert (told.code, told.json()["written"]) == (1, {"sms": 7, "email": 3, "print": 0})
    assert {one: n for one, n in told.json()["listed"].items() if n} == {
        "for a person": 4, "not written": 4, "later": 6, "waiting": 4
    }  # fmt: skip
    assert files(Path("parts")) == files(Path("whole"))
    assert records(Path("parts")) == records(Path("whole"))
    for name in ("list.csv", "list.txt"):
        assert (Path("parts") / name).read_bytes() == (Path("whole") / name).read_bytes()
    assert not list(Path("parts").glob(".list*"))


def test_each_process_of_a_run_in_parts_writes_some(
    run: Run, home: Path, fill: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    import os

    from aftercare.cli.recall import made, writing

    fill(*(invited(n) for n in range(20)))
    monkeypatch.setattr(writing, "WORTH_A_PROCESS", 20)
    monkeypatch.setattr(writing, "cores", lambda: 2)
    was = made.Maker.make

    def make(maker: made.Maker, orders: Any) -> Any:
        with Path("by").open("a") as stream:
            stream.writelines(f"{os.getpid()} {one.key}\n" for one in orders)
        return was(maker, orders)

    monkeypatch.setattr(made.Maker, "make", make)

    assert run("recall", "write", "--home", home, "--out", "o").code == 0

    by = [line.split() for line in Path("by").read_text().splitlines()]
    assert len({key for _, key in by}) == len(by) == 20
    assert len({process for process, _ in by}) == 2
    assert str(os.getpid()) in {process for process, _ in by}


def test_no_process_is_given_a_connection_of_another(
    run: Run, home: Path, fill: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    from aftercare.cli.recall import writing

    fill(*(invited(n) for n in range(4)))
    monkeypatch.setattr(writing, "WORTH_A_PROCESS", 0)
    monkeypatch.setattr(writing, "cores", lambda: 2)
    was = writing.Run.part

    def part(whole: Any, *given: Any) -> Any:
        pool = whole.register.engine.pool
        with Path("open").open("a") as stream:
            stream.write(f"{pool.checkedin()} {pool.checkedout()}\n")
        return was(whole, *given)

    monkeypatch.setattr(writing.Run, "part", part)

    assert run("recall", "write", "--home", home, "--out", "o").code == 0

    assert Path("open").read_text().splitlines() == ["0 0", "0 0"]


def test_with_few_recalls_or_one_core_no_process_is_begun(
    run: Run, home: Path, fill: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    from aftercare.cli.recall import parts, writing

    def none(*_: Any) -> None:
        raise AssertionError("a process was begun")

    fill(*(invited(n) for n in range(4)))
    monkeypatch.setattr(parts._Beside, "__init__", none)
    for worth, cores in ((5, 2), (4, 1)):
        monkeypatch.setattr(writing, "WORTH_A_PROCESS", worth)
        monkeypatch.setattr(writing, "cores", lambda cores=cores: cores)
        assert run("recall", "write", "--home", home, "--out", f"o{worth}").code == 0
    monkeypatch.setattr(writing, "cores", lambda: 2)
    with pytest.raises(AssertionError, match="a process was begun"):
        run("recall", "write", "--home", home, "--out", "o")

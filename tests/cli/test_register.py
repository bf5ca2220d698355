"""`aftercare register`: copies, checks, forgetting, and the words that go with them."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from made_up_register import row, take_in

from aftercare.edges.clock import SystemClock
from aftercare.edges.register import find_place
from aftercare.edges.register.register import make_register, open_register

Run = Callable[..., Any]
SETTINGS = "[retention]\nyears_after_closing = 8\n"
OVER = {"state": "closed", "because": "came", "seen": "2017-06-01", "closed": "2018-01-31"}


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A clinic with a register of three, of whom one left long ago."""
    for name in ("AFTERCARE_DATABASE", "AFTERCARE_REGISTER_KEY", "AFTERCARE_REGISTER_KEY_FILE"):
        monkeypatch.delenv(name, raising=False)
    noon = datetime(2026, 11, 30, 12, tzinfo=UTC).isoformat()
    monkeypatch.setattr(SystemClock, "now", lambda clock: noon)
    home = tmp_path / "clinic"
    (home / "content").mkdir(parents=True)
    (home / "shared").mkdir()
    (home / "shared" / "clinic.toml").touch()
    (home / "shared" / "recall.toml").write_text(SETTINGS)
    register = make_register(find_place(home, {}))
    take_in(register, row(1), row(2), row(3, **OVER))
    register.close()
    return home


def harm(home: Path, sql: str) -> None:
    import sqlite3

    connection = sqlite3.connect(home / "out" / "register.sqlite")
    connection.execute(sql)
    connection.commit()
    connection.close()


def test_a_sound_register_is_told_with_its_counts(home: Path, run: Run) -> None:
    answer = run("register", "verify", "--home", home, "--json")

    assert answer.code == 0
    said = answer.json()
    assert said["sound"] is True
    assert said["rows"] == {
        "patients": 3,
        "visits": 3,
        "recalls": 3,
        "preferences": 0,
        "reminders": 0,
        "happened": 1,
    }
    assert said["chain"]["rows"] == 1
    assert len(said["chain"]["last"]) == 64


def test_what_was_altered_is_told_by_its_row(home: Path, run: Run) -> None:
    harm(home, "UPDATE happened SET by = 'Eve'")

    plain = run("register", "verify", "--home", home)
    answer = run("register", "verify", "--home", home, "--json")

    assert (plain.code, answer.code) == (1, 1)
    assert "! what happened, row 1: altered since it was written" in plain.out
    assert answer.json()["broken"] == [{"row": 1, "because": "altered since it was written"}]


def test_a_copy_is_made_and_brought_back(home: Path, run: Run) -> None:
    assert run("register", "backup", home / "copy", "--home", home).code == 0
    harm(home, "UPDATE patients SET first_name = 'Wrong'")

    answer = run("register", "restore", home / "copy", "--by", "Ann Admin", "--home", home)

    assert answer.code == 0
    kept = home / "out" / "register.sqlite.before-20261130T120000Z"
    assert f"the register before is kept as {kept}" in answer.out
    assert kept.exists()
    register = open_register(find_place(home, {}))
    assert [person.first_name for person in register.people()] == ["Nell"] * 3
    register.close()
    assert run("register", "verify", "--home", home).code == 0


def test_a_person_is_forgotten_and_the_chain_verifies(home: Path, run: Run) -> None:
    answer = run("register", "forget", "P0000002", "--by", "Ann Admin", "--home", home)

    assert answer.code == 0
    assert "Copies of the register made before still hold the person" in answer.out
    for file in (home / "out").iterdir():
        assert b"Invented2" not in file.read_bytes()
    assert run("register", "verify", "--home", home).code == 0
    again = run("register", "forget", "P0000002", "--by", "Ann Admin", "--home", home)
    assert (again.code, "nobody has this reference" in again.err) == (2, True)


def test_retention_says_how_many_and_then_forgets_them(home: Path, run: Run) -> None:
    dry = run("register", "retention", "--dry-run", "--json", "--home", home)
    done = run("register", "retention", "--by", "Ann Admin", "--home", home)

    assert dry.json() == {"years": 8, "before": "2018-11-30", "people": 1}
    assert "1 people whose last day was before 2018-11-30 (8 years) were forgotten" in done.out
    assert run("register", "retention", "--dry-run", "--json", "--home", home).json()["people"] == 0


def test_retention_needs_a_name_or_a_dry_run(home: Path, run: Run) -> None:
    answer = run("register", "retention", "--home", home)

    assert answer.code == 2
    assert "--by NAME, or --dry-run" in answer.err


@pytest.mark.parametrize("settings", ["", "[retention]\nyears_after_closing = -1\n"])
def test_retention_that_nobody_set_forgets_nobody(home: Path, run: Run, settings: str) -> None:
    (home / "shared" / "recall.toml").write_text(settings)

    answer = run("register", "retention", "--by", "Ann Admin", "--home", home)

    assert answer.code == 2
    assert "shared/recall.toml" in answer.err
    assert run("register", "verify", "--home", home, "--json").json()["rows"]["happened"] == 1


@pytest.mark.parametrize(
    "words",
    [
        ("verify",),
        ("backup", "copy"),
        ("forget", "P1", "--by", "Ann"),
        ("retention", "--dry-run"),
    ],
)
def test_without_a_register_nothing_is_made(home: Path, run: Run, words: tuple[str, ...]) -> None:
    for file in (home / "out").iterdir():
        file.unlink()

    answer = run("register", *words, "--home", home)

    assert answer.code == 2
    assert "there is no register" in answer.err
    assert list((home / "out").iterdir()) == []


def test_help_of_the_register_loads_no_database(environment: dict[str, str]) -> None:
    program = (
        "import sys; sys.argv = ['aftercare', 'register', '--help']\n"
        "from aftercare.cli import main\n"
        "try: main()\n"
        "except SystemExit: pass\n"
        "sys.exit(', '.join({'sqlalchemy', 'alembic', 'sqlite3'} & set(sys.modules)))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], env=environment, capture_output=True, check=False
    )

    assert done.stderr.strip() == b""
    assert b"retention" in done.stdout


def test_a_refusal_ends_with_2_and_without_a_traceback(
    home: Path, environment: dict[str, str]
) -> None:
    (home / "out" / "register.sqlite").write_bytes(b"Nell Invented" * 1000)

    done = subprocess.run(
        [sys.executable, "-m", "aftercare", "register", "verify", "--home", str(home), "--json"],
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )

    assert done.returncode == 2
    assert "not a register" in done.stderr
    assert "Traceback" not in done.stderr
    assert "Nell" not in done.stderr


def test_json_is_one_object(home: Path, run: Run) -> None:
    answer = run("register", "backup", home / "copy", "--home", home, "--json")

    assert json.loads(answer.out)["sound"] is True


@pytest.mark.parametrize(
    "asked", [("forget", "P0000002"), ("retention",), ("restore", "copy")], ids=lambda one: one[0]
)
@pytest.mark.parametrize("name", ["", "  ", "Ann\x1b[2J"])
def test_who_decides_is_named(home: Path, run: Run, asked: tuple[str, ...], name: str) -> None:
    answer = run("register", *asked, "--by", name, "--home", home)

    assert (answer.code, answer.out) == (2, "")
    assert "--by" in answer.err
    with open_register(find_place(home, {})).engine.connect() as connection:
        assert connection.exec_driver_sql("SELECT count(*) FROM happened").scalar() == 1


def test_who_was_forgotten_since_a_copy_is_forgotten_again_and_it_says_so(
    home: Path, run: Run
) -> None:
    def ask(*words: object) -> Any:
        return run("register", *words, "--by", "Ann Admin", "--home", home)

    run("register", "backup", home / "copy", "--home", home)
    ask("forget", "P0000002")

    answer = ask("restore", home / "copy")

    assert answer.code == 0
    assert "1 person who was forgotten since the copy was made: forgotten again" in answer.err
    assert run("recall", "next", "P0000002", "--home", home).code == 2


def test_a_copy_of_another_course_is_told_of(home: Path, run: Run) -> None:
    def ask(*words: object) -> Any:
        return run("register", *words, "--by", "Ann Admin", "--home", home)

    run("register", "backup", home / "first", "--home", home)
    ask("forget", "P0000003")
    run("register", "backup", home / "second", "--home", home)
    ask("restore", home / "first")
    ask("forget", "P0000001")

    answer = ask("restore", home / "second")

    assert answer.code == 1
    assert "forgotten in the register before, and" in answer.err
    assert "look through who is in it" in answer.err

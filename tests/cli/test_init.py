"""``aftercare init`` and how every command finds the clinic's folder."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import typer

from aftercare.cli import commands
from aftercare.edges.folder import read_home, shipped

Run = Callable[..., Any]


def test_a_clinic_s_own_folder_is_made_and_works(run: Run, visit: Run) -> None:
    answer = run("init", "deep/mine")

    assert (answer.code, answer.out) == (0, "")
    assert "deep/mine is ready" in answer.err
    assert "deep/mine/shared/clinic.toml" in answer.err
    assert sorted(path.name for path in Path("deep/mine").iterdir()) == [
        "content",
        "locales",
        "out",
        "shared",
    ]
    assert read_home(Path("deep/mine")) == read_home(shipped())
    done = run("discharge", visit(), "--home", "deep/mine", "--channel", "sms", "--json")
    assert done.code == 1
    assert done.json()["case"] == "v-1"


def test_a_folder_in_use_is_not_touched(run: Run) -> None:
    Path("mine").mkdir()
    Path("mine/note.txt").write_text("x", "utf-8")

    answer = run("init", "mine")

    assert answer.code == 2
    assert "mine: already there and not empty; name a new folder" in answer.err
    assert [path.name for path in Path("mine").iterdir()] == ["note.txt"]


def test_another_clinic_s_shelf_may_be_the_start_without_its_approvals(
    run: Run, approved_home: Path
) -> None:
    assert run("init", "mine", "--home", approved_home).code == 0

    mine, theirs = read_home(Path("mine")), read_home(approved_home)
    assert theirs.keys() - mine.keys() == {path for path in theirs if "/approvals.toml" in path}
    assert len(mine) > 50
    for path, raw in mine.items():
        assert without_approval(raw) == without_approval(theirs[path]), path
        drafted = path.endswith(".md") and raw.startswith(b"---")
        assert not drafted or b"\napproval: {state: draft}\n" in raw, path
    assert run("init", "other", "--home", "nowhere").code == 2
    assert not Path("other").exists()


def without_approval(raw: bytes) -> bytes:
    return b"\n".join(line for line in raw.split(b"\n") if not line.startswith(b"approval"))


def clinic_called(name: str, run: Run) -> Path:
    """A folder of a clinic whose e-mails begin with its own name."""
    run("init", name)
    settings = Path(name, "shared", "facts.toml")
    text = settings.read_text("utf-8")
    settings.write_text(text.replace('wax = "wax"', f'{name} = "x"\nwax = "wax"'), "utf-8")
    return Path(name).absolute()


def conditions(schema: Any) -> list[str]:
    found: list[str] = schema["$defs"]["EarFile"]["properties"]["conditions"]["items"]["enum"]
    return found


def test_a_home_is_named_or_set_or_here_or_shipped(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    named, set_, here = (clinic_called(name, run) for name in ("named", "set", "here"))

    def spoken(*words: object) -> str:
        return conditions(run("schema", "visit", *words).json())[1]

    assert spoken() == "wax"
    monkeypatch.chdir(here)
    assert spoken() == "here"
    monkeypatch.setenv("AFTERCARE_HOME", str(set_))
    assert spoken() == "set"
    assert spoken("--home", named) == "named"


@pytest.mark.parametrize("name", ["nowhere", "n" * 5_000])
def test_a_home_that_is_none_is_bad_input(
    name: str, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    named = run("schema", "visit", "--home", name)
    monkeypatch.setenv("AFTERCARE_HOME", name)
    set_ = run("schema", "visit")

    assert (named.code, set_.code) == (2, 2)
    assert f"--home {name}: no content/ and shared/clinic.toml in it" in named.err
    assert f"AFTERCARE_HOME {name}: no content/" in set_.err


@pytest.mark.parametrize(
    ("name", "text", "told"),
    [
        ("shared/clinic.toml", "\0", "shared/clinic.toml"),
        ("shared/limits.toml", "reading = 1", "shared/limits.toml"),
        ("content/wax/care.md", "no header", "content/wax/care.md:1: no header"),
    ],
)
def test_a_broken_shelf_names_the_file(name: str, text: str, told: str, run: Run) -> None:
    run("init", "mine")
    Path("mine", name).write_text(text, "utf-8")

    answer = run("schema", "visit", "--home", "mine")

    assert (answer.code, answer.out) == (2, "")
    assert told in answer.err


def test_every_command_takes_a_home_and_says_what_it_does(run: Run) -> None:
    listed = typer.main.get_command(commands.app)
    single = {
        name: command
        for name, command in listed.commands.items()  # type: ignore[attr-defined]  # a group
        if not hasattr(command, "commands")
    }

    assert set(single) >= {"demo", "discharge", "init", "schema", "sms", "why"}
    for name, command in single.items():
        told = run(name, "--help").out
        assert "--home DIR" in told, name
        promise = " ".join(command.help.split())
        assert len(promise) > 20
        assert promise[:60] in " ".join(told.split())


def test_help_opens_no_heavy_room(environment: dict[str, str]) -> None:
    program = (
        "import sys; sys.argv = ['aftercare', '--help']\n"
        "from aftercare.cli import main\n"
        "try: main()\n"
        "except SystemExit: pass\n"
        "heavy = {'typst', 'holidays', 'pydantic', 'babel', 'jinja2', 'fontTools'}\n"
        "heavy |= {'sqlalchemy', 'alembic', 'numpy', 'highspy'}\n"
        "sys.exit(', '.join(heavy & set(sys.modules)))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], env=environment, capture_output=True, check=False
    )

    assert done.stderr.strip() == b""
    assert b"demo" in done.stdout

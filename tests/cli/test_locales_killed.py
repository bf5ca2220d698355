"""A run that is killed between any two things it does to files: nothing approved is ever lost."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest
from small_shelf import (
    BLOCKS,
    DRY,
    POLISH,
    catalogue,
    texts_of,
    write_block,
    write_shelf,
    write_texts,
)

from aftercare.edges.folder import read_home
from aftercare.library import read

ROOT = Path(__file__).parents[2]
# Runs a command again and again in a child that dies before its first, second, third ... act on
# a file, and prints after each death what the folder holds.
DYING = """
import json, os, shutil, sys
from pathlib import Path
from aftercare.cli import exchange, updating
from aftercare.edges.folder import read_home
home, fresh, command = sys.argv[1:4]
acts = {"os.rename", "os.remove", "os.mkdir", "os.rmdir", "os.chmod", "shutil.copymode"}

def watch(dies_at):
    met = 0
    def hook(event, args):
        nonlocal met
        writes = event == "open" and isinstance(args[1], str) and set(args[1]) & set("wxa")
        if (event in acts or writes) and str(args[0]).startswith(home):
            met += 1
            if met == dies_at:
                os._exit(9)
    sys.addaudithook(hook)

def run():
    if command == "update":
        updating.update_catalogues(home, [], as_json=False)
    elif command == "import":
        exchange.take_in(home, "pl", Path(sys.argv[4]), as_json=True)
    else:
        exchange.approve(home, "pl", "Anna Example", "translator", [])

dies_at = 0
while True:
    dies_at += 1
    shutil.rmtree(home)
    shutil.copytree(fresh, home)
    child = os.fork()
    if child == 0:
        sys.stdout = sys.stderr = open(os.devnull, "w")
        watch(dies_at)
        run()
        os._exit(0)
    _, status = os.waitpid(child, 0)
    code = os.waitstatus_to_exitcode(status)
    held = {name: raw.decode() for name, raw in read_home(Path(home)).items() if "locales" in name}
    print(json.dumps({"code": code, "held": held}), flush=True)
    if code == 0:
        break
    # Whoever runs it again gets to the end, whatever the dead run has left lying about.
    run_again = os.fork()
    if run_again == 0:
        sys.stdout = sys.stderr = open(os.devnull, "w")
        run()
        os._exit(0)
    _, status = os.waitpid(run_again, 0)
    held = {name: raw.decode() for name, raw in read_home(Path(home)).items() if "locales" in name}
    print(json.dumps({"again": os.waitstatus_to_exitcode(status), "held": held}), flush=True)
"""


@pytest.fixture
def fresh(tmp_path: Path, run: Callable[..., Any]) -> Path:
    """A shelf with approved Polish, an empty Urdu catalogue, and a sentence that has changed."""
    home = write_shelf(tmp_path / "fresh")
    run("locales", "update", "pl", "ur", "--home", home)
    write_texts(catalogue(home), POLISH)
    run("locales", "approve", "pl", "--by", "Anna Example", "--role", "translator", "--home", home)
    assert approved(home) == set(POLISH)
    return home


def approved(home: Path) -> set[str]:
    found = read(read_home(home)).catalogues["pl"].phrases
    return {msgid for (_, msgid), told in found.items() if told.approved}


def deaths(fresh: Path, home: Path, command: str, *more: object) -> list[dict[str, Any]]:
    home.mkdir()
    ran = subprocess.run(
        [sys.executable, "-c", DYING, str(home), str(fresh), command, *map(str, more)],
        capture_output=True, text=True, cwd=ROOT, timeout=120,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stderr
    return [json.loads(line) for line in ran.stdout.splitlines()]


def holds_only(told: Mapping[str, str], *shelves: Mapping[str, str]) -> None:
    """Every file is whole: as it was, or as it is to be."""
    for name, text in told.items():
        assert text in [one[name] for one in shelves if name in one], name


@pytest.mark.skipif(sys.platform == "win32", reason="forks")
@pytest.mark.parametrize("command", ["update", "import", "approve"])
def test_a_killed_run_leaves_whole_files_and_running_it_again_ends_it(
    command: str, fresh: Path, tmp_path: Path, run: Callable[..., Any]
) -> None:
    more = []
    if command == "import":
        run("locales", "export", "pl", "--out", tmp_path / "sent", "--home", fresh)
        more = [tmp_path / "sent/aftercare-pl.po"]
        write_texts(more[0], {DRY: "Ucho ma być suche przez dwa tygodnie."})
    else:
        write_block(fresh, "water/dry", BLOCKS["water/dry"].replace("2 weeks", "3 weeks"))
    if command == "approve":
        (fresh / "locales/pl/approvals.toml").unlink()
    before = {n: raw.decode() for n, raw in read_home(fresh).items() if "locales" in n}

    told = deaths(fresh, tmp_path / "home", command, *more)

    after = told[-1]["held"]
    assert after != before
    assert len(told) > 2 * 4  # it does at least this much to files
    for one in told:
        holds_only(one["held"], before, after)
        assert set(one["held"]) >= set(before)
        if command == "update":
            # The approvals stand, and the words they are for are in the catalogue.
            assert one["held"]["locales/pl/approvals.toml"] == before["locales/pl/approvals.toml"]
            for target in POLISH.values():
                assert target in one["held"]["locales/pl/LC_MESSAGES/aftercare.po"]
        if "again" in one:
            assert (one["again"], one["held"]) == (0, after)


def test_after_an_update_every_approval_whose_words_stayed_still_holds(
    fresh: Path, run: Callable[..., Any]
) -> None:
    write_block(fresh, "water/dry", BLOCKS["water/dry"].replace("2 weeks", "3 weeks"))

    run("locales", "update", "--home", fresh)

    assert approved(fresh) == set(POLISH) - {DRY}
    assert POLISH[DRY] in catalogue(fresh).read_text("utf-8")
    assert DRY not in texts_of(catalogue(fresh))


def test_when_a_disk_refuses_nothing_has_changed(
    fresh: Path, run: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    write_block(fresh, "water/dry", BLOCKS["water/dry"].replace("2 weeks", "3 weeks"))
    before = read_home(fresh)
    moves = []
    real = Path.replace

    def refusing(path: Path, target: Path) -> Path:
        moves.append(path)
        if len(moves) == 2:
            raise OSError(28, "No space left on device")
        return real(path, target)

    monkeypatch.setattr(Path, "replace", refusing)
    answer = run("locales", "update", "--home", fresh)

    assert (answer.code, "No space left" in answer.err) == (2, True)
    assert len(moves) >= 2
    assert read_home(fresh) == before

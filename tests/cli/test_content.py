"""``aftercare content list, show, approve, retire`` on a clinic's own folder."""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from aftercare.edges import folder

Run = Callable[..., Any]
BY = ("--by", "Dr A. Example", "--role", "consultant")
WORDS = "A cavity cannot clear itself well"


@pytest.fixture
def home(run: Run, tmp_path: Path) -> Path:
    assert run("init", "clinic").code == 0
    return tmp_path / "clinic"


def block(home: Path) -> Path:
    return home / "content" / "open-cavity" / "what-it-is.md"


def state(run: Run, home: Path, wanted: str) -> str:
    rows = run("content", "list", "--json", "--home", home).json()
    return next(row["state"] for row in rows if row["id"] == wanted)


def test_the_list_names_every_block_and_counts_the_drafts(run: Run, home: Path) -> None:
    answer = run("content", "list", "--home", home)

    lines = answer.out.splitlines()
    assert answer.code == 0
    assert any(line.split() == ["normal-cavity", "normal", "draft"] for line in lines)
    assert lines[-1] == f"{len(lines) - 1} blocks, {len(lines) - 1} of them not approved"


def test_an_approval_lasts_until_the_words_change(run: Run, home: Path) -> None:
    answer = run("content", "approve", "normal-cavity", *BY, "--home", home)
    assert (answer.code, answer.out) == (0, "")
    assert "normal-cavity is approved by Dr A. Example, consultant" in answer.err
    assert state(run, home, "normal-cavity") == "approved"

    block(home).write_text(block(home).read_text().replace(WORDS, "A cavity can clear itself"))

    assert state(run, home, "normal-cavity") == "draft (edited since it was approved)"


def test_show_tells_who_gets_a_block_in_which_words_and_on_whose_word(run: Run, home: Path) -> None:
    run("content", "approve", "normal-cavity", *BY, "--home", home)

    answer = run("content", "show", "normal-cavity", "--home", home)

    assert answer.code == 0
    for told in ("approved: Dr A. Example, consultant", "for condition:open-cavity", WORDS,
                 "[side:left] The left ear has a cavity", "source: Youngs 1995"):  # fmt: skip
        assert told in answer.out
    assert run("content", "show", "normal-cavity", "--home", home, "--json").json()["sources"]


def test_an_approved_shelf_releases_what_a_draft_withholds(run: Run, home: Path) -> None:
    ids = [row["id"] for row in run("content", "list", "--json", "--home", home).json()]
    for wanted in [*ids, "frame"]:
        assert run("content", "approve", wanted, *BY, "--home", home).code == 0
    visit = home / "shared" / "demo" / "02-wax-suction.toml"

    answer = run("discharge", visit, "--home", home, "--channel", "sms", "--json")

    assert (answer.code, answer.err) == (0, "")
    message = answer.json()["messages"][0]
    assert message["status"] == "released"
    assert {one["approved_by"] for one in message["blocks"]} == {"Dr A. Example, consultant"}


def test_an_edit_after_approval_withholds_and_says_so(run: Run, home: Path) -> None:
    run("content", "approve", "normal-wax", *BY, "--home", home)
    wax = home / "content" / "wax" / "what-it-is.md"
    wax.write_text(wax.read_text().replace("Wax is normal", "Wax is fine"))
    visit = home / "shared" / "demo" / "02-wax-suction.toml"

    answer = run("discharge", visit, "--home", home, "--channel", "email", "--json")

    assert answer.code == 1
    assert (
        "edited since it was approved: normal-wax"
        in answer.json()["messages"][0]["withheld_because"]
    )


def test_a_retired_block_is_given_to_nobody(run: Run, home: Path) -> None:
    run("content", "retire", "normal-wax", *BY, "--home", home)
    visit = home / "shared" / "demo" / "02-wax-suction.toml"

    answer = run("discharge", visit, "--home", home, "--channel", "email", "--json").json()

    assert "normal-wax" not in {one["id"] for one in answer["messages"][0]["blocks"]}
    assert {"id": "normal-wax", "because": "retired"} in answer["omitted"]


def test_a_block_past_its_review_date_is_listed_first_thing_and_ends_with_1(
    run: Run, home: Path
) -> None:
    text = block(home).read_text()
    block(home).write_text(text.replace("review_by: 2027-11-01", "review_by: 2026-11-01"))
    late = run("content", "list", "--home", home)
    block(home).write_text(text.replace("review_by: 2027-11-01", "review_by: 2027-01-20"))
    soon = run("content", "list", "--home", home)

    assert (late.code, soon.code) == (1, 0)
    assert "review past: 2026-11-01" in late.out
    assert "review due soon: 2027-01-20" in soon.out


@pytest.mark.parametrize("command", ["approve", "retire"])
@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("no-such-block", *BY), "no-such-block: no block has this id"),
        (("normal-cavity", "--by", "", "--role", "nurse"), "a name and a role are needed"),
        (("normal-cavity", "--by", "Dr A", "--role", "\n"), "a name and a role are needed"),
    ],
)
def test_a_decision_that_cannot_be_taken_changes_nothing(
    run: Run, home: Path, command: str, words: tuple[str, ...], told: str
) -> None:
    before = block(home).read_bytes()

    answer = run("content", command, *words, "--home", home)

    assert answer.code == 2
    assert told in answer.err
    assert block(home).read_bytes() == before


def test_a_full_disk_leaves_the_block_as_it_was(
    run: Run, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = block(home).read_bytes()

    def full(descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)

    answer = run("content", "approve", "normal-cavity", *BY, "--home", home)

    assert answer.code == 2
    assert "No space left on device; it stands as it was" in answer.err
    assert block(home).read_bytes() == before
    assert [path.name for path in block(home).parent.iterdir() if "new" in path.name] == []


def test_the_shelf_inside_the_package_is_nobodys_to_approve(
    run: Run, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("aftercare.cli.shelf.is_shipped", lambda folder: True)

    answer = run("content", "approve", "normal-cavity", *BY, "--home", home)

    assert answer.code == 2
    assert "'aftercare init DIR' makes your own" in answer.err


def test_the_checkout_is_not_taken_for_the_package(tmp_path: Path) -> None:
    assert not folder.is_shipped(tmp_path)


def test_the_answer_in_json_is_json(run: Run, home: Path) -> None:
    rows = json.loads(run("content", "list", "--json", "--home", home).out)

    assert {"id", "state", "review_by", "for", "not_for", "file"} <= set(rows[0])

"""``aftercare content impact``: who is told a block, and what an edit of it changes."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest
from made_up_blocks import block

Run = Callable[..., Any]
BY = ("--by", "Dr A. Example", "--role", "consultant")
OLD, NEW = "Rest at home.", "Rest in bed."


def text(words: str, **more: Any) -> str:
    return block("b", f"{words}\n", given="condition:wax, condition:grommet", **more)


@pytest.fixture
def home(shelf: Mapping[str, bytes], tmp_path: Path) -> Path:
    """A clinic's folder with two blocks: one to edit, and one that can give way to it."""
    folder = tmp_path / "clinic"
    for name, raw in shelf.items():
        if not name.startswith(("content/", "locales/")) or name == "content/frame.toml":
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            (folder / name).write_bytes(raw)
    put(folder, "b", text(OLD, more='sms: "Rest."\nsms_detail: "Rest with your ear up."\n'))
    last = block("c", "Drink water.\n", given="age:child").replace("rank: 10", "rank: 90")
    put(folder, "c", last)
    return folder


def put(home: Path, name: str, words: str) -> Path:
    path = home / "content" / "made" / f"{name}.md"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(words, "utf-8")
    return path


def edit(home: Path, old: str, new: str) -> None:
    path = home / "content" / "made" / "b.md"
    words = path.read_text("utf-8")
    assert old in words
    path.write_text(words.replace(old, new), "utf-8")


def impact(run: Run, home: Path, *more: object) -> Any:
    return run("content", "impact", *more, "--home", home)


def test_who_is_told_a_block_is_said_in_plain_words(run: Run, home: Path) -> None:
    answer = impact(run, home, "b")
    told = impact(run, home, "b", "--json").json()

    assert (answer.code, answer.err) == (0, "")
    assert answer.out.startswith("b 1 (care), content/made/b.md\n")
    assert "  for wax or grommet in the eardrum\n" in answer.out
    assert f"  told to {told['patients']:,} of {told['of_patients']:,} combinations" in answer.out
    assert "page, of both ears: " in answer.out
    assert "sms in detail, of the left ear: " in answer.out
    assert f"\n  {OLD}\n" in answer.out
    assert "left ear: condition:" in answer.out
    assert "nothing to compare with: it was never approved here" in answer.out
    assert max(map(len, answer.out.splitlines())) <= 112


def test_json_holds_each_way_it_is_told_with_how_many_and_one_of_them(run: Run, home: Path) -> None:
    told = impact(run, home, "b", "--json").json()

    assert set(told) == {
        "block", "library", "patients", "of_patients", "left_out_for_actions", "told", "changes",
    }  # fmt: skip
    assert told["block"] == "b"
    assert told["library"].startswith("sha256:")
    assert told["changes"] is None
    assert told["left_out_for_actions"] == 0
    rows = {(one["form"], one["ear"], one["detail"]): one for one in told["told"]}
    assert set(rows) == {
        (form, ear, detail)
        for ear in ("left", "right", "both")
        for form, detail in (("page", None), ("sms", False), ("sms", True))
    }
    for (form, _, detail), one in rows.items():
        words = [OLD] if form == "page" else ["Rest with your ear up." if detail else "Rest."]
        assert one["words"] == words
        assert 0 < one["leaflets"] <= one["patients"] < told["patients"]
        assert one["case"]
        assert one["when"] == []


def test_an_edit_is_compared_with_what_was_last_approved(run: Run, home: Path) -> None:
    assert run("content", "approve", "b", *BY, "--home", home).code == 0
    assert impact(run, home, "b").out.endswith("No leaflet has changed.\n")
    assert impact(run, home, "b", "--json").json()["changes"] == []

    edit(home, OLD, NEW)

    answer = impact(run, home, "b")
    changes = impact(run, home, "b", "--json").json()["changes"]
    assert answer.code == 0
    assert f"  - {OLD}\n  + {NEW}\n" in answer.out
    assert {one["ear"] for one in changes} == {"left", "right", "both"}
    for one in changes:
        assert (one["form"], one["before"], one["after"]) == ("page", [OLD], [NEW])
        assert 0 < one["leaflets"] <= one["patients"]
        assert one["case"]


def test_an_edit_is_compared_with_an_older_file(run: Run, home: Path, tmp_path: Path) -> None:
    older = tmp_path / "older.md"
    older.write_text((home / "content" / "made" / "b.md").read_text("utf-8"), "utf-8")
    edit(home, "condition:wax, condition:grommet", "condition:wax")

    changes = impact(run, home, "b", "--before", older, "--json").json()["changes"]

    assert changes
    assert all(one["after"] == [] for one in changes)
    assert {tuple(one["before"]) for one in changes if one["form"] == "page"} == {(OLD,)}
    assert all("condition:grommet" in " ".join(one["case"]) for one in changes)


def test_a_block_that_gives_way_to_an_edit_is_named(run: Run, home: Path, tmp_path: Path) -> None:
    older = tmp_path / "older.md"
    older.write_text((home / "content" / "made" / "b.md").read_text("utf-8"), "utf-8")
    edit(home, "rank: 10\n", "rank: 10\nactions: 7\n")

    answer = impact(run, home, "b", "--before", older)
    (one,) = impact(run, home, "b", "--before", older, "--json").json()["changes"]

    assert (one["block"], one["before"], one["after"]) == ("c", ["told"], [])
    assert "form" not in one
    assert "c, which gives way or comes back: " in answer.out
    assert f"{one['patients']:,} combinations" in answer.out
    pushed = impact(run, home, "c", "--json").json()
    assert pushed["left_out_for_actions"] == one["patients"]
    assert f"left out of {one['patients']:,}, where too much" in impact(run, home, "c").out


def test_a_block_that_was_retired_is_lost_by_all(run: Run, home: Path) -> None:
    run("content", "approve", "b", *BY, "--home", home)
    run("content", "retire", "b", *BY, "--home", home)

    told = impact(run, home, "b", "--json").json()

    assert told["patients"] == 0
    assert told["told"] == []
    assert told["changes"]
    assert all(one["after"] == [] and one["before"] for one in told["changes"])


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("none",), "none"),
        (("frame",), "frame: everybody gets it"),
        (("b", "--before", "gone.md"), "gone.md"),
        (("b", "--before", "other.md"), "other.md: it holds 'other', not 'b'"),
        (("b", "--before", "broken.md"), "broken.md:1: no header"),
    ],
)
def test_what_cannot_be_compared_is_bad_input(
    words: tuple[str, ...], said: str, run: Run, home: Path, tmp_path: Path
) -> None:
    (tmp_path / "other.md").write_text(block("other", "A.\n"), "utf-8")
    (tmp_path / "broken.md").write_text("no header\n", "utf-8")

    answer = impact(run, home, *words)

    assert (answer.code, answer.out) == (2, "")
    assert said in answer.err


def test_faults_of_the_shelf_are_told_and_the_answer_ends_with_1(run: Run, home: Path) -> None:
    put(home, "bad", "no header\n")

    answer = impact(run, home, "b", "--json")

    assert answer.code == 1
    assert answer.json()["block"] == "b"
    assert "content/made/bad.md:1: no header" in answer.err


def test_an_approved_copy_that_cannot_be_read_is_told(run: Run, home: Path) -> None:
    run("content", "approve", "b", *BY, "--home", home)
    kept = home / "content" / ".approved" / "b.md"
    assert kept.exists()
    kept.write_text("no header\n", "utf-8")

    answer = impact(run, home, "b")

    assert (answer.code, answer.out) == (2, "")
    assert "content/.approved/b.md:1: no header" in answer.err
    shutil.rmtree(kept.parent)
    assert impact(run, home, "b").code == 0

"""``aftercare score --compare``: what a rewrite gained, sentence by sentence."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from made_up_blocks import block

from aftercare.cli import comparing

Run = Callable[..., Any]
OLD = (
    "# Ears\n\nKeep the ear dry.\n\nThe wax should be removed by a nurse before the operation is "
    "carried out.\n\nDo not swim.\n"
)
NEW = (
    "# Ears\n\nKeep the ear dry.\n\nA nurse will take out the wax. Then we operate.\n\nRest well.\n"
)


@pytest.fixture(autouse=True)
def _files(run: Run) -> None:
    """Two versions in the current folder."""
    Path("old.md").write_text(OLD, "utf-8")
    Path("new.md").write_text(NEW, "utf-8")


def test_each_sentence_is_kept_rewritten_added_or_dropped(run: Run) -> None:
    answer = run("score", "--compare", "old.md", "new.md")

    lines = answer.out.splitlines()
    assert (answer.code, answer.err) == (0, "")
    assert "  Keep the ear dry." in lines
    assert any(line.startswith("~ was (14 words): The wax should be removed") for line in lines)
    assert "~ now (7 words): A nurse will take out the wax." in lines
    assert "- was (3 words): Do not swim." in lines
    assert "+ now (2 words): Rest well." in lines
    assert any(line.startswith("    gone: passive voice") for line in lines)


def test_the_counts_stand_side_by_side(run: Run) -> None:
    rows = [line.split() for line in run("score", "--compare", "old.md", "new.md").out.splitlines()]

    assert ["Old", "New"] in rows
    assert ["Words", "21", "16"] in rows
    assert ["Sentences", "3", "4"] in rows
    assert ["Longest", "sentence,", "in", "words", "14", "7"] in rows


def test_json_has_every_change_and_the_formulas_before_and_after(run: Run) -> None:
    told = run("score", "--compare", "old.md", "new.md", "--json").json()

    assert (told["words"], told["sentences"], told["longest_sentence"]) == (
        [21, 16],
        [3, 4],
        [14, 7],
    )
    turns = [one["turn"] for one in told["changes"]]
    # "Then we operate." came with the rewrite and has nothing of the old sentence's words.
    assert sorted(turns) == ["added", "added", "dropped", "rewritten", "same"]
    (rewritten,) = (one for one in told["changes"] if one["turn"] == "rewritten")
    assert "passive voice" in rewritten["advice_gone"]
    # Too short for a single grade.
    assert told["formulas"]["flesch_kincaid"]["gain"] is None
    assert told["formulas"]["flesch_kincaid"]["difference"] == "not scored"


def test_a_gain_is_clear_or_within_the_interval(run: Run) -> None:
    hard = "The practitioner recommends an examination of the affected ear every twelve months. "
    Path("hard.md").write_text(hard * 12, "utf-8")
    Path("easy.md").write_text("We want to see you once a year. " * 16, "utf-8")

    told = run("score", "--compare", "hard.md", "easy.md")
    same = run("score", "--compare", "hard.md", "hard.md")

    (line,) = (line for line in told.out.splitlines() if "Flesch-Kincaid" in line)
    assert line.endswith(", clear")
    old, new, gain = line.removeprefix("  Flesch-Kincaid Grade Level").split()[:3]
    assert float(gain.rstrip(",")) == pytest.approx(float(new) - float(old), abs=0.11)
    (line,) = (line for line in same.out.splitlines() if "Flesch-Kincaid" in line)
    assert line.endswith("+0.0, within the interval")
    assert all(line.startswith("  ") for line in same.out.splitlines() if line)


def test_two_texts_too_short_for_a_grade_are_told_to_be(run: Run) -> None:
    assert (
        "No grades: one of the two is too short for any."
        in run("score", "--compare", "old.md", "new.md").out
    )


@pytest.mark.parametrize("names", [("old.md",), ("old.md", "new.md", "old.md"), ()])
def test_it_takes_two_files(names: tuple[str, ...], run: Run) -> None:
    answer = run("score", "--compare", *names)

    assert (answer.code, answer.out) == (2, "")
    assert "--compare takes two files" in " ".join(answer.err.replace("│", " ").split())


@pytest.mark.parametrize("option", [("--language", "pl"), ("--no-dictionary",), ("--instruments",)])
def test_what_it_does_not_do_is_refused_and_not_passed_over(
    option: tuple[str, ...], run: Run
) -> None:
    answer = run("score", "--compare", "old.md", "new.md", *option)

    assert (answer.code, answer.out) == (2, "")
    assert "--compare is for English" in answer.err


def test_english_may_be_named(run: Run) -> None:
    assert run("score", "--compare", "old.md", "new.md", "--language", "en-GB").code == 0


@pytest.mark.parametrize("raw", [b"\xff\xfe", b"a\x00b"])
def test_what_is_no_text_is_refused_by_its_name(raw: bytes, run: Run) -> None:
    Path("bad.md").write_bytes(raw)

    for names in (("bad.md", "new.md"), ("old.md", "bad.md"), ("old.md", "none.md")):
        answer = run("score", "--compare", *names)
        assert (answer.code, answer.out) == (2, "")
        assert answer.err.startswith(f"aftercare: {names[0] if 'bad' in names[0] else names[1]}: ")


def test_a_text_too_long_to_compare_is_refused(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(comparing, "LONGEST", 100)

    answer = run("score", "--compare", "old.md", "new.md")

    assert (answer.code, answer.out) == (2, "")
    assert "old.md: over 100 characters; compare it in parts" in answer.err


def test_thousands_of_sentences_are_compared(run: Run) -> None:
    for side in ("left", "right"):
        text = "".join(f"Nurse {n} saw the {side} ear of {n} men. " for n in range(2_000))
        Path(f"{side}.md").write_text(text, "utf-8")

    answer = run("score", "--compare", "left.md", "right.md", "--json")

    changes = answer.json()["changes"]
    assert len(changes) == 2_000
    assert {one["turn"] for one in changes} == {"rewritten"}


def test_a_text_from_standard_input_and_a_block_can_be_compared(run: Run) -> None:
    text = block("b", "[reader:self] Keep dry.\n\n[reader:parent] Keep it dry.\n")
    Path("b.md").write_text(text, "utf-8")

    out = run("score", "--compare", "b.md", "-", given="Keep it all dry.").out

    assert "~ was (2 words): Keep dry." in out
    assert "~ now (4 words): Keep it all dry." in out


def test_nothing_against_nothing_is_no_fault(run: Run) -> None:
    Path("empty.md").write_text("", "utf-8")

    assert run("score", "--compare", "empty.md", "empty.md").code == 0
    out = run("score", "--compare", "empty.md", "new.md").out
    assert out.count("\n+ now") == 4


def test_nothing_in_a_text_steers_the_terminal(run: Run) -> None:
    Path("odd.md").write_text("Keep \x1b[2Jit \u202edry\u202c.", "utf-8")

    out = run("score", "--compare", "old.md", "odd.md").out

    assert "Keep \\u001b[2Jit \\u202edry\\u202c." in out
    assert not {"\x1b", "\u202e"} & set(out)


def test_long_sentences_are_folded_under_their_mark(run: Run) -> None:
    Path("long.md").write_text("Keep it dry " * 40 + ".", "utf-8")

    lines = run("score", "--compare", "old.md", "long.md").out.splitlines()

    assert max(map(len, lines)) <= 100
    start = next(n for n, line in enumerate(lines) if "now (120 words)" in line)
    assert lines[start + 1].startswith("  ")

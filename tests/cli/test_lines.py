"""Lines in and lines out: each question answered or told of by its number; words that fit."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any
from unicodedata import category

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from aftercare.cli.lines import SCREEN, Questions, answer_lines, folded, steady
from aftercare.errors import BadInput

ASKED = Questions(200, "a question")


def answered(asked: Mapping[str, Any]) -> Mapping[str, Any]:
    """The length of a text; a text of one letter is refused."""
    if len(asked["text"]) == 1:
        raise BadInput("the text", "too short", "write more")
    return {"long": len(asked["text"])}


def run(raw: bytes, name: str = "q.jsonl") -> int:
    Path(name).write_bytes(raw)
    return answer_lines(name, ASKED, answered, troubling=lambda told: told["long"] > 5)


@pytest.fixture(autouse=True)
def _here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


@pytest.mark.parametrize(
    ("lines", "code"),
    [
        ([], 0),
        (["good"], 0),
        (["good", "good"], 0),
        (["trouble"], 1),
        (["good", "refused"], 1),
        (["refused"], 2),
        (["bad", "refused"], 2),
        (["bad", "trouble"], 1),
    ],
)
def test_the_run_ends_by_what_became_of_its_lines(lines: list[str], code: int) -> None:
    kinds = {
        "good": '{"id": "1", "text": "abc"}',
        "trouble": '{"id": "1", "text": "abcdef"}',
        "refused": '{"id": "1", "text": "a"}',
        "bad": "{",
    }

    assert run("\n".join(kinds[line] for line in lines).encode()) == code


def test_blank_lines_count_as_lines_and_are_no_questions(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run(b'\n  \n{"id": "1", "text": "abc"}\r\n\n{') == 1

    told = capsys.readouterr()
    assert json.loads(told.out) == {"id": "1", "long": 3}
    assert told.err.startswith("aftercare: line 5: the line: not JSON; write a question")


@pytest.mark.parametrize("name", ["a", "", 0, 7, -1, "耳", "\ud800"])
def test_an_id_comes_back_as_it_was(name: object, capsys: pytest.CaptureFixture[str]) -> None:
    run(json.dumps({"id": name, "text": "abc"}).encode())

    assert json.loads(capsys.readouterr().out)["id"] == name


@pytest.mark.parametrize("name", [True, False, None, 1.5, [], {}])
def test_what_is_no_id_is_refused(name: object, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(json.dumps({"id": name, "text": "abc"}).encode()) == 2

    assert "lacks an 'id' that is a text or a whole number" in capsys.readouterr().err


@pytest.mark.parametrize("ending", [b"", b"\n"])
def test_the_longest_line_is_answered_and_one_byte_more_is_not(
    ending: bytes, capsys: pytest.CaptureFixture[str]
) -> None:
    frame = len('{"id": "1", "text": ""}')
    fits = b'{"id": "1", "text": "' + b"a" * (ASKED.longest - frame - len(ending)) + b'"}' + ending
    assert len(fits) == ASKED.longest

    assert run(fits) == 1
    assert run(b" " + fits) == 2
    assert "over 200 bytes" in capsys.readouterr().err


def test_a_mark_of_byte_order_and_utf_16_are_read(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(b"\xef\xbb\xbf" + b'{"id": "1", "text": "abc"}') == 0
    assert json.loads(capsys.readouterr().out)["long"] == 3


def test_a_missing_file_is_refused() -> None:
    with pytest.raises(BadInput, match=r"none\.jsonl: No such file"):
        answer_lines("none.jsonl", ASKED, answered, troubling=bool)


# --- words for a screen -----------------------------------------------------------------


@given(st.text())
@example("a\x1b[2Jb\x07 \u202ec\u202c \u2066d\u2069 \ud800\u2028")
def test_nothing_that_steers_a_terminal_is_left(words: str) -> None:
    shown = steady(words)

    assert not any(category(char) in {"Cc", "Cs", "Zl", "Zp"} for char in shown)
    assert not any("\u202a" <= char <= "\u202e" or "\u2066" <= char <= "\u2069" for char in shown)
    shown.encode("utf-8")


@pytest.mark.parametrize("words", ["Müde Ohren", "خشک رکھیں", "👩‍👩‍👧", "می‌شود", "耳朵"])
def test_words_of_every_script_are_left_alone(words: str) -> None:
    assert steady(words) == words


@given(st.text(st.sampled_from("ab -\n\t\u00a0"), max_size=400), st.sampled_from(("", "    ")))
def test_folded_words_fit_and_none_is_lost(words: str, indent: str) -> None:
    lines = folded(words, indent)

    assert "".join("".join(lines).split()) == "".join(words.split())
    assert all(line.startswith(indent) for line in lines)
    longest = max(map(len, words.split()), default=0)
    assert all(len(line) <= max(SCREEN, longest + len(indent)) for line in lines)

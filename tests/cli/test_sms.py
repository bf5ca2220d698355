"""``aftercare sms``: how a text travels, one text or a line of JSON each."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from aftercare.cli import texting
from aftercare.cli.lines import Questions

Run = Callable[..., Any]
ROOT = Path(__file__).parents[2]
SCHEMA = json.loads((ROOT / "tests" / "contract" / "sms-count.schema.json").read_text("utf-8"))


# --- One text ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "encoding", "units", "parts"),
    [
        # 3GPP TS 23.038 and 23.040: 160 septets alone, 153 in a part; 70 and 67 units of UCS-2.
        ("a" * 160, "GSM-7", 160, 1),
        ("a" * 161, "GSM-7", 161, 2),
        ("€" * 80, "GSM-7", 160, 1),
        ("ł" * 70, "UCS-2", 70, 1),
        ("ł" * 71, "UCS-2", 71, 2),
        ("👂" * 35, "UCS-2", 70, 1),
    ],
)
def test_a_text_is_counted_as_it_travels(
    text: str, encoding: str, units: int, parts: int, run: Run
) -> None:
    answer = run("sms", text, "--exact", "--json")

    told = answer.json()
    jsonschema.validate(told, SCHEMA)
    assert (told["encoding"], told["units"], told["parts"]) == (encoding, units, parts)
    assert "".join(told["texts"]) == text
    assert (answer.code, answer.err, told["refused"]) == (0, "", None)


def test_marks_that_cost_are_replaced_unless_the_text_is_exact(run: Run) -> None:
    safe = run("sms", "“Don’t”", "--json").json()
    exact = run("sms", "“Don’t”", "--exact", "--json").json()

    assert (safe["encoding"], safe["texts"], safe["offenders"]) == ("GSM-7", ['"Don\'t"'], [])
    assert [one["with"] for one in safe["replaced"]] == ['"', "'", '"']
    assert (exact["encoding"], exact["replaced"]) == ("UCS-2", [])
    assert exact["offenders"] == [
        {"char": "“", "at": 0},
        {"char": "’", "at": 4},
        {"char": "”", "at": 6},
    ]


def test_the_screen_tells_the_parts_and_what_makes_them_long(run: Run) -> None:
    plain = run("sms", "Don’t")
    assert plain.out == "GSM-7, 5 septets, 1 part(s)\n\nPart 1\nDon't\n" + (
        "replaced at 3: ’ (U+2019) by '''\n"
    )

    answer = run("sms", "Ł" + "a" * 81)
    assert answer.out.startswith("UCS-2, 82 16-bit units, 2 part(s)\n\nPart 1\n")
    assert "forces 16-bit units at 0: Ł (U+0141)" in answer.out


@pytest.mark.parametrize(
    ("given", "text"),
    [
        ("hello\n", "hello"),
        ("hello\r\n", "hello"),
        ("hello", "hello"),
        ("two\n\n", "two\n"),
        ("  spaced  \n", "  spaced  "),
    ],
)
def test_standard_input_is_one_text_without_its_last_line_end(
    given: str, text: str, run: Run
) -> None:
    for words in (("sms", "-", "--json"), ("sms", "--json")):
        assert "".join(run(*words, given=given).json()["texts"]) == text


@pytest.mark.parametrize(
    ("text", "told"), [("", "it is empty"), ("a" * 40_000, "at most 255"), ("a\x1bb", "U+001B")]
)
def test_a_text_no_network_carries_is_refused_in_words(text: str, told: str, run: Run) -> None:
    answer = run("sms", text)
    as_json = run("sms", text, "--json")

    assert (answer.code, as_json.code) == (1, 1)
    assert told in answer.err
    assert told in as_json.json()["refused"]
    assert as_json.err == ""


def test_a_text_cannot_steer_the_terminal(run: Run) -> None:
    answer = run("sms", "a\x1b[2Jb\x9b2Jc", "--exact")

    assert "a\\u001b[2Jb\\u009b2Jc" in answer.out
    assert "\x1b" not in answer.out + answer.err


@pytest.mark.parametrize(
    ("given", "told"),
    [(b"\xff", "byte 0 is not UTF-8"), (b"a" * 2_000_000, "over 1,048,576 bytes")],
)
def test_standard_input_that_is_no_text_is_bad_input(given: bytes, told: str, run: Run) -> None:
    answer = run("sms", "-", given=given)

    assert (answer.code, answer.out) == (2, "")
    assert told in answer.err


# --- A line of JSON each ----------------------------------------------------------------


def test_every_line_is_answered_with_its_id(run: Run) -> None:
    asked = [{"id": f"t{n}", "text": "a" * n} for n in (1, 160, 161, 400)]
    given = "\n".join(map(json.dumps, asked)) + "\n\n"

    answer = run("sms", "--exact", "--jsonl", "--json", "-", given=given)

    told = answer.lines()
    assert answer.code == 0
    assert [one["id"] for one in told] == [one["id"] for one in asked]
    # 3GPP TS 23.040: 160 septets alone, 153 in a part of several.
    assert [one["parts"] for one in told] == [1, 1, 2, 3]
    for one in told:
        jsonschema.validate(one, SCHEMA)


def test_lines_may_come_from_a_file(run: Run) -> None:
    Path("q.jsonl").write_text('{"id": "1", "text": "a"}\n', "utf-8")

    assert run("sms", "q.jsonl", "--jsonl").lines()[0]["id"] == "1"
    assert run("sms", "none.jsonl", "--jsonl").code == 2


@pytest.mark.parametrize(
    "line",
    [
        "{",
        "[]",
        "null",
        '"x"',
        '{"id": "1"}',
        '{"text": "a"}',
        '{"id": "1", "text": 5}',
        '{"id": null, "text": "a"}',
        '{"id": NaN, "text": "a"}',
        '{"id": [1], "text": "a"}',
        "[" * 100_000,
        '{"id": ' + "9" * 5_000 + ', "text": "a"}',
        "\udcff",
    ],
)
def test_a_bad_line_is_told_by_its_number_and_the_others_are_done(line: str, run: Run) -> None:
    good = b'{"id": "g", "text": "a"}'
    given = b"\n".join([good, b"", os.fsencode(line), good])

    answer = run("sms", "--jsonl", "-", given=given)

    assert answer.code == 1
    assert [told["id"] for told in answer.lines()] == ["g", "g"]
    assert answer.err.startswith("aftercare: line 3: ")
    alone = run("sms", "--jsonl", "-", given=os.fsencode(line))
    assert (alone.code, alone.out) == (2, "")


def test_a_line_that_is_too_long_is_passed_over_without_being_held(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(texting, "QUESTIONS", Questions(50, "a question"))
    long = '{"id": "l", "text": "' + "a" * 500 + '"}'
    given = "\n".join([long, '{"id": "g", "text": "a"}'])

    answer = run("sms", "--jsonl", "-", given=given)

    assert [told["id"] for told in answer.lines()] == ["g"]
    assert answer.err == "aftercare: line 1: the text: over 50 bytes; split it\n"


def test_half_a_character_is_refused_and_answered(run: Run) -> None:
    answer = run("sms", "--jsonl", "-", given='{"id": "\\ud800", "text": "a\\udcffb"}')

    (told,) = answer.lines()
    assert answer.code == 1
    assert told["id"] == "\ud800"
    assert "half of a surrogate pair" in told["refused"]


def test_no_lines_are_no_fault(run: Run) -> None:
    answer = run("sms", "--jsonl", "-", given="")

    assert (answer.code, answer.out, answer.err) == (0, "", "")


# --- As a program -----------------------------------------------------------------------


def test_bytes_that_are_no_text_on_the_command_line_are_no_fault(
    environment: dict[str, str],
) -> None:
    for encoding in ("utf-8", "ascii"):
        done = subprocess.run(
            [sys.executable, "-m", "aftercare", "sms", b"a\xffb\xc5\x81"],
            env={**environment, "PYTHONIOENCODING": encoding},
            capture_output=True,
            check=False,
        )

        assert done.returncode == 1
        assert b"Traceback" not in done.stderr
        assert b"half of a surrogate pair" in done.stderr
        assert b"a\\udcffb" in done.stdout


def test_closed_streams_are_no_fault(environment: dict[str, str]) -> None:
    for closing in (">&-", "2>&-", ">&- 2>&-"):
        done = subprocess.run(
            ["sh", "-c", f'"$0" -m aftercare sms hello {closing}', sys.executable],
            env=environment,
            capture_output=True,
            check=False,
        )

        assert done.returncode == 0
        assert done.stderr == b""


@pytest.mark.parametrize("words", [("hello",), ("hello" * 3_000, "--json")], ids=["short", "long"])
def test_a_reader_that_has_gone_is_no_fault(
    words: tuple[str, ...], environment: dict[str, str]
) -> None:
    reading, writing = os.pipe()
    os.close(reading)
    try:
        done = subprocess.run(
            [sys.executable, "-m", "aftercare", "sms", *words],
            env=environment,
            stdout=writing,
            stderr=subprocess.PIPE,
            check=False,
        )
    finally:
        os.close(writing)

    assert (done.returncode, done.stderr) == (1, b"")


@pytest.mark.parametrize("words", [("hello",), ("hello" * 3_000, "--json")], ids=["short", "long"])
def test_a_full_disk_behind_standard_output_is_told(
    words: tuple[str, ...], environment: dict[str, str]
) -> None:
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "aftercare", "sms", *words],
            env=environment,
            stdout=full,
            stderr=subprocess.PIPE,
            check=False,
        )

    assert done.returncode == 2
    assert done.stderr == (
        b"aftercare: the machine refused (No space left on device); the answer is not complete\n"
    )

"""``aftercare locales check --pairs``: a line for each translation, and a useful exit code."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from aftercare.cli import translating

Run = Callable[..., Any]
ROOT = Path(__file__).parents[2]
SCHEMA = json.loads((ROOT / "tests/contract/translation-pair.schema.json").read_text("utf-8"))
GOOD = {"id": "1", "source": "Keep it dry.", "target": "Chronić przed wodą.", "language": "pl"}
WARNED = GOOD | {"target": "Chronić przed wodą, bardzo proszę. " * 4}
SWAPPED = GOOD | {"source": "Keep the left ear dry.", "target": "Prawe ucho ma być suche."}


def lines(*listed: object) -> str:
    return "".join(json.dumps(one) + "\n" for one in listed)


@pytest.mark.parametrize(
    ("listed", "code"),
    [([], 0), ([GOOD], 0), ([WARNED], 0), ([SWAPPED], 1), ([GOOD, SWAPPED], 1), ([GOOD, {}], 2)],
)
def test_the_run_ends_by_the_gravest_thing_found(listed: list[object], code: int, run: Run) -> None:
    assert run("locales", "check", "--pairs", "-", "--json", given=lines(*listed)).code == code


def test_every_line_is_answered_in_order_as_the_schema_says(run: Run) -> None:
    answer = run("locales", "check", "--pairs", "-", "--json", given=lines(GOOD, WARNED, SWAPPED))

    for told in answer.lines():
        jsonschema.validate(told, SCHEMA)
    assert [[one["kind"] for one in told["findings"]] for told in answer.lines()] == [
        [], ["length", "twice"], ["side"],
    ]  # fmt: skip


def test_a_number_may_be_an_id(run: Run) -> None:
    answer = run("locales", "check", "--pairs", "-", "--json", given=lines(GOOD | {"id": 7}))

    assert answer.json() == {"id": "7", "findings": []}


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("{", "not JSON"),
        ("[]", "not an object"),
        ("{}", "lacks an 'id'"),
        (json.dumps(GOOD | {"id": True}), "lacks an 'id'"),
        (json.dumps(GOOD | {"source": 1}), "lacks a 'source' that is a text"),
        (json.dumps(GOOD | {"target": None}), "lacks a 'target' that is a text"),
        (json.dumps(GOOD | {"language": "xx"}), "no language is called 'xx'"),
        (json.dumps(GOOD | {"language": ""}), "no language is called ''"),
        (json.dumps(GOOD | {"kind": 1}), "'kind' is not a text"),
        (json.dumps(GOOD | {"limit": 0}), "'limit' is not a whole number"),
        (json.dumps(GOOD | {"target": "a" * 5_001}), "'target' is over 5,000 characters"),
        ("[" * 100_000, "not JSON"),
    ],
)
def test_a_line_that_cannot_be_read_is_told_of_by_file_and_line(
    line: str, said: str, run: Run
) -> None:
    Path("p.jsonl").write_text(lines(GOOD) + "\n" + line + "\n" + lines(GOOD), encoding="utf-8")

    answer = run("locales", "check", "--pairs", "p.jsonl", "--json")

    assert answer.code == 2
    assert f"p.jsonl:3: {said}" in answer.err
    assert len(answer.lines()) == 2


def test_bytes_that_are_not_utf_8_are_told_of(run: Run) -> None:
    answer = run("locales", "check", "--pairs", "-", "--json", given=b'{"id": "\xff"}\n')

    assert (answer.code, answer.out) == (2, "")
    assert "standard input:1: byte 8 is not UTF-8" in answer.err


def test_a_missing_file_and_a_huge_one_are_refused(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert "No such file" in run("locales", "check", "--pairs", "none.jsonl").err

    monkeypatch.setattr(translating, "FILE_BYTES", 10)
    answer = run("locales", "check", "--pairs", "-", given=lines(GOOD))
    assert (answer.code, "over 10 bytes" in answer.err) == (2, True)


def test_without_json_each_finding_is_told_in_plain_words(run: Run) -> None:
    answer = run(
        "locales", "check", "--pairs", "-", given=lines(GOOD, SWAPPED | {"id": "a\x1b[2J"})
    )

    assert answer.out == (
        "a\\u001b[2J  block: side\n    the source says left; the translation says right\n"
    )


def test_an_sms_is_counted_with_the_clinics_own_numbers(run: Run) -> None:
    asked = {"source": "Ring {clinic_phone}.", "target": "Tel. {clinic_phone}" + "ą" * 55}
    sms = GOOD | asked | {"kind": "sms"}  # 60 + 12 of 01632 960142: 72 of 70 units

    one = run("locales", "check", "--pairs", "-", "--json", given=lines(sms | {"limit": 1}))
    two = run("locales", "check", "--pairs", "-", "--json", given=lines(sms | {"limit": 2}))

    assert "2 SMS parts, 1 allowed" in one.out
    assert "SMS parts" not in two.out


def test_terms_of_the_clinics_glossary_are_held_to(
    approved_home: Path, run: Run, tmp_path: Path
) -> None:
    home = tmp_path / "home"
    (home / "content").mkdir(parents=True)
    (home / "shared").mkdir()
    (home / "shared" / "clinic.toml").write_bytes(
        (approved_home / "shared/clinic.toml").read_bytes()
    )
    glossary = home / "shared" / "glossary.toml"
    pair = GOOD | {"source": "A grommet is small.", "target": "Rurka jest mała."}

    glossary.write_text('[terms]\n"wax" = "x"\n[terms.pl]\n"grommet" = ["drenik*"]\n', "utf-8")
    held = run("locales", "check", "--pairs", "-", "--json", "--home", home, given=lines(pair))
    glossary.write_text('[terms.pl]\n"grommet" = "drenik"\n', "utf-8")
    bad = run("locales", "check", "--pairs", "-", "--home", home, given=lines(pair))

    assert [one["kind"] for one in held.json()["findings"]] == ["term"]
    assert (bad.code, "is not a list of words" in bad.err) == (2, True)

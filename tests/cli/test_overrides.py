"""A clinician's override, from the visit file to the record."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

# An aminoglycoside for an ear with a hole in the drum, and no specialist on record (rule 2).
EAR = {
    "ears__0__conditions": ["perforation"],
    "ears__0__drops": ["prescribed", "aminoglycoside"],
}
MADE = {
    "rule": "aminoglycoside drops",
    "by": "Dr Imogen Hartwell",
    "role": "consultant",
    "reason": "agreed by telephone with the ear surgeon",
}


def test_without_an_override_nothing_leaves_and_the_rule_is_named(
    run: Any, visit: Any, approved_home: Path
) -> None:
    answer = run("discharge", visit(**EAR), "--home", approved_home, "--json")

    told = answer.json()
    assert answer.code == 1
    leaflet = told["messages"][2]
    assert leaflet["status"] == "withheld"
    assert leaflet["file"] is None
    assert any(
        why.startswith("aminoglycoside drops (rule 2): ") for why in leaflet["withheld_because"]
    )
    assert told["overrides"] == []
    kept = [json.loads(one) for one in Path("out/record.jsonl").read_text("utf-8").splitlines()]
    assert kept[2]["status"] == "withheld"
    assert kept[2]["noted"] == []


def test_an_override_lets_it_go_and_says_by_whom_and_why(
    run: Any, visit: Any, approved_home: Path
) -> None:
    answer = run("discharge", visit(**EAR, overrides=[MADE]), "--home", approved_home, "--json")

    told = answer.json()
    assert told["overrides"] == [MADE]
    assert [message["status"] for message in told["messages"]] == ["released"] * 3
    noted = [one for one in told["messages"][2]["findings"] if one.startswith("overridden by ")]
    assert noted
    for one in noted:
        assert re.fullmatch(
            r"overridden by Dr Imogen Hartwell, consultant: aminoglycoside drops \(rule 2\): .+; "
            r"reason: agreed by telephone with the ear surgeon",
            one,
        )
    kept = [json.loads(one) for one in Path("out/record.jsonl").read_text("utf-8").splitlines()]
    assert kept[2]["status"] == "released"
    assert kept[2]["noted"] == noted
    assert json.loads(Path("out/v-1/summary.json").read_text("utf-8"))["overrides"] == [MADE]


def test_an_override_of_one_rule_is_none_of_another(
    run: Any, visit: Any, approved_home: Path
) -> None:
    other = {**MADE, "rule": "nut oil"}

    told = run(
        "discharge", visit(**EAR, overrides=[other]), "--home", approved_home, "--json"
    ).json()

    assert told["messages"][2]["status"] == "withheld"
    assert told["overrides"] == [other]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"rule": "no such rule"}, "overrides.0.rule: 'no such rule' is no rule; choose from "),
        ({"rule": "wrong ear"}, "overrides.0.rule: 'wrong ear' cannot be overridden"),
        ({"rule": "translation missing"}, "cannot be overridden"),
        ({"rule": "both logged"}, "cannot be overridden"),
        ({"reason": "x"}, "overrides.0.reason"),
        ({"reason": "    "}, "overrides.0.reason"),
        ({"by": ""}, "overrides.0.by"),
        ({"role": None}, "overrides.0.role"),
        ({"note": "more"}, "overrides.0.note: no such field"),
    ],
)
def test_an_override_that_cannot_be_made_is_refused(
    change: dict[str, Any], said: str, run: Any, visit: Any, approved_home: Path
) -> None:
    answer = run("discharge", visit(overrides=[{**MADE, **change}]), "--home", approved_home)

    assert answer.code == 2
    assert said in answer.err
    assert MADE["reason"] not in answer.err
    assert not Path("out/v-1").exists()


@pytest.mark.parametrize("key", sorted(MADE))
def test_an_override_lacking_a_part_is_refused(
    key: str, run: Any, visit: Any, approved_home: Path
) -> None:
    part = {name: value for name, value in MADE.items() if name != key}

    answer = run("discharge", visit(overrides=[part]), "--home", approved_home)

    assert answer.code == 2
    assert f"overrides.0.{key}: missing" in answer.err


def test_one_rule_is_overridden_once(run: Any, visit: Any, approved_home: Path) -> None:
    answer = run("discharge", visit(overrides=[MADE, MADE]), "--home", approved_home)

    assert answer.code == 2
    assert "overrides: one rule is overridden twice" in answer.err


def test_the_schema_lists_the_rules_that_leave_a_decision(run: Any, approved_home: Path) -> None:
    schema = run("schema", "visit", "--home", approved_home).json()

    allowed = schema["$defs"]["OverrideFile"]["properties"]["rule"]["enum"]
    assert "self-bought drops" in allowed
    assert "wrong ear" not in allowed


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"ears__0__drops": ["aminoglycoside"]}, "ears.0.drops"),
        ({"ears__0__drops_stop": "2026-12-01"}, "add 'prescribed'"),
        (
            {"ears__0__drops": ["prescribed"], "ears__0__drops_stop": "2026-11-01"},
            "ears.0.drops_stop: before the visit",
        ),
        ({"patient__allergies": ["pollen"]}, "patient.allergies: 'pollen' is not known"),
        ({"patient__status": ["asleep"]}, "patient.status: 'asleep' is not known"),
    ],
)
def test_what_the_rules_need_is_checked_where_it_is_given(
    changes: dict[str, Any], said: str, run: Any, visit: Any, approved_home: Path
) -> None:
    answer = run("discharge", visit(**changes), "--home", approved_home)

    assert answer.code == 2
    assert said in answer.err


def test_an_aminoglycoside_goes_out_with_a_specialist_and_a_day_to_stop(
    run: Any, visit: Any, approved_home: Path
) -> None:
    drops = ["prescribed", "aminoglycoside"]
    hole = {"ears__0__conditions": ["perforation"]}
    for extra, status in (
        ({"ears__0__drops": drops}, "withheld"),
        (
            {"ears__0__drops": [*drops, "specialist"], "ears__0__drops_stop": "2026-11-25"},
            "released",
        ),
    ):
        told = run("discharge", visit(**hole, **extra), "--home", approved_home, "--json").json()
        assert {message["status"] for message in told["messages"]} == {status}

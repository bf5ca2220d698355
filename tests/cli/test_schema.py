"""``aftercare schema visit``: the JSON Schema a visit is written to."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest

Run = Callable[..., Any]


def test_the_schema_is_one_and_holds_the_clinic_s_vocabulary(run: Run) -> None:
    answer = run("schema", "visit")

    schema = answer.json()
    assert (answer.code, answer.err) == (0, "")
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    jsonschema.Draft202012Validator.check_schema(schema)
    ear = schema["$defs"]["EarFile"]["properties"]
    assert ear["conditions"]["items"]["enum"] == [
        "open-cavity",
        "wax",
        "otitis-externa",
        "perforation",
        "grommet",
    ]
    assert ear["plans"]["items"]["enum"] == ["soften", "sooner", "referred"]
    assert "length" not in json.dumps(sorted(ear))  # what is worked out is not asked for


def test_the_schema_proposes_a_recall_and_requires_an_answer(run: Run) -> None:
    schema = run("schema", "visit").json()
    recall = schema["$defs"]["RecallFile"]["properties"]

    assert "recall" in schema["required"]
    assert "6 to 12 is usual (common practice, no source)" in recall["months"]["description"]
    assert {key: one["default"] for key, one in recall.items()} == {
        "months": None, "weeks": None, "confirmed": None, "declined": None,
    }  # fmt: skip


def test_a_cavity_s_figure_is_asked_twice_and_then_told(run: Run, visit: Run) -> None:
    cavity = {"ears__0__conditions": ["open-cavity"], "ears__0__findings": []}

    refused = run("why", visit(**cavity, recall__months=24))
    confirmed = visit(**cavity, recall={"months": 24, "confirmed": "dry for years"})
    taken = run("discharge", confirmed)

    assert (refused.code, refused.out) == (2, "")
    assert "recall.months: 24 months: 3 to 12 months is allowed" in refused.err
    assert taken.code != 2, taken.err
    assert "confirmed by Idris Penhale, nurse; reason: dry for years" in taken.out + taken.err


def test_a_visit_that_is_taken_is_valid_against_the_schema(run: Run, visit: Run) -> None:
    schema = run("schema", "visit").json()
    path = visit()

    assert run("why", path).code == 0
    jsonschema.validate(json.loads(Path(path).read_text("utf-8")), schema)


@pytest.mark.parametrize(
    "changes",
    [
        {"patient__name": 5},
        {"patient__nmae": "x"},
        {"patient__cautions": ["unknown"]},
        {"ears": []},
        {"ears__0__side": "both"},
        {"ears__0__procedures": []},
        {"ears__0__removed_cm": "3"},
        {"visit__treated": "middle"},
        {"recall__months": 0},
        {"recall__confirmed": "ok"},
        {"ears__0__plans": ["operate"]},
        {"case": "a/b"},
        {"patient__agreed": ["pigeon"]},
    ],
)
def test_what_the_schema_refuses_the_reader_refuses(
    changes: dict[str, object], run: Run, visit: Run
) -> None:
    schema = run("schema", "visit").json()
    path = visit(**changes)

    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(json.loads(Path(path).read_text("utf-8")), schema)
    assert run("why", path).code == 2


def test_nothing_else_has_a_schema(run: Run) -> None:
    answer = run("schema", "everything")

    assert (answer.code, answer.out) == (2, "")
    assert "everything" in answer.err

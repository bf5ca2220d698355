"""Recall of an open cavity: nobody's default, the clinician's figure, and what is asked twice.

Sources: no guideline fixes an interval for cleaning a cavity. Usual, 6 to 12 months: common
practice, no source. Allowed, 3 to 12 months: a proposal of this project that a clinician must
confirm; near it, about two visits a year were counted in a series seen at second hand, and
11 to 13 visits in all, most of them in the first 24 months (Khalil & Windle-Taylor 2003,
BMC Ear Nose Throat Disord 3:1).
"""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest
from made_up import TODAY, FakePress

from aftercare.edges.visit import parse_visit
from aftercare.edges.visit_file import visit_schema
from aftercare.errors import BadInput
from aftercare.flow import Discharge, discharge, records
from aftercare.model import Library, Purpose, Status
from aftercare.summary import summary

REASON = "dry for ten years; the surgeon agreed"


@pytest.fixture
def visit(approved: Library) -> Callable[..., Discharge]:
    """A cavity seen today, with the recall given, through the reader to the messages."""

    def ended(**recall: Any) -> Discharge:
        raw = json.dumps(
            {
                "case": "cavity-1",
                "patient": {
                    "name": "Orla Pennington", "age_group": "adult", "mobile": "07700 900123",
                    "email": "orla@example.org", "agreed": ["sms", "email", "print"],
                },
                "visit": {"date": "2026-11-24", "clinician": "Idris Penhale", "treated": "left"},
                "ears": [
                    {"side": "left", "conditions": ["open-cavity"], "procedures": ["suction"]}
                ],
                "recall": recall,
            }
        )  # fmt: skip
        case = parse_visit("v.json", raw.encode(), approved, TODAY)
        return discharge(
            case, approved, press=FakePress(), today=TODAY, purpose=Purpose.PATIENT
        )  # fmt: skip

    return ended


def about_recall(lines: list[str]) -> list[str]:
    return [line for line in lines if line.startswith("recall in ")]


def test_the_clinic_s_figures_are_the_project_s(library: Library) -> None:
    months = library.limits.recall_months["condition:open-cavity"]

    assert (months.usual, months.allowed) == ((6, 12), (3, 12))


def test_the_figure_is_asked_for_and_never_filled_in(visit: Callable[..., Discharge]) -> None:
    for recall in ({}, {"declined": "wants to think about it"}, {"confirmed": REASON}):
        with pytest.raises(BadInput):
            visit(**recall)


def test_the_proposal_is_shown_where_the_figure_is_asked(library: Library) -> None:
    recall = visit_schema(library)["$defs"]["RecallFile"]["properties"]

    assert "6 to 12 is usual (common practice, no source)" in recall["months"]["description"]
    assert recall["months"]["default"] is None
    (missing,) = (
        one for one in library.impossible
        if one.together == {"condition:open-cavity", "recall:none"}
    )  # fmt: skip
    assert "6 to 12 months is usual (common practice, no source)" in missing.instead


@pytest.mark.parametrize("months", range(6, 13))
def test_six_to_twelve_months_are_accepted_in_silence(
    months: int, visit: Callable[..., Discharge]
) -> None:
    for message in visit(months=months).messages:
        assert message.status is Status.RELEASED, message.withheld_because
        assert about_recall([*message.findings, *message.noted]) == []


@pytest.mark.parametrize("months", [3, 4, 5])
def test_three_to_five_months_are_accepted_and_worth_a_look(
    months: int, visit: Callable[..., Discharge]
) -> None:
    done = visit(months=months)

    for told in summary(done, Purpose.PATIENT)["messages"]:
        assert told["status"] == "released"
        assert about_recall(told["findings"]) == [
            f"recall in {months} months; 6 to 12 months is usual for condition:open-cavity "
            "(common practice, no source)"
        ]
        assert about_recall(told["noted"]) == []


@pytest.mark.parametrize("months", [1, 2, 13, 18, 24, 60])
def test_any_other_figure_is_asked_twice_told_and_kept_on_record(
    months: int, visit: Callable[..., Discharge]
) -> None:
    with pytest.raises(BadInput, match="repeat this one with 'confirmed' and the reason"):
        visit(months=months)

    done = visit(months=months, confirmed=REASON)

    kept = records(done, "2026-11-24T10:00:00Z")
    assert len(kept) == 3
    for record in kept:
        (noted,) = about_recall(list(record.noted))
        assert noted.endswith(f"confirmed by Idris Penhale; reason: {REASON}")
    for told in summary(done, Purpose.PATIENT)["messages"]:
        assert told["status"] == "released"
        assert about_recall(told["findings"]) == about_recall(told["noted"]) != []

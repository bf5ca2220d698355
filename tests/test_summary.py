"""A visit's outcome as plain data holds what the contract promises."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from aftercare.flow import Press, discharge
from aftercare.model import Case, Channel, Interval, Library, Purpose
from aftercare.summary import FILES, summary

ROOT = Path(__file__).parents[1]
SCHEMA = json.loads(
    (ROOT / "tests" / "contract" / "discharge-summary.schema.json").read_text("utf-8")
)


@pytest.fixture
def told(a_case: Callable[..., Case], press: Press, today: date) -> Callable[..., dict[str, Any]]:
    def of(
        library: Library,
        *,
        case: Case | None = None,
        purpose: Purpose = Purpose.PATIENT,
        channels: Iterable[Channel] = (),
        folder: str = "",
    ) -> dict[str, Any]:
        done = discharge(
            case or a_case(),
            library,
            press=press,
            today=today,
            purpose=purpose,
            channels=channels,
        )
        found = summary(done, purpose, folder)
        assert json.loads(json.dumps(found, allow_nan=False)) == found  # JSON values alone
        jsonschema.validate(found, SCHEMA)
        return found

    return of


def test_a_released_visit_names_its_files_scores_and_blocks(
    told: Callable[..., dict[str, Any]], approved: Library
) -> None:
    found = told(approved, folder="out/case-1/")

    assert (found["case"], found["library"]) == ("case-1", approved.fingerprint)
    assert found["sample"] is False
    sms, email, leaflet = found["messages"]
    assert [one["file"] for one in found["messages"]] == [
        f"out/case-1/{FILES[channel]}" for channel in Channel
    ]
    assert sms["sms"]["texts"]
    assert sms["sms"]["parts"] == len(sms["sms"]["texts"])
    assert leaflet["pages"] == 1
    assert "pages" not in email
    assert "sms" not in email
    assert email["scores"]["words"] > sms["scores"]["words"] > 0
    for message in found["messages"]:
        assert message["blocks"]
        assert all(block["because"] for block in message["blocks"])


def test_a_withheld_visit_has_reasons_and_neither_file_nor_text(
    told: Callable[..., dict[str, Any]], library: Library
) -> None:
    found = told(library)

    for message in found["messages"]:
        assert message["status"] == "withheld"
        assert message["withheld_because"]
        assert message["file"] is None
    assert found["messages"][0]["sms"]["texts"] == []  # nothing to copy out of a summary


def test_a_sample_says_what_would_have_stopped_it(
    told: Callable[..., dict[str, Any]], library: Library
) -> None:
    found = told(library, purpose=Purpose.SAMPLE)

    assert found["sample"] is True
    for message in found["messages"]:
        assert message["status"] == "released"
        assert message["withheld_because"] == []
        assert message["would_withhold"][0].startswith("not approved by a clinician")


def test_every_block_is_chosen_or_omitted_with_its_reason(
    told: Callable[..., dict[str, Any]], approved: Library
) -> None:
    found = told(approved, channels=[Channel.EMAIL])

    chosen = {block["id"] for block in found["messages"][0]["blocks"]}
    omitted = {one["id"]: one["because"] for one in found["omitted"]}
    assert chosen | set(omitted) == {block.id for block in approved.blocks}
    assert not chosen & set(omitted)
    assert all(omitted.values())


def test_the_recall_has_its_day_and_reasons_or_is_null(
    told: Callable[..., dict[str, Any]], a_case: Callable[..., Case], approved: Library
) -> None:
    agreed = told(approved)["recall"]
    none = told(approved, case=replace(a_case(), recall=None, recall_declined="moves away"))

    assert set(agreed) == {"due", "reason", "moved_because"}
    assert date.fromisoformat(agreed["due"]) > date(2026, 11, 24)
    assert none["recall"] is None


def test_a_recall_that_was_moved_says_why(
    told: Callable[..., dict[str, Any]], a_case: Callable[..., Case], approved: Library
) -> None:
    friday = a_case(visit_date=date(2026, 11, 20), recall=Interval(weeks=1))

    recall = told(approved, case=friday)["recall"]

    assert recall["due"] == "2026-11-30"  # the invented clinic opens Monday to Thursday
    assert recall["moved_because"] == "the clinic is closed on Fridays"
    assert recall["moved_because"] in recall["reason"]


def test_nothing_about_the_person_is_in_the_summary_but_the_texts_sent(
    told: Callable[..., dict[str, Any]], a_case: Callable[..., Case], approved: Library
) -> None:
    patient = a_case().patient

    said = json.dumps(told(approved))

    for personal in (patient.name, patient.mobile, patient.email):
        assert personal
        assert personal not in said

"""The table as a whole: every row has a named rule, and nothing the shelf says breaks one."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from made_up import HOME, TODAY, FakePress, a_case, a_patient, an_ear
from strategies import cases

from aftercare.choose import choose, patient_facts
from aftercare.edges.visit import parse_visit
from aftercare.flow import discharge
from aftercare.model import Case, Channel, Library, Message, Purpose, RuleBook, Status
from aftercare.recall import due
from aftercare.rules import BY_NAME, RULES, UNREVIEWED, Act, Asked, broken
from aftercare.word import word

DEMOS = sorted((HOME / "shared" / "demo").glob("*.toml"))
WARNS = {10, 15, 20}


def test_every_row_of_the_table_has_a_named_rule_with_its_source() -> None:
    assert {rule.row for rule in RULES} == set(range(1, 24))
    assert len(BY_NAME) == len(RULES)
    assert all(len(rule.source) > 10 for rule in RULES)
    assert {rule.row for rule in RULES if rule.act is Act.BLOCK} == set(range(1, 24)) - WARNS
    assert not any(rule.overridable for rule in RULES if rule.act is Act.WARN)


def asked(case: Case, library: Library) -> Asked:
    facts, choice = patient_facts(case, library), choose(case, library)
    recall = due(case.visit_date, case.recall, library.clinic) if case.recall else None
    worded = word(
        case, choice, facts, library, language=case.patient.language,
        recall=recall.on if recall else None,
    )  # fmt: skip
    return Asked(case, library, recall, facts, choice, worded, TODAY)


def messages(case: Case, library: Library) -> tuple[Message, ...]:
    return discharge(
        case, library, press=FakePress(), today=TODAY, purpose=Purpose.SAMPLE,
        channels=tuple(Channel),
    ).messages  # fmt: skip


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_no_demo_visit_breaks_a_rule_that_blocks(path: Any, library: Library) -> None:
    case = parse_visit(path.name, path.read_bytes(), library, TODAY)

    for message in messages(case, library):
        assert message.status is Status.RELEASED, message.withheld_because
        found = broken(message, asked(case, library))
        blocked = [one.text for one in found if one.act is Act.BLOCK]
        assert not blocked or {one.rule for one in found if one.act is Act.BLOCK} == {UNREVIEWED}


COMMON = [
    {"caution:diabetes"}, {"caution:weak-immunity"}, {"caution:radiotherapy"},
    {"caution:blood-thinner"}, {"caution:bone-medicine"}, {"need:deaf"}, {"texts:detail"},
    {"uses:hearing-aid"}, {"caution:fall-risk"}, {"caution:driver"},
]  # fmt: skip
TRANSLATED = sorted(path.parents[1].name for path in (HOME / "locales").glob("*/*/aftercare.po"))
EARS = [
    an_ear(*conditions, "procedure:suction", *more)
    for conditions in (
        ("condition:open-cavity",), ("condition:perforation",), ("condition:grommet",),
        ("condition:otitis-externa",), ("condition:wax",),
        ("condition:open-cavity", "condition:otitis-externa"),
        ("condition:perforation", "condition:wax"),
    )
    for more in ((), ("finding:discharge", "drops:prescribed"))
]  # fmt: skip


@pytest.mark.parametrize("language", ["en", "pl", "ur"])
@pytest.mark.parametrize("facts", COMMON, ids=str)
def test_the_shipped_shelf_breaks_no_blocking_rule_for_the_usual_patients(
    facts: set[str], language: str, library: Library
) -> None:
    for ear in EARS:
        for age in ("age:adult", "age:child"):
            who = a_patient(facts=frozenset({*facts, age}), language=language)
            case = a_case(patient=who, ears=(ear,))
            for message in messages(case, library):
                assert message.status is Status.RELEASED, (ear, age, message.withheld_because)


@given(case=cases(("en", "pl", "ur", "cy")))
@settings(max_examples=80, deadline=None)
def test_rules_never_raise(library: Library, case: Case) -> None:
    for message in messages(case, library):
        for one in broken(message, asked(case, library)):
            assert one.why
            assert one.rule.name in one.text or one.rule.wording == "{why}"


def test_a_language_without_words_is_told_of_and_never_passes_in_silence(
    approved: Library,
) -> None:
    words = {k: v for k, v in approved.rules.words.items() if k != "en"}
    deaf_to_it = replace(approved, rules=RuleBook(words, approved.rules.opposing))
    case = a_case(patient=a_patient(facts=frozenset({"age:adult", "caution:blood-thinner"})))
    message = messages(case, approved)[2]

    found = broken(message, asked(case, deaf_to_it))

    told = {one.rule.name: one.text for one in found}
    assert {"blood thinner", "wrong ear", "addressed to a parent"} <= set(told)
    assert all(one.act is Act.WARN for one in found)
    assert told["wrong ear"] == (
        "wrong ear (rule 17): cannot be checked in en; shared/rules.toml lacks words for it"
    )
    # What does not concern this patient needs no words.
    assert "nut oil" not in told


@pytest.mark.parametrize("language", TRANSLATED)
def test_a_translation_that_swaps_the_ear_is_withheld(language: str, approved: Library) -> None:
    catalogue = approved.catalogues[language]
    key = ("done-cleared", "The left ear is now clear.")
    swapped = catalogue.phrases[("done-cleared", "The right ear is now clear.")]
    phrases = {**catalogue.phrases, key: swapped}
    library = replace(approved, catalogues={language: replace(catalogue, phrases=phrases)})
    case = a_case(patient=a_patient(language=language))

    for found, held in ((approved, False), (library, True)):
        leaflet = messages(case, found)[2]
        reasons = [why for why in leaflet.withheld_because if why.startswith("wrong ear (rule 17)")]
        assert bool(reasons) is held
        assert (leaflet.status is Status.WITHHELD) is held

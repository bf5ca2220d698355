"""WORD: whole sentences in one language, each knowing its block and who stands behind it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, time
from typing import Any

import pytest
from made_up import a_case, a_patient, an_ear

from aftercare.choose import choose, patient_facts
from aftercare.library import read
from aftercare.model import Case, Catalogue, Kind, Library, Shape, Side, Worded
from aftercare.word import word

RECALL = date(2027, 5, 18)


def worded(library: Library, case: Case, language: str = "en") -> Worded:
    facts = patient_facts(case, library)
    choice = choose(case, library)
    return word(case, choice, facts, library, language=language, recall=RECALL)


def texts(told: Worded) -> list[str]:
    return [line.text for line in told.lines()]


def added(shelf: Mapping[str, bytes], *blocks: str) -> Library:
    """The shelf with blocks of its own put beside it."""
    files = dict(shelf)
    for number, block in enumerate(blocks):
        files[f"content/zzz/block-{number}.md"] = block.encode()
    return read(files, wanted=())


def block(name: str, body: str, *, given_for: str = "", kind: str = "care", rank: int = 1) -> str:
    return (
        f'---\nid: {name}\nversion: "1"\nkind: {kind}\nfor: [{given_for}]\nrank: {rank}\n'
        'sources: ["a paper"]\nauthor: "A. Writer"\napproval: {state: draft}\n'
        f"review_by: 2028-11-01\n---\n{body}\n"
    )


@pytest.mark.parametrize(
    ("ears", "said"),
    [
        ((an_ear(),), "L."),
        ((an_ear("procedure:suction", side=Side.RIGHT),), "R."),
        ((an_ear(), an_ear("procedure:suction", side=Side.RIGHT)), "B."),
    ],
)
def test_the_sentence_of_the_treated_side_is_said(
    shelf: Mapping[str, bytes], ears: tuple[object, ...], said: str
) -> None:
    three = "[side:left] L.\n\n[side:right] R.\n\n[side:both] B."
    library = added(shelf, block("zzz", three))

    told = texts(worded(library, a_case(ears=ears)))

    assert [text for text in told if text in {"L.", "R.", "B."}] == [said]


def test_a_parent_reads_a_parents_words(library: Library) -> None:
    child = a_case(patient=a_patient(facts=frozenset({"age:child"}), name="Tom"))

    assert worded(library, child).frame["salutation"].text == "Dear parent or carer of Tom,"
    assert worded(library, a_case()).frame["salutation"].text.startswith("Dear Orla")
    assert not [key for key in worded(library, child).frame if key.endswith("_parent")]


def test_signs_from_two_blocks_are_one_list_and_steps_are_not(shelf: Mapping[str, bytes]) -> None:
    library = added(
        shelf,
        block("aaa", "- one\n- two", kind="water", rank=1),
        block("bbb", "- three", kind="water", rank=2),
        block("ccc", "1. four\n2. five", kind="water", rank=3),
        block("ddd", "1. six\n2. seven", kind="water", rank=4),
    )

    water = next(s for s in worded(library, a_case()).sections if s.kind is Kind.WATER)

    shapes = [(p.shape, [line.text for line in p.lines]) for p in water.passages][:3]
    assert shapes == [
        (Shape.BULLETS, ["one", "two", "three"]),
        (Shape.STEPS, ["four", "five"]),
        (Shape.STEPS, ["six", "seven"]),
    ]


def test_two_lengths_make_two_sentences(library: Library) -> None:
    ears = (
        an_ear("procedure:suction", removed_mm=20),
        an_ear("procedure:suction", side=Side.RIGHT, removed_mm=30),
    )

    told = " ".join(texts(worded(library, a_case(ears=ears))))

    assert "left ear measured 2 cm" in told
    assert "right ear measured 3 cm" in told


def test_detail_in_texts_is_the_patients_own_choice(library: Library) -> None:
    asked = a_case(patient=a_patient(facts=frozenset({"age:adult", "texts:detail"})))

    plain = {one.block.id: line.text for one, line in worded(library, a_case()).short}
    detailed = {one.block.id: line.text for one, line in worded(library, asked).short}

    by_id = {one.id: one for one in library.blocks}
    assert plain["urgent-now-call"] != detailed["urgent-now-call"]
    assert set(plain) == {name for name in plain if by_id[name].sms is not None}
    # A block with no detailed form keeps its plain one.
    assert plain["contact-phone"] == detailed["contact-phone"]


def test_every_line_knows_its_block(library: Library) -> None:
    told = worded(library, a_case())

    ids = {one.id for one in library.blocks}
    assert {line.block_id for line in told.lines()} <= ids
    assert {line.block_id for line in told.frame.values()} == {"frame", "clinic"}


def test_the_sections_follow_the_order_of_the_page(library: Library) -> None:
    kinds = [section.kind for section in worded(library, a_case()).sections]

    assert kinds == sorted(set(kinds), key=list(Kind).index)
    assert kinds[:2] == [Kind.URGENT, Kind.CONTACT]


def test_a_whole_translation_misses_nothing(translated: Library) -> None:
    told = worded(translated, a_case(), "pl")

    assert told.missing == ()
    assert told.direction == "ltr"
    assert all(text.startswith("Ż ") for text in texts(told))
    assert all(line.approved for line in (*told.lines(), *told.frame.values()))
    assert worded(translated, a_case(), "ur").direction == "rtl"


def test_a_language_without_a_catalogue_misses_everything(library: Library) -> None:
    told = worded(replace(library, catalogues={}), a_case(), "pl")

    assert {"frame", "urgent-now-call", "clinic"} <= set(told.missing)
    assert not any(line.approved for line in told.lines())


def altered(library: Library, key: tuple[str, str], **changes: Any) -> Library:
    """The library with one entry of its Polish catalogue changed, or gone."""
    catalogue = library.catalogues["pl"]
    phrases = dict(catalogue.phrases)
    if changes:
        phrases[key] = replace(phrases[key], **changes)
    else:
        del phrases[key]
    changed = Catalogue(language="pl", direction="ltr", phrases=phrases)
    return replace(library, catalogues={**library.catalogues, "pl": changed})


def test_a_missing_sentence_is_named_by_its_block(translated: Library) -> None:
    key = ("urgent-now-signs", "Too dizzy to stand up.")

    assert worded(altered(translated, key), a_case(), "pl").missing == ("urgent-now-signs",)


def test_an_unapproved_sentence_is_marked(translated: Library) -> None:
    key = ("urgent-now-signs", "Too dizzy to stand up.")

    told = worded(altered(translated, key, approved_by=None), a_case(), "pl")

    assert [line.block_id for line in told.lines() if not line.approved] == ["urgent-now-signs"]


def test_unapproved_opening_hours_are_marked(translated: Library) -> None:
    key = ("clinic", translated.clinic.hours)

    told = worded(altered(translated, key, approved_by=None), a_case(), "pl")

    marked = [line.block_id for line in (*told.lines(), *told.frame.values()) if not line.approved]
    assert marked == ["clinic"]
    assert worded(altered(translated, key), a_case(), "pl").missing == ("clinic",)


@pytest.mark.parametrize(
    ("language", "told"),
    [
        ("en", "08:30–12:00 (Monday, Tuesday, Wednesday and Thursday)"),
        ("pl", "08:30–12:00 (poniedziałek, wtorek, środa i czwartek)"),
    ],
)
def test_hours_given_as_times_need_no_translator(
    translated: Library, language: str, told: str
) -> None:
    clinic = replace(translated.clinic, hours=(time(8, 30), time(12)))
    key = ("clinic", translated.clinic.hours)
    library = altered(replace(translated, clinic=clinic), key)

    made = worded(library, a_case(), language)

    assert made.missing == ()
    assert any(told in text for text in texts(made))
    assert (made.frame["hours"].text, made.frame["hours"].approved) == (told, True)


def test_the_source_language_is_approved_with_its_blocks(library: Library) -> None:
    assert all(line.approved for line in worded(library, a_case()).lines())

"""The SMS: what is vital never falls out, what falls out is told, and it is safe when seen."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_up import TODAY, a_case, a_patient
from strategies import cases

from aftercare.choose import choose, patient_facts
from aftercare.model import VITAL_KINDS, Case, Kind, Library, Limits, Purpose, Worded
from aftercare.render.gsm import count
from aftercare.render.sms import Texted, compose, part_limit, sheet
from aftercare.word import word


def worded(library: Library, case: Case) -> Worded:
    return word(
        case,
        choose(case, library),
        patient_facts(case, library),
        library,
        language=case.patient.language,
        recall=TODAY,
    )


def limits(library: Library, parts: int) -> Limits:
    return replace(library.limits, sms_parts=parts, sms_parts_ucs2=parts)


def composed(library: Library, case: Case, parts: int = 255) -> Texted:
    return compose(worded(library, case), limits(library, parts), Purpose.PATIENT)


def kept(texted: Texted) -> list[str]:
    return [one.block.id for one, _ in texted.kept]


def test_the_text_opens_with_the_clinic_then_what_is_vital(library: Library) -> None:
    texted = composed(library, a_case())

    lines = texted.text.split("\n")
    assert lines[0] == "Larkfield Clinic:"
    assert lines[1].startswith("Call 999 now")
    kinds = [one.block.kind in VITAL_KINDS for one, _ in texted.kept]
    assert kinds == sorted(kinds, reverse=True)
    assert library.clinic.phone in texted.text


def test_nothing_is_dropped_while_it_fits(library: Library) -> None:
    texted = composed(library, a_case())

    short = [one.block.id for one, _ in worded(library, a_case()).short]
    assert sorted(kept(texted)) == sorted(short)
    assert texted.dropped == ()


@given(case=cases(), parts=st.integers(1, 8))
@settings(max_examples=60, deadline=None)
def test_what_is_dropped_is_the_least_needed_and_never_vital(
    library: Library, case: Case, parts: int
) -> None:
    full, texted = composed(library, case), composed(library, case, parts)

    ranks = {one.block.id: (one.block.rank, one.block.id) for one, _ in full.kept}
    kinds = {one.block.id: one.block.kind for one, _ in full.kept}
    assert sorted([*kept(texted), *texted.dropped]) == sorted(kept(full))
    assert not any(kinds[name] in VITAL_KINDS for name in texted.dropped)
    spare = [ranks[name] for name in kept(texted) if kinds[name] not in VITAL_KINDS]
    # The highest rank goes first, and everything dropped ranks after everything kept.
    assert [ranks[name] for name in texted.dropped] == sorted(
        (ranks[name] for name in texted.dropped), reverse=True
    )
    assert all(ranks[gone] > one for gone in texted.dropped for one in spare)
    assert texted.count.parts <= parts or not spare


@given(case=cases(), parts=st.integers(1, 8))
@settings(max_examples=40, deadline=None)
def test_no_block_is_dropped_in_vain(library: Library, case: Case, parts: int) -> None:
    texted = composed(library, case, parts)
    if not texted.dropped:
        return

    # With the last one dropped put back, it would be over the limit again.
    told = worded(library, case)
    gone = set(texted.dropped[:-1])
    fuller = replace(told, short=tuple(p for p in told.short if p[0].block.id not in gone))
    assert compose(fuller, limits(library, 255), Purpose.PATIENT).count.parts > parts


def test_a_limit_that_nothing_fits_keeps_the_vital_words(library: Library) -> None:
    texted = composed(library, a_case(), 1)

    assert {one.block.kind for one, _ in texted.kept} == set(VITAL_KINDS)
    assert texted.count.parts > 1


def test_each_alphabet_has_its_own_limit(translated: Library) -> None:
    held = replace(translated.limits, sms_parts=3, sms_parts_ucs2=9)
    english = compose(worded(translated, a_case()), held, Purpose.PATIENT)
    polish = a_case(patient=a_patient(language="pl"))
    foreign = compose(worded(translated, polish), held, Purpose.PATIENT)

    assert (part_limit(english.count, held), part_limit(foreign.count, held)) == (3, 9)
    assert english.count.encoding == "GSM-7"
    assert foreign.count.encoding == "UCS-2"


@given(case=cases())
@settings(max_examples=40, deadline=None)
def test_the_parts_are_the_text_and_their_count_is_right(library: Library, case: Case) -> None:
    texted = composed(library, case)

    assert "".join(texted.count.texts) == texted.text
    assert texted.count == count(texted.text)


def test_a_sample_is_stamped(library: Library) -> None:
    texted = compose(worded(library, a_case()), library.limits, Purpose.SAMPLE)

    assert texted.text.startswith("Sample, not for patients\nLarkfield Clinic:\n")


def test_typographic_marks_do_not_make_it_ucs2(library: Library) -> None:
    clinic = replace(library.clinic, short_name="Lark’s “Clinic”")

    texted = composed(replace(library, clinic=clinic), a_case())

    assert texted.count.encoding == "GSM-7"
    assert texted.text.startswith('Lark\'s "Clinic":')


def test_the_sheet_shows_each_part_and_its_size(library: Library) -> None:
    texted = composed(library, a_case())

    shown = sheet(texted.count)

    for number, text in enumerate(texted.count.texts, 1):
        heading = f"Part {number} of {texted.count.parts}, {count(text).units} septets"
        assert f"{heading}\n{text}" in shown
    assert shown.endswith(
        f"GSM-7, {texted.count.units} septets, {texted.count.parts} parts in all\n"
    )


@pytest.mark.parametrize(
    ("letters", "parts", "with_gsm7"),
    [(70, 1, 1), (71, 2, 1), (160, 3, 1), (161, 3, 2), (533, 8, 4)],
)
def test_the_sheet_says_what_an_alphabet_outside_gsm7_costs(
    letters: int, parts: int, with_gsm7: int
) -> None:
    """3GPP TS 23.038: 70 or 160 characters alone, 67 or 153 in a part of several."""
    shown = sheet(count("ک" * letters))

    assert shown.endswith(f" {parts} parts in all ({with_gsm7} if GSM-7 had its letters)\n")


@pytest.mark.parametrize("facts", [{"age:adult"}, {"age:child"}, {"age:adult", "need:deaf"}])
def test_it_says_the_urgent_signs_the_emergency_and_the_route(
    library: Library, facts: set[str]
) -> None:
    case = a_case(patient=a_patient(facts=frozenset(facts)))

    texted = composed(library, case, 1)

    said = texted.text
    assert Kind.URGENT in {one.block.kind for one, _ in texted.kept}
    assert "weak or numb face" in said
    assert "heavy bleeding" in said
    assert library.region.emergency_number in said
    route = library.clinic.text_number if "need:deaf" in facts else library.clinic.phone
    assert str(route) in said

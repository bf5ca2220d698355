"""Every wording a patient can meet, once, with the hardest value in each slot that is words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import date, time

import pytest
from hypothesis import given, settings
from made_up import TODAY, FakePress
from made_up_blocks import block
from strategies import cases

from aftercare.flow import discharge
from aftercare.model import Case, Channel, Library, Line, Purpose, Role, Span
from aftercare.proof import held_to
from aftercare.proof.stand_ins import stand_ins
from aftercare.proof.wordings import FRAME, PAGE, SMS, SMS_DETAIL, Wording, wordings
from aftercare.score import count_lines
from aftercare.word.formats import full_date, reader_locale

Made = Callable[..., Library]


def said(found: Iterable[Wording], name: str, form: str = PAGE) -> dict[tuple[str, ...], str]:
    """The words of a block by the facts that choose them."""
    return {
        one.when: " / ".join(line.text for line in one.lines)
        for one in found
        if (one.block, one.form) == (name, form)
    }


def test_a_block_has_a_wording_for_every_reader_who_meets_other_words(shelf_of: Made) -> None:
    body = (
        "Rest.\n\n"
        "- [side:left] Left.\n- [side:right] Right.\n- [side:both] Both.\n\n"
        "[reader:self] You.\n\n[reader:parent] Your child.\n"
    )
    found = said(wordings(shelf_of(block("b", body)), "en"), "b")

    assert found == {
        (f"reader:{reader}", f"side:{side}"): f"Rest. / {side.title()}. / {words}"
        for reader, words in (("self", "You."), ("parent", "Your child."))
        for side in ("left", "right", "both")
    }


def test_facts_that_choose_nothing_on_the_page_part_no_page(shelf_of: Made) -> None:
    more = 'sms:\n  - "[side:left] Left."\n  - "[side:right] Right."\n  - "[side:both] Both."\n'
    found = wordings(shelf_of(block("b", "Rest.", more=more)), "en")

    assert said(found, "b") == {(): "Rest."}
    assert set(said(found, "b", SMS)) == {("side:left",), ("side:right",), ("side:both",)}
    assert said(found, "b", SMS_DETAIL) == {}


def test_a_reader_the_block_is_not_for_has_no_wording(shelf_of: Made) -> None:
    body = "[reader:parent] Your child.\n"
    found = said(wordings(shelf_of(block("b", body, given="reader:parent")), "en"), "b")

    assert found == {("reader:parent",): "Your child."}


def test_the_frame_comes_first_and_a_retired_block_never(shelf_of: Made) -> None:
    library = shelf_of(block("gone", "Rest.", state="retired"), block("here", "Rest."))

    assert [one.block for one in wordings(library, "en")] == [FRAME, "here"]


def test_a_parent_s_wording_of_a_frame_sentence_is_a_wording(library: Library) -> None:
    texts = {**library.frame.texts, "caution_parent": library.frame.texts["signoff"]}
    framed = replace(library, frame=replace(library.frame, texts=texts))

    frames = [one for one in wordings(framed, "en") if one.block == FRAME]

    assert len(frames) == 2
    assert frames[0].lines[0] == frames[1].lines[0]
    assert frames[0].lines[1] != frames[1].lines[1]
    assert len([one for one in wordings(library, "en") if one.block == FRAME]) == 1


def test_each_wording_comes_once(library: Library) -> None:
    for language in ("en", *library.catalogues):
        found = wordings(library, language, held_to(language, library))
        again = Counter((one.block, one.form, one.when) for one in found)
        assert again.most_common(1)[0][1] == 1


def test_a_phrase_without_a_translation_is_left_out(library: Library) -> None:
    polish = library.catalogues["pl"]
    bare = replace(polish, phrases={})

    found = wordings(replace(library, catalogues={"pl": bare}), "pl")

    assert found
    assert all(one.lines == () for one in found)
    assert all(one.lines for one in wordings(library, "pl"))


def test_a_slot_that_is_no_word_stays_as_it_is_written(shelf_of: Made) -> None:
    library = shelf_of(block("b", "Call {clinic_phone} or write to {clinic_email}."))

    (words,) = said(wordings(library, "en"), "b").values()

    assert words == "Call {clinic_phone} or write to {clinic_email}."
    (one,) = (one for one in wordings(library, "en") if one.block == "b")
    assert [span.role for span in one.lines[0].spans if span.role is not Role.WORDS] == [
        Role.PHONE,
        Role.LINK,
    ]
    # Call, or, write, to.
    assert count_lines(one.lines, "en").words == 4


@given(case=cases(("en", "pl", "ur")))
@settings(max_examples=40, deadline=None)
def test_every_sentence_of_a_message_stands_in_some_wording(library: Library, case: Case) -> None:
    """But for what a slot was filled with."""
    known = {
        (one.block, bare(line))
        for one in wordings(library, case.patient.language)
        for line in one.lines
    }
    (page,) = discharge(
        case,
        library,
        press=FakePress(),
        today=TODAY,
        purpose=Purpose.SAMPLE,
        channels=[Channel.EMAIL],
    ).messages

    assert {(line.block_id, bare(line)) for line in page.lines} <= known


def bare(line: Line) -> str:
    """A line without what its slots hold."""
    # A slot is a span of its own; one of words has a figure or opens with a weekday.
    return "".join(
        span.text if span.role is Role.WORDS and not is_filled(span) else "\ufffc"
        for span in line.spans
    )


def is_filled(span: Span) -> bool:
    return any(map(str.isdigit, span.text)) or "¼½¾".find(span.text[:1]) >= 0


# --- what stands in ---------------------------------------------------------------------


def alone(text: str, language: str) -> tuple[int, int, int]:
    counts = count_lines([Line((Span(text),), FRAME, approved=True)], language)
    return counts.words, counts.syllables or 0, counts.four_syllables or 0


@pytest.mark.parametrize("language", ["en", "pl"])
def test_no_day_costs_more_than_the_one_that_stands_in(language: str, library: Library) -> None:
    (filled,) = stand_ins(library, language, held_to(language, library))
    words, syllables, long_words = alone(filled["visit_date"], language)
    locale = reader_locale(language, library.clinic.territory)

    for day in range(1, 366):
        on = full_date(date.fromordinal(date(2026, 1, 1).toordinal() + day), locale)
        told = alone(on, language)
        assert told[0] == words
        assert told[1 if language == "en" else 2] <= (
            syllables if language == "en" else long_words
        ), on
    assert filled["visit_date"] == filled["recall_date"]


def test_the_day_that_stands_in_is_the_language_s_own(library: Library) -> None:
    (english,) = stand_ins(library, "en", held_to("en", library))
    (polish,) = stand_ins(library, "pl", held_to("pl", library))

    # Three syllables and four; every other weekday has two, and no month has more.
    assert english["visit_date"].startswith("Saturday, ")
    assert "uary" in english["visit_date"]
    # Four syllables each, which FOG-PL counts.
    assert polish["visit_date"].startswith("poniedziałek, ")
    assert "października" in polish["visit_date"]
    assert polish["removed_cm"].endswith("cm")
    assert polish["clinic_hours"] != english["clinic_hours"]


def test_hours_given_as_times_stand_in_as_they_will_be_told(library: Library) -> None:
    clinic = replace(library.clinic, hours=(time(9), time(17)), open_days=frozenset({4}))

    (polish,) = stand_ins(replace(library, clinic=clinic), "pl", held_to("pl", library))

    assert polish["clinic_hours"] == "09:00–17:00 (piątek)"


def test_values_of_other_lengths_stand_in_beside_each_other(library: Library) -> None:
    """Irish says some weekdays in two words and some in one, so a sentence may be longer."""
    days = [filled["visit_date"] for filled in stand_ins(library, "ga", None)]

    assert len(days) > 1
    assert len({alone(day, "ga")[0] for day in days}) == len(days)


def test_a_sentence_is_never_longer_than_with_what_stands_in(shelf_of: Made) -> None:
    library = shelf_of(block("b", "Come by {recall_date}.", given="recall:agreed"))

    irish = replace(library, source_language="ga")
    counted = {
        count_lines(one.lines, "ga").words for one in wordings(irish, "ga") if one.block == "b"
    }

    assert len(counted) > 1

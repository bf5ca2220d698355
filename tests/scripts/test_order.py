"""What stands where in plain text: every sentence of every catalogue, by Unicode's algorithm.

By python-bidi, a reading of Unicode Standard Annex 9 (version 15) that is not ours.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache
from itertools import product
from unicodedata import category

import pytest
from bidi import get_display
from made_up import HOME
from made_up_recalls import a_person
from made_up_reminders import an_order
from scripts.written import LANGUAGES, RIGHT_TO_LEFT, reminding, text_of, written

from aftercare.edges.folder import read_home
from aftercare.library import read
from aftercare.model import SLOTS, Channel, Library, Line, Moment, Phrase, Piece, Role, Span
from aftercare.proof.stand_ins import longest, numbers
from aftercare.recall.people import Person
from aftercare.reminding import Order
from aftercare.render import isolate
from aftercare.render.isolate import FSI, LRI, PDI, plain
from aftercare.render.unparted import unparted
from aftercare.word.formats import full_date, short_date

PEOPLE = (
    {"patient_name": "Shabana Qureshi", "clinician": "Sunniva Okoro"},
    {"patient_name": "شبانہ قریشی", "clinician": "Dr. محمد O’Neil"},
)
INVISIBLE = "\u200e\u200f\u061c\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
SEEN_WHOLE = (Role.PHONE, Role.LINK)

in_every_language = pytest.mark.parametrize("language", LANGUAGES)
right_to_left = pytest.mark.parametrize("language", sorted(RIGHT_TO_LEFT))


@cache
def shelf() -> Library:
    return read(read_home(HOME))


def phrases(language: str) -> Iterator[tuple[str, Phrase]]:
    """Every sentence there is in a language, in every form it has for a number."""
    library = shelf()
    if language == library.source_language:
        for block in library.shelf:
            for unit in block.units():
                yield from ((block.id, variant.phrase) for variant in unit.variants)
        yield from (("frame", phrase) for phrase in library.frame.texts.values())
        return
    for (context, _), found in library.catalogues[language].phrases.items():
        yield from ((context, form) for form in found.phrase.forms)


@cache
def lines(language: str) -> tuple[Line, ...]:
    """The sentences with what a visit to this clinic puts in their slots, for two patients.

    Dates as pages and as text messages have them.
    """
    library = shelf()
    known = [
        {**numbers(library), **longest(library, language, dated), **people}
        for dated, people in product((full_date, short_date), PEOPLE)
    ]
    return tuple(
        dict.fromkeys(
            Line(tuple(_filled(piece, values) for piece in phrase.pieces), name, True)
            for values in known
            for name, phrase in phrases(language)
        )
    )


def _filled(piece: Piece, values: dict[str, str]) -> Span:
    if not piece.slot:
        return Span(piece.text)
    return Span(values.get(piece.text, "30"), SLOTS[piece.text])


def bare(text: str) -> str:
    return "".join(char for char in text if char not in INVISIBLE)


def seen(text: str, base: str | None) -> str:
    """What an eye meets from the left; without a base, in the direction a reader's app guesses."""
    return bare(get_display(text, base_dir=base))


def base_of(language: str) -> str:
    return "R" if language in RIGHT_TO_LEFT else "L"


def way(language: str) -> str:
    return "rtl" if language in RIGHT_TO_LEFT else "ltr"


# --- whole catalogues ---------------------------------------------------------------------


@in_every_language
def test_every_isolate_that_is_opened_is_closed(language: str) -> None:
    assert len(lines(language)) > 250
    for line in lines(language):
        depth = 0
        for char in plain(line, way(language)):
            depth += (char in (LRI, FSI)) - (char == PDI)
            assert depth in (0, 1), line.text
        assert depth == 0, line.text


@in_every_language
def test_numbers_and_addresses_are_seen_as_they_are_rung(language: str) -> None:
    asked = 0
    for line in lines(language):
        shown = seen(plain(line, way(language)), base_of(language))
        whole = [span.text for span in line.spans if span.role in SEEN_WHOLE]
        asked += len(whole)

        assert [one for one in whole if one not in shown] == [], line.text
    assert asked > 20


@in_every_language
def test_names_dates_and_lengths_are_seen_as_they_are_by_themselves(language: str) -> None:
    for line in lines(language):
        shown = seen(plain(line, way(language)), base_of(language))
        inside = [s.text for s in line.spans if s.role not in (*SEEN_WHOLE, Role.WORDS)]

        assert [one for one in inside if seen(one, None) not in shown] == [], line.text


@in_every_language
def test_the_mark_that_ends_a_sentence_is_seen_at_its_end(language: str) -> None:
    ended = 0
    for line in lines(language):
        text = bare(plain(line, way(language)))
        if category(text[-1]) == "Po":
            shown = seen(plain(line, way(language)), base_of(language))
            ended += 1

            assert shown[0 if language in RIGHT_TO_LEFT else -1] == text[-1], text
    assert ended > 150


@in_every_language
def test_a_list_has_its_mark_where_lines_begin(language: str) -> None:
    for line in lines(language):
        for mark, turned in (("- ", " -"), ("1. ", " .1"), ("12. ", " .12")):
            shown = seen(mark + plain(line, way(language)), base_of(language))

            assert shown.endswith(turned) if language in RIGHT_TO_LEFT else shown.startswith(mark)


@in_every_language
def test_an_app_that_guesses_the_direction_guesses_right(language: str) -> None:
    """Annex 9, P2 and P3: by the first letter outside isolates. Numbers of steps are no letters."""
    for line in lines(language):
        for mark in ("", "- ", "1. ", "== "):
            text = mark + plain(line, way(language))

            assert seen(text, None) == seen(text, base_of(language)), line.text


@right_to_left
def test_a_space_that_is_no_place_to_end_a_line_turns_nothing(language: str) -> None:
    """It is a separator of numbers (CS), and an ordinary one is not (WS)."""
    held = 0
    for line in lines(language):
        kept = "".join(span.text for span in unparted(line.spans, language))
        held += kept != line.text

        assert seen(kept, "R").replace("\u00a0", " ") == seen(line.text, "R"), line.text
    assert held > 20


# --- whole messages -----------------------------------------------------------------------


@in_every_language
@pytest.mark.parametrize("channel", [Channel.SMS, Channel.EMAIL])
def test_each_line_of_a_message_is_seen_in_its_order_by_an_app_that_guesses(
    language: str, channel: Channel
) -> None:
    one = written(language)
    text = one.sms if channel is Channel.SMS else one.email[0]
    told = [line for line in text.splitlines() if line.strip("- \r")]
    rung = shelf().clinic.phone

    assert len(told) > 6
    assert [line for line in told if seen(line, None) != seen(line, base_of(language))] == []
    assert sum(rung in seen(line, None) for line in told) == sum(rung in line for line in told) > 0


RINGS = {
    "Latin": a_person(),
    "Arabic": a_person(first_name="شبانہ", last_name="O’Neil (2)"),
}


def reminded(language: str, moment: Moment, channel: Channel, person: Person) -> tuple[Order, str]:
    """A reminder as it is read: the text message, or the plain text of the e-mail."""
    order = an_order(moment, channel, person=replace(person, language=language))
    message = reminding().write(order)
    if channel is Channel.SMS:
        assert message.sms is not None, message.withheld_because
        return order, "".join(message.sms.texts)
    return order, text_of(message)


SENT = [
    (moment, channel)
    for moment in Moment
    for channel in (Channel.SMS, Channel.EMAIL)
    if (moment, channel) != (Moment.LETTER, Channel.EMAIL)
]


@right_to_left
@pytest.mark.parametrize(("moment", "channel"), SENT)
@pytest.mark.parametrize("person", RINGS.values(), ids=RINGS)
def test_each_line_of_a_reminder_is_seen_in_its_order(
    language: str, moment: Moment, channel: Channel, person: Person
) -> None:
    """Dates, times, names, numbers and addresses among right-to-left words."""
    order, text = reminded(language, moment, channel, person)
    told = [line for line in text.splitlines() if line.strip("- \r")]
    clinic = shelf().clinic
    values = [
        *(span.text for span in order.filled(shelf(), language).values()),
        *(clinic.phone, clinic.text_number or "", clinic.email, clinic.short_name),
    ]

    assert len(told) >= 4
    assert [line for line in told if seen(line, None) != seen(line, "R")] == []
    there = [(one, line) for line in told for one in values if one and one in bare(line)]
    assert len(there) >= 2
    assert [one for one, line in there if seen(one, None) not in seen(line, None)] == []


# --- seen to fail -------------------------------------------------------------------------


@right_to_left
@pytest.mark.parametrize(
    "check",
    [
        test_numbers_and_addresses_are_seen_as_they_are_rung,
        test_names_dates_and_lengths_are_seen_as_they_are_by_themselves,
        test_an_app_that_guesses_the_direction_guesses_right,
    ],
)
def test_without_isolates_each_of_these_would_fail(
    language: str, check: Callable[[str], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(plain.__globals__, "isolated", lambda span, direction: span.text)
    monkeypatch.setitem(plain.__globals__, "RLM", "")

    with pytest.raises(AssertionError):
        check(language)


@right_to_left
def test_an_isolate_that_is_not_closed_would_be_seen(
    language: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(isolate, "PDI", "")

    with pytest.raises(AssertionError):
        test_every_isolate_that_is_opened_is_closed(language)


@right_to_left
@pytest.mark.parametrize(
    "check",
    [
        test_the_mark_that_ends_a_sentence_is_seen_at_its_end,
        test_a_list_has_its_mark_where_lines_begin,
    ],
)
def test_a_mark_on_the_wrong_side_would_be_seen(
    language: str, check: Callable[[str], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(check.__globals__, "base_of", lambda language: "L")

    with pytest.raises(AssertionError):
        check(language)

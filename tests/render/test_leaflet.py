"""The data of a leaflet: every word arrives, in order, as text that keeps its direction."""

from __future__ import annotations

import json
from datetime import date
from itertools import pairwise
from typing import Any
from unicodedata import category, combining, normalize

import pytest
from bidi import get_display
from hypothesis import given
from hypothesis import strategies as st

from aftercare.errors import BadContent
from aftercare.model import (
    Approval,
    ApprovalState,
    Block,
    Chosen,
    Kind,
    Line,
    Passage,
    Purpose,
    Role,
    Section,
    Shape,
    Side,
    Span,
    Worded,
)
from aftercare.render.leaflet import Paper, leaflet_data

FRAME = ("title", "salutation", "visit_line", "caution", "signoff", "page", "edition", "stamp")
STEERING = "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"


def line(*spans: Span | str, block: str = "block-1") -> Line:
    return Line(tuple(Span(s) if isinstance(s, str) else s for s in spans), block, approved=True)


def section(kind: Kind, *lines: Line, shape: Shape = Shape.PARAGRAPHS) -> Section:
    return Section(kind, line(f"About {kind.value}"), (Passage(shape, lines),))


def worded(
    *sections: Section, language: str = "en", direction: str = "ltr", **frame: Line
) -> Worded:
    words = {key: line(f"the {key}", block="frame") for key in FRAME} | frame
    return Worded(language=language, direction=direction, frame=words, sections=sections, short=())


def data(letter: Worded, purpose: Purpose = Purpose.PATIENT, **more: Any) -> dict[str, Any]:
    made = leaflet_data(letter, clinic="Marsh Lane", purpose=purpose, point=12.0, **more)
    return dict(json.loads(made))


def said(given: dict[str, Any]) -> str:
    """What one line of the data says, with its isolates."""
    parts = (part for run in given["runs"] for part in run["parts"])
    return "".join(part if isinstance(part, str) else "".join(part) for part in parts)


def salutation(*spans: Span | str) -> str:
    return said(data(worded(salutation=line(*spans)))["salutation"])


def bare(text: str) -> str:
    return "".join(char for char in text if char not in STEERING)


def test_urgent_and_contact_are_set_apart_and_keep_their_order() -> None:
    made = data(worded(*(section(kind, line("x")) for kind in Kind)))

    assert [one["kind"] for one in made["vital"]] == ["urgent", "contact"]
    assert [one["kind"] for one in made["sections"]] == [
        "done",
        "normal",
        "care",
        "water",
        "recall",
        "others",
    ]


def test_a_section_keeps_its_heading_shapes_lines_and_where_they_came_from() -> None:
    steps = section(Kind.CARE, line("First", block="a"), line("Then", block="b"), shape=Shape.STEPS)

    made = data(worded(steps))["sections"][0]

    assert said(made["heading"]) == "About care"
    assert made["passages"][0]["shape"] == "steps"
    assert [(one["place"], said(one)) for one in made["passages"][0]["lines"]] == [
        ("a", "First"),
        ("b", "Then"),
    ]


def test_bold_spans_stay_bold_and_numbers_to_ring_stand_out() -> None:
    spans = (Span("Ring "), Span("now", strong=True), Span("999", Role.PHONE))

    runs = data(worded(salutation=line(*spans)))["salutation"]["runs"]

    assert [run["weight"] for run in runs] == ["plain", "strong", "number"]


def test_only_a_sample_carries_the_stamp() -> None:
    assert data(worded())["stamp"] is None
    assert said(data(worded(), Purpose.SAMPLE)["stamp"]) == "the stamp"


def test_a_patients_copy_needs_no_stamp_in_the_frame_but_a_sample_does() -> None:
    letter = worded()
    unstamped = Worded(
        language="en",
        direction="ltr",
        frame={key: words for key, words in letter.frame.items() if key != "stamp"},
        sections=(),
        short=(),
    )

    data(unstamped)
    with pytest.raises(BadContent, match="stamp"):
        data(unstamped, Purpose.SAMPLE)


@pytest.mark.parametrize("key", sorted(set(FRAME) - {"stamp"}))
def test_a_missing_frame_text_is_named(key: str) -> None:
    letter = worded()
    frame = {name: words for name, words in letter.frame.items() if name != key}
    lacking = Worded(language="en", direction="ltr", frame=frame, sections=(), short=())

    with pytest.raises(BadContent, match=key):
        data(lacking)


@pytest.mark.parametrize(
    ("tag", "parts"),
    [
        ("en", ("en", None, None)),
        ("pt-BR", ("pt", None, "BR")),
        ("zh_Hans_CN", ("zh", "Hans", "CN")),
        ("ur", ("ur", None, None)),
    ],
)
def test_a_language_tag_is_split_as_rfc_5646_writes_it(
    tag: str, parts: tuple[str, str | None, str | None]
) -> None:
    language = data(worded(language=tag))["language"]

    assert (language["code"], language["script"], language["region"]) == parts


def test_size_paper_and_direction_come_from_the_caller() -> None:
    letter = worded(language="ur", direction="rtl")
    made = json.loads(
        leaflet_data(letter, clinic="c", purpose=Purpose.PATIENT, point=18.0, paper=Paper.LETTER)
    )

    assert (made["point"], made["paper"], made["direction"]) == (18.0, "us-letter", "rtl")


def test_the_edition_stands_after_its_word() -> None:
    assert bare(said(data(worded(), edition="7f3a 91c2")["edition"])) == "the edition 7f3a 91c2"
    assert said(data(worded())["edition"]) == "the edition"


def test_blocks_are_listed_once_with_their_versions() -> None:
    picks = [chosen("cavity", "1.2"), chosen("water", "2.0"), chosen("cavity", "1.2")]

    assert data(worded(), chosen=picks)["blocks"] == ["cavity 1.2", "water 2.0"]


def chosen(block_id: str, version: str) -> Chosen:
    block = Block(
        id=block_id,
        version=version,
        kind=Kind.CARE,
        given_for=(),
        withheld_from=(),
        rank=0,
        parts=(),
        sms=None,
        sms_detail=None,
        sources=(),
        author="A",
        approval=Approval(ApprovalState.DRAFT),
        review_by=date(2027, 1, 1),
        place="x.md:1",
    )
    return Chosen(block, Side.LEFT, ("because",))


# --- direction ---------------------------------------------------------------------------


@pytest.mark.parametrize("role", [Role.PHONE, Role.LINK])
def test_numbers_and_links_are_isolated_left_to_right(role: Role) -> None:
    assert salutation("a", Span("7", role), "b") == "a\u20667\u2069b"


@pytest.mark.parametrize("role", [Role.NAME, Role.DATE, Role.ADDRESS])
def test_names_dates_and_addresses_are_isolated_by_their_own_letters(role: Role) -> None:
    assert salutation("a", Span("7", role), "b") == "a\u20687\u2069b"


@pytest.mark.parametrize("number", ["01632 960123", "+44 1632 960123", "(01632) 960123"])
def test_a_phone_number_reads_in_order_among_urdu_words(number: str) -> None:
    """Unicode Standard Annex 9; python-bidi is the reference for the order on the page."""
    loose = f"آپ {number} پر فون کریں"
    kept = salutation("آپ ", Span(number, Role.PHONE), " پر فون کریں")

    assert number not in shown(loose), "the case is not a case: it needs no isolate"
    assert number in shown(kept)


def shown(text: str) -> str:
    """The characters from left to right, as they stand on the page of a right-to-left text."""
    ordered = get_display(text, base_dir="R")
    assert isinstance(ordered, str)
    return bare(ordered).replace("\u00a0", " ")


@pytest.mark.parametrize("trick", ["\u202eabc", "\u2069\u202eabc", "abc\u202d\u2067", "\u2068abc"])
@pytest.mark.parametrize("role", [Role.NAME, Role.DATE, Role.ADDRESS, Role.LINK, Role.PHONE])
def test_a_direction_override_in_a_name_turns_nothing_outside_or_inside_it(
    trick: str, role: Role
) -> None:
    after = " – ring 999, then 01632 960123."

    assert salutation("For ", Span(trick, role), after) == salutation(
        "For ", Span("abc", role), after
    )


def test_a_phone_number_is_never_broken_at_a_space() -> None:
    assert " " not in salutation(Span("+44 1632 960123", Role.PHONE))


# --- words as they are -------------------------------------------------------------------


HOSTILE = st.sampled_from(
    ["#panic()", "*b*", "$x$", "<script>", "=1+1", "{}[]", "\\", '"', "//", "@r", "`", "~", "--"]
)
ANY_TEXT = st.lists(st.one_of(HOSTILE, st.text(max_size=12)), max_size=6).map("".join)


@given(text=ANY_TEXT, role=st.sampled_from(Role))
def test_any_text_arrives_letter_for_letter(text: str, role: Role) -> None:
    arrived = salutation(Span(text, role))

    assert bare(arrived).replace("\u00a0", " ") == bare(normalize("NFC", text)).replace(
        "\u00a0", " "
    )


def test_letters_and_accents_are_put_together() -> None:
    assert salutation("Sia\u0302n W\u0302yn") == "Siân Ŵyn"


def parts(*spans: Span) -> list[Any]:
    runs = data(worded(salutation=line(*spans)))["salutation"]["runs"]
    return [part for run in runs for part in run["parts"]]


def test_an_address_too_long_for_a_line_may_break_after_its_marks() -> None:
    given = Span("write to ear.nurse@marsh-lane.example now")

    assert parts(given) == [
        "write to ",
        ["ear.", "nurse@", "marsh-", "lane.", "example"],
        " now",
    ]


def test_a_broken_word_of_an_isolated_span_has_its_own_isolate() -> None:
    assert parts(Span("ear.nurse@marsh-lane.example", Role.LINK)) == [
        "\u2066",
        ["\u2066", "ear.", "nurse@", "marsh-", "lane.", "example", "\u2069"],
        "\u2069",
    ]


def test_names_and_words_are_kept_together_at_their_hyphens() -> None:
    assert parts(Span("Ewa Wójcik-Łęcka", Role.NAME)) == [
        "\u2068",
        "Ewa ",
        ["\u2068", "Wójcik-Łęcka", "\u2069"],
        "\u2069",
    ]
    # An "e-" at the end of a line was seen in the Welsh leaflet.
    assert parts(Span("anfonwch e-bost, atom")) == ["anfonwch ", ["e-bost,"], " atom"]


def test_words_of_ordinary_length_are_left_whole() -> None:
    assert parts(Span("otolaryngologist antidisestablishment")) == [
        "otolaryngologist antidisestablishment"
    ]


@given(st.text(st.sampled_from("aé\u0302\u0301\u093f\u094dकर\u200d\u200cW"), min_size=63))
def test_a_long_word_never_parts_a_letter_from_its_marks_or_joiners(word: str) -> None:
    (pieces,) = parts(Span(word))

    assert "".join(pieces) == normalize("NFC", word)
    assert all(pieces)
    for left, right in pairwise(pieces):
        assert not combining(right[0])
        assert category(right[0])[0] != "M"
        assert not {left[-1], right[0]} & {"\u200c", "\u200d"}


def test_the_same_words_make_the_same_data() -> None:
    letter = worded(section(Kind.CARE, line("x")))
    turned = Worded(
        language="en",
        direction="ltr",
        frame=dict(sorted(letter.frame.items(), reverse=True)),
        sections=letter.sections,
        short=(),
    )

    pressed = [
        leaflet_data(one, clinic="c", purpose=Purpose.SAMPLE, point=12.0)
        for one in (letter, turned)
    ]
    assert pressed[0] == pressed[1]

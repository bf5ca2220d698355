"""Isolates: numbers and names keep their order among words of the other direction (UAX 9)."""

from __future__ import annotations

import pytest
from bidi import get_display
from hypothesis import example, given
from hypothesis import strategies as st
from strategies import ODD_NAMES, hostile_texts

from aftercare.model import Line, Role, Span
from aftercare.render.isolate import FSI, LRI, PDI, isolated, plain

STEERING = "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
URDU = "ابھی فون کریں "


def bare(text: str) -> str:
    return "".join(char for char in text if char not in STEERING)


def seen(line: Line, direction: str) -> str:
    """What an eye meets from the left, by the reference algorithm."""
    base = "R" if direction == "rtl" else "L"
    return bare(get_display(plain(line, direction), base_dir=base))


@pytest.mark.parametrize(
    ("role", "opener"),
    [
        (Role.PHONE, LRI),
        (Role.LINK, LRI),
        (Role.NAME, FSI),
        (Role.ADDRESS, FSI),
        (Role.DATE, FSI),
    ],
)
def test_in_right_to_left_text_every_inserted_value_is_isolated(role: Role, opener: str) -> None:
    assert isolated(Span("01632 960142", role), "rtl") == f"{opener}01632 960142{PDI}"


def test_words_are_never_isolated() -> None:
    assert isolated(Span("کان"), "rtl") == "کان"
    assert isolated(Span("שרה"), "ltr") == "שרה"


@pytest.mark.parametrize("text", ["01632 960142", "Zoë O’Neil", "李明", "hello@larkfield.example"])
@pytest.mark.parametrize("role", list(Role))
def test_left_to_right_text_is_left_alone(text: str, role: Role) -> None:
    assert isolated(Span(text, role), "ltr") == text


@pytest.mark.parametrize("number", ["18001 111", "01632 960142", "+44 1632 960142", "999"])
def test_a_phone_number_is_seen_in_its_order_among_urdu(number: str) -> None:
    line = Line((Span(URDU), Span(number, Role.PHONE), Span(" یا ")), "b", approved=True)

    assert number in seen(line, "rtl")


def test_without_isolates_a_number_in_two_groups_would_be_turned_round() -> None:
    # The fault the isolates are there for: this check is seen to fail without them.
    loose = bare(get_display(f"{URDU}18001 111 یا ", base_dir="R"))

    assert "18001 111" not in loose


@pytest.mark.parametrize(
    ("spans", "marked"),
    [
        ((Span("Larkfield", Role.NAME), Span(":")), True),
        ((Span("999", Role.PHONE),), True),
        ((Span("NHS "), Span(URDU)), True),
        ((Span("Larkfield", Role.NAME), Span(f": {URDU}")), False),
        ((Span(URDU),), False),
    ],
)
def test_a_line_an_app_would_take_for_left_to_right_begins_with_a_mark(
    spans: tuple[Span, ...], marked: bool
) -> None:
    """By python-bidi, which guesses a line's direction as annex 9 says (P2, P3)."""
    line = Line(spans, "b", approved=True)

    assert plain(line, "rtl").startswith("\u200f") == marked
    assert get_display(plain(line, "rtl")) == get_display(plain(line, "rtl"), base_dir="R")
    if marked:
        loose = plain(line, "rtl").removeprefix("\u200f")
        assert get_display(loose) != get_display(loose, base_dir="R") or line.text == "999"


@pytest.mark.parametrize("name", ["שרה", "محمد", "Ann שרה"])
def test_a_right_to_left_name_does_not_pull_a_number_into_itself(name: str) -> None:
    line = Line((Span("Dear "), Span(name, Role.NAME), Span(", 999 is the number")), "b", True)

    assert seen(line, "ltr").endswith(", 999 is the number")


@example("999\u2069 \u202e123", Role.NAME, "rtl")
@given(hostile_texts(), st.sampled_from(list(Role)), st.sampled_from(["ltr", "rtl"]))
def test_a_value_cannot_close_its_isolate_nor_lose_a_letter(
    text: str, role: Role, direction: str
) -> None:
    told = isolated(Span(text, role), direction)

    assert bare(told) == bare(text)
    if told[:1] in (LRI, FSI):
        assert told.endswith(PDI)
        assert not set(told[1:-1]) & set(STEERING)


@given(st.sampled_from(ODD_NAMES))
def test_marks_cost_an_sms_nothing(name: str) -> None:
    told = isolated(Span(name, Role.NAME), "ltr")

    assert told == name or not name.isascii()

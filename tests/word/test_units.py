"""Lengths: checked against exact fractions of the inch, and CLDR's own words for the unit."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from babel import Locale
from babel.localedata import locale_identifiers
from bidi import get_display
from hypothesis import given, settings
from strategies import lengths

from aftercare.word.units import MM_PER_INCH, centimetres, inches

GB = Locale.parse("en_GB")
ISOLATES = "\u2066\u2069"
QUARTERS = {"¼": Fraction(1, 4), "½": Fraction(1, 2), "¾": Fraction(3, 4)}


def value(told: str) -> Fraction:
    """The number a reader sees: whole inches and a vulgar fraction."""
    shown = "".join(char for char in told if char.isdigit() or char in QUARTERS)
    whole = "".join(char for char in shown if char not in QUARTERS)
    return Fraction(whole or 0) + sum(QUARTERS[char] for char in shown if char in QUARTERS)


def test_an_inch_is_25_4_millimetres_exactly() -> None:
    # BIPM and NIST Special Publication 811 (2008), appendix B.8: 1 inch = 2.54 cm exactly.
    assert Fraction("25.4") == MM_PER_INCH


@pytest.mark.parametrize(
    ("length_mm", "told"),
    [
        (55, "2¼ inches"),  # 5.5 cm is 2¼ inches (common practice, no source)
        (1, "¼ inch"),
        (9, "¼ inch"),
        (10, "½ inch"),
        (13, "½ inch"),
        (19, "¾ inch"),
        (25, "1 inch"),
        (28, "1 inch"),
        (29, "1¼ inches"),
        (38, "1½ inches"),
        (45, "1¾ inches"),
        (51, "2 inches"),
        (150, "6 inches"),
    ],
)
def test_inches_are_said_in_quarters(length_mm: int, told: str) -> None:
    assert inches(length_mm, GB) == told


@given(lengths())
@settings(max_examples=150, deadline=None)
def test_no_nearer_quarter_exists(length_mm: int) -> None:
    exact = Fraction(length_mm * 10, 254)

    shown = value(inches(length_mm, GB))

    assert shown >= Fraction(1, 4)
    assert abs(shown - exact) <= Fraction(1, 8) or exact < Fraction(1, 8)


@given(lengths())
@settings(max_examples=100, deadline=None)
def test_centimetres_are_exact_in_every_decimal_mark(length_mm: int) -> None:
    exact = Decimal(length_mm) / 10

    for name in ("en_GB", "pl", "ur"):
        shown = centimetres(length_mm, Locale.parse(name)).split()[0]
        assert Decimal(shown.replace(",", ".")) == exact


def test_each_language_uses_its_own_marks_and_words() -> None:
    told = {
        name: (centimetres(55, Locale.parse(name)), inches(55, Locale.parse(name)))
        for name in ("en_GB", "pl", "ur")
    }

    assert told == {
        "en_GB": ("5.5 cm", "2¼ inches"),
        "pl": ("5,5 cm", "2¼ cala"),
        "ur": ("5.5 سینٹی میٹر", "\u20662¼\u2069 انچ"),
    }


@pytest.mark.parametrize(
    ("length_mm", "told"),
    [(6, "¼ cala"), (19, "¾ cala"), (25, "1 cal"), (51, "2 cale"), (127, "5 cali")],
)
def test_polish_takes_the_plural_of_the_number(length_mm: int, told: str) -> None:
    # CLDR 47, pl, length-inch: one cal, few cale, many cali, other (fractions) cala.
    assert inches(length_mm, Locale.parse("pl")) == told


def test_among_right_to_left_words_a_fraction_keeps_its_place() -> None:
    seen = get_display(inches(38, Locale.parse("ur")), base_dir="R")
    bare = "".join(char for char in seen if char not in ISOLATES)

    # What an eye meets from the left: the word, then the number, whole before fraction.
    assert bare.endswith("1½")


def test_no_language_says_another_length_or_a_name_of_the_program() -> None:
    languages = [name for name in locale_identifiers() if "_" not in name]
    assert len(languages) > 200

    for locale in map(Locale.parse, languages):
        for length_mm in (6, 25, 38, 51, 127):
            told = inches(length_mm, locale)
            assert value(told) == value(inches(length_mm, GB)), (locale, told)
            assert "length" not in told + centimetres(length_mm, locale), locale
            assert told.strip("0123456789¼½¾ " + ISOLATES), locale

"""Lengths noted at a visit: centimetres, and inches to the nearest quarter."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Literal

from babel import Locale
from babel.numbers import format_decimal
from babel.units import format_unit

from aftercare.word.spaces import firm

# An inch is 25.4 mm exactly (international yard and pound agreement, 1959; from memory).
MM_PER_INCH = Fraction(254, 10)
_QUARTERS = {0: "", 1: "¼", 2: "½", 3: "¾"}
_INCH = "length-inch"
_WIDTHS: tuple[Literal["long", "short", "narrow"], ...] = ("long", "short", "narrow")
# Unicode Standard Annex 9: LRI opens a left-to-right isolate, PDI closes it.
_LRI, _PDI = "\u2066", "\u2069"


def centimetres(length_mm: int, locale: Locale) -> str:
    """A length such as ``5.5 cm``, in the locale's decimals and its own short unit."""
    told = format_unit(Decimal(length_mm) / 10, "length-centimeter", "short", locale=locale)
    return firm(told)


def inches(length_mm: int, locale: Locale) -> str:
    """The same length to the nearest quarter inch, such as ``2¼ inches``; at least ¼.

    5.5 cm is 2¼ inches (common practice, no source). A half quarter goes up.
    """
    quarters = max(1, int(Fraction(length_mm) / MM_PER_INCH * 4 + Fraction(1, 2)))
    shown = _shown(quarters, locale)
    # English says ¾ inch; elsewhere CLDR's plural of the decimal is what is said.
    spoken = Decimal(max(quarters, 4) if locale.language == "en" else quarters) / 4
    number = format_decimal(spoken, locale=locale)
    for width in _WIDTHS:
        told = format_unit(spoken, _INCH, width, locale=locale)
        # CLDR has not every width for every language, and some leave the number out.
        if number in told and _INCH not in told:
            return firm(told.replace(number, shown))
    return f"{shown} in"


def _shown(quarters: int, locale: Locale) -> str:
    whole, rest = divmod(quarters, 4)
    shown = f"{whole or ''}{_QUARTERS[rest]}"
    # Among right-to-left words 2¼ would be drawn as ¼2: a fraction is a neutral character.
    mixed = whole and rest and locale.text_direction == "rtl"
    return f"{_LRI}{shown}{_PDI}" if mixed else shown

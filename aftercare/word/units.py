"""Lengths noted at a visit: centimetres, and inches to the nearest quarter."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from babel import Locale
from babel.numbers import format_decimal
from babel.units import format_unit

# An inch is 25.4 mm exactly (international yard and pound agreement, 1959; from memory).
MM_PER_INCH = Fraction(254, 10)
_QUARTERS = {0: "", 1: "¼", 2: "½", 3: "¾"}


def centimetres(length_mm: int, locale: Locale) -> str:
    """A length such as ``5.5 cm``, in the locale's decimals and its own short unit."""
    return format_unit(Decimal(length_mm) / 10, "length-centimeter", "short", locale=locale)


def inches(length_mm: int, locale: Locale) -> str:
    """The same length to the nearest quarter inch, such as ``2¼ inches``; at least ¼.

    5.5 cm is 2¼ inches (common practice, no source). A half quarter goes up.
    """
    quarters = max(1, int(Fraction(length_mm) / MM_PER_INCH * 4 + Fraction(1, 2)))
    whole, rest = divmod(quarters, 4)
    shown = f"{whole or ''}{_QUARTERS[rest]}"
    # CLDR gives the unit's plural for the decimal; up to one inch the singular is said.
    spoken = Decimal(max(quarters, 4)) / 4
    pattern = format_unit(spoken, "length-inch", "long", locale=locale)
    return pattern.replace(format_decimal(spoken, locale=locale), shown)

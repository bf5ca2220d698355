"""How many syllables a numeral has when it is read aloud, as the SMOG guides ask."""

from __future__ import annotations

import re

_PART = re.compile(r"\d+|[^\W\d_]+|[^\w\s]", re.UNICODE)
_ONES = (2, 1, 1, 1, 1, 1, 1, 2, 1, 1)  # zero, one ... nine
_TEENS = (1, 3, 1, 2, 2, 2, 2, 3, 2, 2)  # ten, eleven ... nineteen
_TENS = (0, 0, 2, 2, 2, 2, 2, 3, 2, 2)  # twenty, thirty ... ninety
_SIGNS = {"%": 2, "£": 1, "$": 2, "€": 2, "-": 1, "–": 1, "+": 1, "°": 2, "/": 1, "½": 2, "¼": 2}
_LETTERS = {"am": 2, "pm": 2, "mm": 4, "cm": 4, "ml": 4, "mg": 3, "g": 1, "kg": 3, "h": 1, "hz": 1}
_ORDINALS = frozenset({"st", "nd", "rd", "th"})


def spoken(numeral: str) -> int:
    """The syllables of a figure with its signs and unit: ``3.5`` is three point five, 3."""
    syllables = 0
    before = ""
    for part in _PART.findall(numeral.replace(",", "")):
        if part.isdecimal():
            syllables += _digits(part) if before == "." else _figure(part)
        elif part == ".":
            syllables += 1
        elif part not in _ORDINALS:
            syllables += _SIGNS.get(part, 0) if not part.isalpha() else _unit(part)
        before = part
    return max(1, syllables)


def _unit(letters: str) -> int:
    return _LETTERS.get(letters.lower(), min(len(letters), 4))


def _digits(figures: str) -> int:
    """Read one by one, as after a decimal point."""
    return sum(_ONES[int(figure)] for figure in figures)


def _figure(figures: str) -> int:
    """Read as a whole number; four figures from 1100 to 2099 as a year; long ones by digit."""
    number = int(figures) if len(figures) <= 9 else -1
    if number < 0 or (figures[0] == "0" and len(figures) > 1):
        return _digits(figures)
    if 1100 <= number < 2100 and number // 100 != 20 and number % 100:
        return _below_hundred(number // 100) + max(2, _below_hundred(number % 100))
    if 2010 <= number < 2100:
        return 2 + _below_hundred(number % 100)
    return _whole(number)


def _whole(number: int) -> int:
    if number >= 1_000_000:
        rest = number % 1_000_000
        return _whole(number // 1_000_000) + 2 + (_whole(rest) if rest else 0)
    if number >= 1000:
        rest = number % 1000
        return _whole(number // 1000) + 2 + (_whole(rest) if rest else 0)
    if number >= 100:
        rest = number % 100
        return _ONES[number // 100] + 2 + (1 + _below_hundred(rest) if rest else 0)
    return _below_hundred(number)


def _below_hundred(number: int) -> int:
    if number < 10:
        return _ONES[number]
    if number < 20:
        return _TEENS[number - 10]
    return _TENS[number // 10] + (_ONES[number % 10] if number % 10 else 0)

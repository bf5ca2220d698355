"""A day out of a cell: only what can be read in one way, or in the way the mapping declares."""

from __future__ import annotations

import re
from datetime import date, timedelta

from aftercare.recall.incoming.plan import DateOrder
from aftercare.recall.incoming.trouble import Trouble

# ISO 8601 calendar dates, extended and basic; a time of midnight is what spreadsheets add.
_ISO = re.compile(r"(\d{4})-(\d{2})-(\d{2})(?:[T ]00:00(?::00(?:\.0+)?)?Z?)?", re.ASCII)
_BASIC = re.compile(r"((?:19|20)\d{2})(\d{2})(\d{2})", re.ASCII)
_YEAR_FIRST = re.compile(r"(\d{4})[/.](\d{1,2})[/.](\d{1,2})", re.ASCII)
_PARTED = re.compile(r"(\d{1,2})([/.\- ])(\d{1,2})\2(\d{4}|\d{2})(?: 00:00(?::00)?)?", re.ASCII)
_NAMED = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?[ \-]([a-z]{3,9})\.?,?[ \-](\d{4}|\d{2})", re.ASCII)
_NAME_FIRST = re.compile(r"([a-z]{3,9})\.? (\d{1,2})(?:st|nd|rd|th)?,? (\d{4}|\d{2})", re.ASCII)
_SERIAL = re.compile(r"(\d{1,6})(?:\.0+)?", re.ASCII)
_MONTHS = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september",
    "october", "november", "december",
)  # fmt: skip
# Spreadsheets counting from 1900 have a 29 February that year, number 60, for the sake of an
# older program (Microsoft's own note on it, from memory; ECMA-376 Part 1, 18.17.4).
_NEVER = 60
_EPOCHS = {1900: date(1899, 12, 30), 1904: date(1904, 1, 1)}


def read_day(cell: str, order: DateOrder, serials: int) -> date | Trouble:
    """The day a trimmed cell says. ``serials`` is 1900, 1904 or 0 for not declared."""
    small = cell.lower()
    if found := _ISO.fullmatch(cell) or _BASIC.fullmatch(cell) or _YEAR_FIRST.fullmatch(cell):
        return _day(*found.groups()[:3])
    if found := _PARTED.fullmatch(cell):
        return _parted(found[1], found[3], found[4], order)
    if found := _NAMED.fullmatch(small):
        return _named(found[3], found[2], found[1])
    if found := _NAME_FIRST.fullmatch(small):
        return _named(found[3], found[1], found[2])
    if found := _SERIAL.fullmatch(cell):
        return _serial(int(found[1]), serials)
    return Trouble(None, "not a date")


def _parted(one: str, two: str, year: str, order: DateOrder) -> date | Trouble:
    if len(year) == 2:
        return Trouble(None, "a year of two digits")
    first, second = int(one), int(two)
    if order is DateOrder.DAY_FIRST:
        return _day(year, two, one)
    if order is DateOrder.MONTH_FIRST:
        return _day(year, one, two)
    if first <= 12 and second <= 12 and first != second:
        return Trouble(None, "could be day first or month first")
    # Only one reading is a day at all.
    return _day(year, two, one) if second <= 12 else _day(year, one, two)


def _named(year: str, month: str, day: str) -> date | Trouble:
    if len(year) == 2:
        return Trouble(None, "a year of two digits")
    known = [n for n, name in enumerate(_MONTHS, 1) if name.startswith(month)]
    known = known or [9] * (month == "sept")
    return _day(year, str(known[0]), day) if len(known) == 1 else Trouble(None, "not a date")


def _day(year: str, month: str, day: str) -> date | Trouble:
    try:
        return date(int(year), int(month), int(day))
    except ValueError:
        return Trouble(None, "no such day")


def _serial(number: int, serials: int) -> date | Trouble:
    if serials not in _EPOCHS:
        return Trouble(None, "a bare number")
    if serials == 1900 and number == _NEVER:
        return Trouble(None, "29 February 1900, a day some spreadsheets count and nobody lived")
    if serials == 1900 and number < 1:
        return Trouble(None, "no such day")
    # Below the day that never was, every number is one day further on.
    early = serials == 1900 and number < _NEVER
    return _EPOCHS[serials] + timedelta(days=number + early)

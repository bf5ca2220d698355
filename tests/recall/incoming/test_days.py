"""Days out of cells: one reading, the declared reading, or none."""

from __future__ import annotations

from datetime import date

import pytest
from dateutil import parser
from hypothesis import given
from hypothesis import strategies as st
from openpyxl.utils.datetime import CALENDAR_MAC_1904, CALENDAR_WINDOWS_1900, from_excel

from aftercare.recall.incoming.days import read_day
from aftercare.recall.incoming.plan import DateOrder
from aftercare.recall.incoming.trouble import Trouble

ASK, DAY, MONTH = DateOrder.ASK, DateOrder.DAY_FIRST, DateOrder.MONTH_FIRST
days = st.dates(date(1900, 3, 1), date(2100, 12, 31))


def said(cell: str, order: DateOrder = ASK, serials: int = 0) -> str:
    found = read_day(cell, order, serials)
    return found.said if isinstance(found, Trouble) else found.isoformat()


# ISO 8601 calendar dates, extended and basic: the standard's own example is 12 April 1985.
@pytest.mark.parametrize("cell", ["1985-04-12", "19850412", "1985-04-12T00:00:00", "1985/04/12"])
def test_iso_8601(cell: str) -> None:
    assert said(cell) == "1985-04-12"


@given(days)
def test_a_day_written_by_name_is_what_dateutil_reads(day: date) -> None:
    for form in ("%d %B %Y", "%d-%b-%Y", "%B %d, %Y", "%d %b %Y"):
        written = day.strftime(form)
        assert said(written) == parser.parse(written).date().isoformat()


@given(days)
def test_a_declared_order_is_what_dateutil_reads(day: date) -> None:
    for mark in "/.-":
        written = day.strftime(f"%d{mark}%m{mark}%Y")
        assert said(written, DAY) == parser.parse(written, dayfirst=True).date().isoformat()
        written = day.strftime(f"%m{mark}%d{mark}%Y")
        assert said(written, MONTH) == day.isoformat()


@given(days)
def test_undeclared_a_day_is_read_only_if_no_other_day_is_meant(day: date) -> None:
    found = said(day.strftime("%d/%m/%Y"))
    if day.day <= 12 and day.day != day.month:
        assert found == "could be day first or month first"
    else:
        assert found == day.isoformat()


@pytest.mark.parametrize(
    ("cell", "why"),
    [
        ("03/04/26", "a year of two digits"),
        ("3 Apr 26", "a year of two digits"),
        ("2026-02-30", "no such day"),
        ("2026-13-01", "no such day"),
        ("31/04/1960", "no such day"),
        ("0000-01-01", "no such day"),
        ("1960-04", "not a date"),
        ("=TODAY()", "not a date"),
        ("3/4-1960", "not a date"),
        ("٢٠٢٦-٠١-٠١", "not a date"),
        ("1 Ju 1960", "not a date"),
        ("22029", "a bare number"),
    ],
)
def test_what_is_no_day_is_held(cell: str, why: str) -> None:
    assert said(cell) == why


def test_a_declared_order_is_not_turned_to_make_a_day() -> None:
    assert said("04/23/1960", DAY) == "no such day"
    assert said("23/04/1960", MONTH) == "no such day"


# openpyxl counts serial days of both systems by itself.
@given(st.integers(1, 80_000).filter(lambda serial: serial != 60))
def test_serials_are_what_openpyxl_reads(serial: int) -> None:
    theirs = from_excel(serial, CALENDAR_WINDOWS_1900)
    assert said(str(serial), serials=1900) == theirs.date().isoformat()
    theirs = from_excel(serial, CALENDAR_MAC_1904)
    assert said(f"{serial}.0", serials=1904) == theirs.date().isoformat()


# Microsoft's own note: 1900 is treated as a leap year; serial 1 is 1 January 1900 (from memory).
def test_the_29th_of_february_1900_is_nobodys_birthday() -> None:
    assert said("1", serials=1900) == "1900-01-01"
    assert said("59", serials=1900) == "1900-02-28"
    assert "29 February 1900" in said("60", serials=1900)
    assert said("61", serials=1900) == "1900-03-01"
    assert said("0", serials=1900) == "no such day"
    # 1904 counts from 0, and has its leap day.
    assert said("0", serials=1904) == "1904-01-01"
    assert said("59", serials=1904) == "1904-02-29"


@given(days)
def test_the_two_systems_are_1462_days_apart(day: date) -> None:  # Microsoft, from memory
    serial = (day - date(1899, 12, 30)).days
    assert said(str(serial), serials=1900) == day.isoformat()
    if serial >= 1462:
        assert said(str(serial - 1462), serials=1904) == day.isoformat()

"""Months, working days and moved days, held against dateutil, numpy and holidays."""

from __future__ import annotations

from datetime import date, timedelta

import holidays
import numpy as np
import pytest
from dateutil.easter import easter
from dateutil.relativedelta import relativedelta
from hypothesis import given, settings
from hypothesis import strategies as st

from aftercare.errors import BadInput
from aftercare.recall.dates import add_months, bank_holidays
from aftercare.recall.working_days import Roll, closed_in, rolled, working_day

REGIONS = ("GB-ENG", "GB-WLS", "GB-SCT", "GB-NIR", "IE", "NZ", "AU-NSW")
DAYS = st.dates(date(2015, 1, 1), date(2035, 12, 31))
YEARS = range(2012, 2040)
JUDGE = {
    region: np.array(
        sorted(
            holidays.country_holidays(
                region.partition("-")[0], subdiv=region.partition("-")[2] or None, years=YEARS
            )
        ),
        dtype="datetime64[D]",
    )
    for region in REGIONS
}  # fmt: skip


# --- months ---------------------------------------------------------------------------------


@given(DAYS, st.integers(-600, 600))
@settings(max_examples=500)
def test_months_are_added_as_dateutil_adds_them(day: date, months: int) -> None:
    assert add_months(day, months) == day + relativedelta(months=months)


@given(DAYS, st.integers(-600, 600))
def test_months_are_added_as_numpy_adds_them(day: date, months: int) -> None:
    """A second outside judge: numpy counts months without days, and knows where each ends."""
    month = np.datetime64(day, "M") + months
    last = (month + 1).astype("datetime64[D]").astype(date).toordinal() - 1
    wanted = month.astype("datetime64[D]").astype(date).toordinal() + day.day - 1

    assert add_months(day, months) == date.fromordinal(min(wanted, last))


def test_twice_one_month_is_not_two_months() -> None:
    start = date(2026, 1, 31)

    assert add_months(add_months(start, 1), 1) == date(2026, 3, 28)
    assert add_months(start, 2) == date(2026, 3, 31)


@pytest.mark.parametrize("months", [12 * 8000, -12 * 3000])
def test_months_beyond_the_calendar_are_refused(months: int) -> None:
    with pytest.raises(ValueError, match="calendar"):
        add_months(date(2026, 1, 31), months)


# --- working days -----------------------------------------------------------------------------


@given(DAYS, st.integers(-300, 300).filter(bool), st.sampled_from(REGIONS))
@settings(max_examples=300, deadline=None)
def test_working_days_are_counted_as_numpy_counts_them(day: date, number: int, region: str) -> None:
    """numpy starts from an open day: from a closed one it steps back first, or on when negative."""
    theirs = np.busday_offset(
        day, number, roll="backward" if number > 0 else "forward", holidays=JUDGE[region]
    )

    assert working_day(day, number, closed_in(region)) == theirs.astype(date)


@given(DAYS, st.integers(-2000, 2000).filter(bool))
@settings(max_examples=100, deadline=None)
def test_without_a_region_weekends_alone_are_closed(day: date, number: int) -> None:
    theirs = np.busday_offset(day, number, roll="backward" if number > 0 else "forward")

    assert working_day(day, number, closed_in(None)) == theirs.astype(date)


@given(DAYS)
def test_no_working_day_on_is_the_day_itself(day: date) -> None:
    assert working_day(day, 0, closed_in("GB-ENG")) == day


@given(DAYS, st.sampled_from([Roll.NEXT, Roll.PREVIOUS]), st.sampled_from(REGIONS))
@settings(max_examples=300, deadline=None)
def test_a_closed_day_is_moved_as_numpy_moves_it(day: date, roll: Roll, region: str) -> None:
    how = "forward" if roll is Roll.NEXT else "backward"
    moved, because = rolled(day, roll, closed_in(region))

    assert moved == np.busday_offset(day, 0, roll=how, holidays=JUDGE[region]).astype(date)
    assert (because is None) == (moved == day)
    if because is not None:
        assert because.startswith(str(day))


@given(DAYS)
def test_a_day_left_alone_is_not_moved(day: date) -> None:
    assert rolled(day, Roll.NONE, closed_in("GB-ENG")) == (day, None)


def test_a_calendar_without_an_open_day_is_refused() -> None:
    with pytest.raises(BadInput, match="no open day"):
        rolled(date(2026, 1, 1), Roll.NEXT, lambda day: "shut")


def test_the_end_of_the_calendar_is_refused() -> None:
    with pytest.raises(OverflowError):
        working_day(date.max - timedelta(days=3), 9, closed_in(None))
    with pytest.raises(BadInput, match="the end of the calendar"):
        rolled(date.max, Roll.NEXT, lambda day: "shut")
    with pytest.raises(BadInput, match="the end of the calendar"):
        rolled(date.min, Roll.PREVIOUS, lambda day: "shut")


# --- regions ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("region", "count"), [("GB-ENG", 9), ("GB-WLS", 9), ("GB-SCT", 11), ("GB-NIR", 12)]
)
def test_each_country_of_the_kingdom_has_its_own(region: str, count: int) -> None:
    found = bank_holidays(region, 2026)

    assert set(found) == {day for day in JUDGE[region].astype(date) if day.year == 2026}
    # England and Wales have Easter Monday, Scotland has not (gov.uk/bank-holidays, from memory).
    assert (date(2026, 4, 6) in found) == (region != "GB-SCT")
    # Boxing Day is a Saturday in 2026 and counts beside the Monday given for it.
    assert len(found) == count


def _monday(year: int, month: int, from_: int) -> date:
    """The first Monday from a day of a month on."""
    day = date(year, month, from_)
    return day + timedelta(days=-day.weekday() % 7)


def _given(*days: date) -> set[date]:
    """Days on which nobody works for these: for one at a weekend, the next that is not taken."""
    found = {day for day in days if day.weekday() < 5}
    for day in (one for one in sorted(days) if one.weekday() >= 5):
        instead = day
        while instead.weekday() >= 5 or instead in found:
            instead += timedelta(days=1)
        found.add(instead)
    return found


def _by_law(region: str, year: int) -> set[date]:
    """Bank holidays on working days, by rule.

    Banking and Financial Dealings Act 1971, Schedule 1; St Andrew's Day Bank Holiday (Scotland)
    Act 2007; the days given by proclamation as usual (from memory). Easter is dateutil's.
    """
    sunday = easter(year)
    found = {sunday - timedelta(days=2), _monday(year, 5, 1), _monday(year, 5, 25)}
    found |= _given(date(year, 12, 25), date(year, 12, 26))
    if region == "GB-SCT":
        new_year = _given(date(year, 1, 1), date(year, 1, 2))
        return found | new_year | {_monday(year, 8, 1)} | _given(date(year, 11, 30))
    found |= _given(date(year, 1, 1)) | {sunday + timedelta(days=1), _monday(year, 8, 25)}
    if region == "GB-NIR":
        found |= _given(date(year, 3, 17)) | _given(date(year, 7, 12))
    return found


@pytest.mark.parametrize("region", ["GB-ENG", "GB-WLS", "GB-SCT", "GB-NIR"])
def test_bank_holidays_are_those_of_the_law_up_to_2040(region: str) -> None:
    # Scotland has one day more in 2026, by proclamation: the World Cup (mygov.scot, from memory).
    once = {date(2026, 6, 15)} if region == "GB-SCT" else set()
    for year in range(2026, 2041):
        found = {day for day in bank_holidays(region, year) if day.weekday() < 5}
        assert found - once == _by_law(region, year), year


def test_the_kingdom_as_a_whole_is_refused_because_it_lacks_easter_monday() -> None:
    assert date(2026, 4, 6) not in holidays.country_holidays("GB", years=2026)
    for region in ("GB", "UK"):
        with pytest.raises(BadInput, match="GB-ENG"):
            closed_in(region)


@pytest.mark.parametrize("region", ["XX", "gb-eng", "GB-XYZ", "", "GB-", "G\0B"])
def test_a_region_nobody_knows_is_refused(region: str) -> None:
    with pytest.raises(BadInput):
        closed_in(region)


def test_a_year_without_known_holidays_is_refused() -> None:
    with pytest.raises(BadInput, match="2126"):
        rolled(date(2126, 1, 1), Roll.NEXT, closed_in("GB-ENG"))

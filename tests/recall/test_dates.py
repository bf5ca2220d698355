"""Due dates: counted from the visit, then moved to the next day the clinic is open."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import holidays
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from aftercare.errors import BadContent, BadInput
from aftercare.model import Clinic, Interval
from aftercare.recall import due
from aftercare.recall.dates import LONGEST_CLOSURE, closure

EVERY_DAY = frozenset(range(7))
WEEKDAYS = frozenset(range(5))
CLINIC = Clinic(
    name="Larkfield Ear Care",
    short_name="Larkfield Clinic",
    region="GB-ENG",
    territory="GB",
    timezone="Europe/London",
    phone="01632 960142",
    text_number=None,
    email="hello@larkfield.example",
    sender="no-reply@larkfield.example",
    hours="Monday to Friday",
    open_days=WEEKDAYS,
    closed_dates=frozenset(),
    inches=False,
)
ALWAYS = replace(CLINIC, open_days=EVERY_DAY)


# --- Months and weeks -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("visit", "months", "expected"),
    [
        # A month has its own last day, as in dateutil's documentation (from memory).
        (date(2027, 1, 31), 1, date(2027, 2, 28)),
        (date(2028, 1, 31), 1, date(2028, 2, 29)),
        (date(2028, 2, 29), 12, date(2029, 2, 28)),
        (date(2028, 2, 29), 48, date(2032, 2, 29)),
        (date(2027, 1, 31), 2, date(2027, 3, 31)),  # from the visit, not from 28 February
        (date(2026, 8, 31), 6, date(2027, 2, 28)),
        (date(2026, 11, 18), 9, date(2027, 8, 18)),
    ],
)
def test_months_are_added_to_the_visit_s_own_date(visit: date, months: int, expected: date) -> None:
    assert due(visit, Interval(months=months), ALWAYS).on == expected


@given(visit=st.dates(date(2000, 1, 1), date(2040, 1, 1)), weeks=st.integers(1, 104))
@settings(max_examples=100, deadline=None)
def test_weeks_keep_the_day_of_the_week(visit: date, weeks: int) -> None:
    target = visit + timedelta(days=7 * weeks)
    found = due(visit, Interval(weeks=weeks), ALWAYS)

    assert found.on >= target
    assert f"is {target}" in found.reason


# --- Days the clinic is closed ----------------------------------------------------------

# England and Scotland in 2026, from gov.uk/bank-holidays (from memory).
ENGLAND_2026 = {
    date(2026, 1, 1), date(2026, 4, 3), date(2026, 4, 6), date(2026, 5, 4), date(2026, 5, 25),
    date(2026, 8, 31), date(2026, 12, 25), date(2026, 12, 28),
}  # fmt: skip


def closed_on_bank_holidays(region: str, year: int) -> set[date]:
    clinic = replace(ALWAYS, region=region)
    days = (date(year, 1, 1) + timedelta(days=n) for n in range(366))
    return {day for day in days if day.year == year and closure(day, clinic)}


def test_bank_holidays_are_those_of_the_clinic_s_region() -> None:
    england = closed_on_bank_holidays("GB-ENG", 2026)
    scotland = closed_on_bank_holidays("GB-SCT", 2026)

    assert england >= ENGLAND_2026
    # 26 December 2026 is a Saturday: it is counted beside its substitute (holidays 0.109).
    assert (len(england), len(scotland)) == (9, 11)
    assert date(2026, 4, 6) in england - scotland  # Easter Monday is none in Scotland
    assert {date(2026, 1, 2), date(2026, 8, 3), date(2026, 11, 30)} <= scotland - england


def test_easter_monday_is_moved_to_the_day_after_in_england_alone() -> None:
    visit, month = date(2026, 3, 6), Interval(months=1)

    england = due(visit, month, CLINIC)
    scotland = due(visit, month, replace(CLINIC, region="GB-SCT"))

    assert england.on == date(2026, 4, 7)
    assert england.moved_because == "2026-04-06 is a bank holiday"
    assert scotland.on == date(2026, 4, 6)
    assert scotland.moved_because is None


def test_the_reason_tells_the_count_and_the_move() -> None:
    moved = due(date(2026, 11, 21), Interval(months=1, weeks=1), CLINIC)
    # 21 December is a Monday; one week on is the substitute day for Boxing Day.

    assert moved.on == date(2026, 12, 29)
    assert moved.reason == (
        "1 month and 1 week from the visit on 2026-11-21 is 2026-12-28; "
        "2026-12-28 is a bank holiday, so the next open day, 2026-12-29"
    )
    open_day = due(date(2026, 11, 18), Interval(weeks=3), CLINIC)
    assert open_day.reason == (
        "3 weeks from the visit on 2026-11-18 is 2026-12-09, a day the clinic is open"
    )


def test_a_run_of_closed_days_is_left_behind_whole() -> None:
    # Christmas 2026: Friday, a weekend, the substitute day, then the clinic's own days.
    own = frozenset({date(2026, 12, 24), date(2026, 12, 29), date(2026, 12, 30)})
    clinic = replace(CLINIC, closed_dates=own)

    found = due(date(2026, 11, 24), Interval(months=1), clinic)

    assert found.on == date(2026, 12, 31)
    assert found.moved_because == "the clinic is closed on 2026-12-24"


def test_a_weekday_the_clinic_is_closed_is_named() -> None:
    found = due(date(2026, 11, 20), Interval(weeks=1), replace(CLINIC, open_days=frozenset({0})))

    assert found.on == date(2026, 11, 30)
    assert found.moved_because == "the clinic is closed on Fridays"


@given(
    visit=st.dates(date(2020, 1, 1), date(2035, 12, 31)),
    months=st.integers(0, 60),
    weeks=st.integers(0, 104),
    open_days=st.frozensets(st.integers(0, 6), min_size=1),
    region=st.sampled_from(["GB-ENG", "GB-SCT", "GB-NIR", "IE", "NZ", "AU-NSW"]),
)
@settings(max_examples=200, deadline=None)
def test_the_due_day_is_the_first_open_day_on_or_after_the_count(
    visit: date, months: int, weeks: int, open_days: frozenset[int], region: str
) -> None:
    """Against the holidays library asked directly, in place of our own table of years."""
    clinic = replace(CLINIC, region=region, open_days=open_days)
    target = due(visit, Interval(months=months, weeks=weeks), ALWAYS).reason.split(" is ")[1][:10]
    country, _, subdivision = region.partition("-")
    calendar = holidays.country_holidays(country, subdiv=subdivision or None)

    day = date.fromisoformat(target)
    while day.weekday() not in open_days or day in calendar:
        day += timedelta(days=1)

    found = due(visit, Interval(months=months, weeks=weeks), clinic)
    assert found.on == day
    assert (found.moved_because is None) == (day == date.fromisoformat(target))


# --- What cannot be known ---------------------------------------------------------------


def test_a_year_the_calendar_does_not_know_is_refused() -> None:
    # holidays 0.109 knows Great Britain from 1872 to 2100.
    assert due(date(2100, 11, 1), Interval(weeks=1), CLINIC).on.year == 2100
    for visit in (date(2100, 12, 1), date(2150, 6, 1), date(1600, 6, 1)):
        with pytest.raises(BadInput, match=r"no bank holidays are known for \d{4}"):
            due(visit, Interval(months=6), CLINIC)


def test_a_day_moved_past_the_last_known_year_is_refused() -> None:
    with pytest.raises(BadInput, match="no bank holidays are known for 2101"):
        due(date(2100, 11, 30), Interval(months=1), replace(CLINIC, open_days=frozenset({5})))


@pytest.mark.parametrize("visit", [date.max, date(9999, 11, 30)])
def test_the_end_of_the_calendar_is_refused(visit: date) -> None:
    closed = replace(CLINIC, closed_dates=frozenset({date(9999, 12, 31)}), open_days=EVERY_DAY)

    with pytest.raises(BadInput):
        due(visit, Interval(months=1), closed)


@pytest.mark.parametrize("region", ["GB-XYZ", "ZZ", "IE-D"])
def test_a_region_without_a_calendar_is_the_clinic_file_s_fault(region: str) -> None:
    with pytest.raises(BadContent, match=f"shared/clinic.toml: no bank.*'{region}'"):
        due(date(2026, 11, 18), Interval(months=1), replace(CLINIC, region=region))


def test_a_clinic_that_never_opens_is_told_not_searched_for_ever() -> None:
    for clinic in (
        replace(CLINIC, open_days=frozenset()),
        replace(
            CLINIC,
            closed_dates=frozenset(
                date(2026, 11, 1) + timedelta(days=n) for n in range(LONGEST_CLOSURE.days + 60)
            ),
        ),
    ):
        with pytest.raises(BadContent, match="no open day in the 120 days after"):
            due(date(2026, 11, 2), Interval(weeks=1), clinic)


def test_the_longest_closure_itself_still_ends() -> None:
    target = date(2027, 1, 4)
    closed = frozenset(target + timedelta(days=n) for n in range(LONGEST_CLOSURE.days))
    clinic = replace(ALWAYS, closed_dates=closed)

    assert due(date(2026, 12, 28), Interval(weeks=1), clinic).on == target + LONGEST_CLOSURE

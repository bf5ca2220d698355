"""Wall time and UTC, held against dateutil's own zones and what zoneinfo answers."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from dateutil import tz
from hypothesis import given, settings
from hypothesis import strategies as st

from aftercare.errors import BadInput
from aftercare.recall.moments import Fold, from_utc, utc_of, wall

# An hour, half an hour (Lord Howe), a day skipped (Apia 2011), winter time as the exception
# (Dublin, Casablanca), a quarter-hour offset (Chatham), and none at all.
ZONES = (
    "Europe/London", "Europe/Dublin", "America/New_York", "Australia/Lord_Howe", "Pacific/Apia",
    "Pacific/Chatham", "Africa/Casablanca", "Asia/Kathmandu", "UTC",
)  # fmt: skip
DAYS = st.dates(date(2000, 1, 1), date(2036, 12, 31))
TIMES = st.times().map(lambda at: at.replace(second=0, microsecond=0))
# The days clocks change in these zones, where all the trouble is.
CHANGES = st.sampled_from(
    [
        ("Europe/London", date(2026, 3, 29)), ("Europe/London", date(2026, 10, 25)),
        ("Europe/Dublin", date(2026, 3, 29)), ("Europe/Dublin", date(2026, 10, 25)),
        ("America/New_York", date(2026, 3, 8)), ("America/New_York", date(2026, 11, 1)),
        ("Australia/Lord_Howe", date(2026, 4, 5)), ("Australia/Lord_Howe", date(2026, 10, 4)),
        ("Pacific/Apia", date(2011, 12, 30)), ("Pacific/Chatham", date(2026, 4, 5)),
    ]
)  # fmt: skip


def judge(day: date, at: time, zone: str) -> tuple[bool, bool]:
    """Whether the moment exists and whether it is ambiguous, by dateutil on the system's zones."""
    shown = datetime.combine(day, at, tz.gettz(zone))
    return tz.datetime_exists(shown), tz.datetime_ambiguous(shown)


# dateutil 2.9 takes winter time that is the exception for summer time: there it is no judge.
JUDGED = tuple(zone for zone in ZONES if zone not in ("Europe/Dublin", "Africa/Casablanca"))


@given(
    st.one_of(
        CHANGES.filter(lambda where: where[0] in JUDGED), st.tuples(st.sampled_from(JUDGED), DAYS)
    ),
    TIMES,
)
@settings(max_examples=600, deadline=None)
def test_a_moment_exists_and_comes_twice_as_dateutil_says(
    where: tuple[str, date], at: time
) -> None:
    zone, day = where
    exists, ambiguous = judge(day, at, zone)

    assert len(wall(day, at, zone).moments) == (0 if not exists else 2 if ambiguous else 1)


@given(DAYS | st.sampled_from([date(2026, 3, 29), date(2026, 10, 25)]), TIMES)
def test_dublin_keeps_the_clocks_of_london_though_its_winter_is_the_exception(
    day: date, at: time
) -> None:
    """Both change on the same nights since 1972 (IANA database; from memory)."""
    assert wall(day, at, "Europe/Dublin").moments == wall(day, at, "Europe/London").moments


@given(st.one_of(CHANGES, st.tuples(st.sampled_from(ZONES), DAYS)), TIMES)
@settings(max_examples=300, deadline=None)
def test_every_moment_shows_the_wall_time_it_was_asked_for(
    where: tuple[str, date], at: time
) -> None:
    zone, day = where
    moments = wall(day, at, zone).moments

    assert list(moments) == sorted(moments)
    for moment in moments:
        assert moment.tzinfo is UTC
        assert moment.astimezone(ZoneInfo(zone)).replace(tzinfo=None) == datetime.combine(day, at)


@given(DAYS, TIMES, st.sampled_from(ZONES))
@settings(max_examples=300, deadline=None)
def test_there_and_back_is_the_same_moment(day: date, at: time, zone: str) -> None:
    moment = datetime.combine(day, at, UTC)
    shown = from_utc(moment, zone)

    assert utc_of(shown.date(), shown.time(), zone, fold=Fold(shown.fold)) == moment


def test_a_moment_that_clocks_skip_is_refused_with_its_zone() -> None:
    with pytest.raises(BadInput, match=r"2026-03-29 01:30 in Europe/London does not exist"):
        utc_of(date(2026, 3, 29), time(1, 30), "Europe/London")
    with pytest.raises(BadInput, match="does not exist"):
        # Samoa left 30 December 2011 out altogether (from memory; the IANA database has it).
        utc_of(date(2011, 12, 30), time(12), "Pacific/Apia")
    with pytest.raises(BadInput, match="does not exist"):
        utc_of(date(2026, 3, 29), time(1, 30), "Europe/London", fold=Fold.SECOND)


def test_a_moment_that_comes_twice_is_asked_and_both_are_told() -> None:
    """UK clocks go back at 01:00 UTC on the last Sunday of October (from memory)."""
    day, at = date(2026, 10, 25), time(1, 30)
    with pytest.raises(BadInput) as caught:
        utc_of(day, at, "Europe/London")

    assert "2026-10-25T00:30:00Z and 2026-10-25T01:30:00Z" in caught.value.problem
    first = utc_of(day, at, "Europe/London", fold=Fold.FIRST)
    assert first == datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
    assert utc_of(day, at, "Europe/London", fold=Fold.SECOND) == first + timedelta(hours=1)


@pytest.mark.parametrize("zone", ["", "Mars/Base", "../etc/passwd", "Europe/London\n", "a" * 300])
def test_a_zone_nobody_knows_is_refused(zone: str) -> None:
    with pytest.raises(BadInput, match="no time zone"):
        wall(date(2026, 1, 1), time(9), zone)


@pytest.mark.parametrize(
    ("day", "zone"), [(date.max, "America/New_York"), (date.min, "Asia/Tokyo")]
)
def test_the_ends_of_the_calendar_are_refused(day: date, zone: str) -> None:
    at = time(23, 30) if day == date.max else time(0, 30)
    with pytest.raises(BadInput, match="ends of the calendar"):
        wall(day, at, zone)

"""Quiet hours on the recipient's own clock, held against zoneinfo minute by minute."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from aftercare.errors import BadContent
from aftercare.recall.hours import Hours

HOURS = Hours(time(8), time(20), frozenset({6}))
ZONES = st.sampled_from(
    ["Europe/London", "America/New_York", "Australia/Lord_Howe", "Asia/Kolkata", "Pacific/Apia"]
)
# Both nights of a year on which clocks change in London, and any other moment.
MOMENTS = st.one_of(
    st.integers(0, 72 * 60).map(lambda m: datetime(2026, 3, 28, tzinfo=UTC) + timedelta(minutes=m)),
    st.integers(0, 72 * 60).map(
        lambda m: datetime(2026, 10, 24, tzinfo=UTC) + timedelta(minutes=m)
    ),
    st.integers(0, 525_600).map(lambda m: datetime(2026, 1, 1, tzinfo=UTC) + timedelta(minutes=m)),
)


@given(MOMENTS, ZONES)
@settings(max_examples=500, deadline=None)
def test_a_message_may_leave_by_day_on_the_recipients_clock(moment: datetime, zone: str) -> None:
    shown = moment.astimezone(ZoneInfo(zone))
    by_day = time(8) <= shown.time() < time(20) and shown.weekday() != 6

    assert HOURS.allow(moment, zone) == by_day


@given(MOMENTS, ZONES)
@settings(max_examples=500, deadline=None)
def test_the_next_moment_is_open_and_none_before_it_is(moment: datetime, zone: str) -> None:
    found = HOURS.next_open(moment, zone)

    assert found >= moment
    assert HOURS.allow(found, zone)
    assert found == moment or not HOURS.allow(found - timedelta(minutes=1), zone)
    # Quiet from Saturday at 20:00 to Monday at 08:00 is the longest there is.
    assert found - moment <= timedelta(hours=37)


@pytest.mark.parametrize(
    ("day", "opens", "closes"),
    [
        # An opening inside the hour that is skipped is the first moment after it.
        (date(2026, 3, 29), datetime(2026, 3, 29, 1, 30, tzinfo=UTC), None),
        # One that comes twice is the later; a closing that does is the earlier.
        (date(2026, 10, 25), datetime(2026, 10, 25, 1, 30, tzinfo=UTC), None),
    ],
)
def test_where_clocks_change_over_an_edge_the_span_is_the_shorter(
    day: date, opens: datetime, closes: datetime | None
) -> None:
    early, late = Hours(time(1, 30), time(20)), Hours(time(0), time(1, 30))

    assert early.span(day, "Europe/London")[0] == opens
    assert late.span(day, "Europe/London")[1] == opens - timedelta(hours=1)


def test_a_week_of_quiet_days_is_refused() -> None:
    with pytest.raises(BadContent, match="every day"):
        Hours(time(8), time(20), frozenset(range(7))).next_open(
            datetime(2026, 1, 1, tzinfo=UTC), "UTC"
        )

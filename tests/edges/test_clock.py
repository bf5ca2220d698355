"""The clock is the machine's; the day is the clinic's."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta

from aftercare.edges.clock import SystemClock


def test_the_moment_is_utc_to_the_second() -> None:
    said = SystemClock("Pacific/Auckland").now()

    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\+00:00", said)
    assert abs(datetime.fromisoformat(said) - datetime.now(UTC)) < timedelta(minutes=1)


def test_the_day_is_the_clinic_s_and_not_the_machine_s() -> None:
    # UTC+14 and UTC-11 are 25 hours apart (IANA tz database), so it is never the same day there.
    ahead, behind = SystemClock("Pacific/Kiritimati"), SystemClock("Pacific/Pago_Pago")

    assert timedelta(days=1) <= ahead.today() - behind.today() <= timedelta(days=2)

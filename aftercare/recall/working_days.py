"""Working days: counted, and a day that is none moved to one, with the reason.

What is closed is said by a ``Closed``: days of the week and bank holidays here, a clinic's own
calendar with `dates.closure`.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from enum import StrEnum

from aftercare.errors import BadInput
from aftercare.recall.dates import WEEKDAYS, bank_holidays

# Why a day is closed; None when it is open.
Closed = Callable[[date], str | None]
_DAY = timedelta(days=1)
_SATURDAY = 5
# No weekend with its holidays lasts longer; what does is a calendar without an open day.
LONGEST = 120


class Roll(StrEnum):
    """What becomes of a day that is closed."""

    NEXT = "next"
    PREVIOUS = "previous"
    NONE = "none"


def closed_in(region: str | None) -> Closed:
    """Weekends, and the bank holidays of a region such as ``GB-SCT`` or ``IE`` if one is named.

    Raises ``BadInput`` for a region whose bank holidays are not known. What comes back raises
    it for a year they are not known for.
    """
    if region is not None:
        bank_holidays(region, 2026)

    def closed(day: date) -> str | None:
        if day.weekday() >= _SATURDAY:
            return f"{day} is a {WEEKDAYS[day.weekday()]}"
        name = bank_holidays(region, day.year).get(day) if region else None
        return f"{day} is a bank holiday in {region} ({name})" if name else None

    return closed


def working_day(start: date, number: int, closed: Closed) -> date:
    """The working day that is ``number`` of them after ``start``, or before it when negative.

    ``start`` itself is never counted, and is the answer for 0. Raises ``OverflowError`` beyond
    the ends of the calendar.
    """
    day, left, step = start, abs(number), _DAY if number > 0 else -_DAY
    while left:
        day += step
        left -= closed(day) is None
    return day


def rolled(day: date, roll: Roll, closed: Closed) -> tuple[date, str | None]:
    """The open day to use, and why ``day`` itself is not it; unmoved with ``Roll.NONE``.

    Raises ``BadInput`` when there is no open day within reach, or none before the calendar ends.
    """
    first = closed(day)
    if roll is Roll.NONE or first is None:
        return day, None
    step = _DAY if roll is Roll.NEXT else -_DAY
    moved = day
    for _ in range(LONGEST):
        if moved in (date.min, date.max):
            raise BadInput(
                "date", f"no open day between {day} and the end of the calendar",
                "name a nearer day",
            )  # fmt: skip
        moved += step
        if closed(moved) is None:
            return moved, first
    raise BadInput("date", f"no open day in the {LONGEST} days from {day}", "check the calendar")

"""Due dates: always counted from the visit, then moved to a day the clinic is open."""

from __future__ import annotations

from collections.abc import Container
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache

from dateutil.relativedelta import relativedelta

from aftercare.errors import BadContent, BadInput
from aftercare.model import Clinic, Interval

# A clinic with no open day in this long is a mistake in its file, not a long holiday.
LONGEST_CLOSURE = timedelta(days=120)
_WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


@dataclass(frozen=True, slots=True)
class Due:
    """The day a patient is due, how it was counted, and why it was moved if it was."""

    on: date
    reason: str
    moved_because: str | None = None


def due(visit: date, interval: Interval, clinic: Clinic) -> Due:
    """The first open day on or after ``visit`` plus the agreed interval.

    Months are added to the visit's own date, so 31 January plus one month is the last of
    February. Raises ``BadInput`` when the clinic's calendar cannot be known that far ahead,
    ``BadContent`` when the clinic's own file leaves no open day.
    """
    try:
        target = visit + relativedelta(months=interval.months, weeks=interval.weeks)
        day, first = _first_open(target, clinic)
    except (OverflowError, ValueError):
        raise BadInput("recall", "beyond the last year of the calendar", "check it") from None
    counted = f"{in_words(interval)} from the visit on {visit} is {target}"
    if not first:
        return Due(day, f"{counted}, a day the clinic is open")
    return Due(day, f"{counted}; {first}, so the next open day, {day}", first)


def _first_open(target: date, clinic: Clinic) -> tuple[date, str | None]:
    """The first open day from ``target`` on, and why ``target`` itself is not it."""
    day, first = target, closure(target, clinic)
    closed = first
    while closed:
        day += timedelta(days=1)
        if day - target > LONGEST_CLOSURE:
            raise BadContent(
                "shared/clinic.toml",
                f"no open day in the {LONGEST_CLOSURE.days} days after {target}",
                "check 'open_days' and 'closed_dates'",
            )
        closed = closure(day, clinic)
    return day, first


def in_words(interval: Interval) -> str:
    """An interval as it was agreed: ``3 months``, ``1 month and 1 week``."""
    parts = [
        f"{count} {unit}{'' if count == 1 else 's'}"
        for count, unit in ((interval.months, "month"), (interval.weeks, "week"))
        if count
    ]
    return " and ".join(parts)


def closure(day: date, clinic: Clinic) -> str | None:
    """Why the clinic is closed that day; None when it is open."""
    if day.weekday() not in clinic.open_days:
        return f"the clinic is closed on {_WEEKDAYS[day.weekday()]}s"
    if day in clinic.closed_dates:
        return f"the clinic is closed on {day}"
    if day in _bank_holidays(clinic.region, day.year):
        return f"{day} is a bank holiday"
    return None


@lru_cache(maxsize=64)
def _bank_holidays(region: str, year: int) -> Container[date]:
    # Imported here: the calendar takes a tenth of a second to load and few commands need it.
    import holidays

    country, _, subdivision = region.partition("-")
    try:
        calendar = holidays.country_holidays(country, subdiv=subdivision or None, years=year)
    except NotImplementedError:
        raise BadContent(
            "shared/clinic.toml",
            f"no bank holidays are known for the region '{region}'",
            "write it like GB-SCT or IE",
        ) from None
    # The calendar answers "none" for a year it does not know; no country has a year without.
    if not calendar:
        raise BadInput("recall", f"no bank holidays are known for {year}", "agree a nearer date")
    return frozenset(calendar)

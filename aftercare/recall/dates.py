"""Due dates: always counted from the visit, then moved to a day the clinic is open."""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from types import MappingProxyType

from aftercare.errors import BadContent, BadInput
from aftercare.model import Clinic, Interval

# A clinic with no open day in this long is a mistake in its file, not a long holiday.
LONGEST_CLOSURE = timedelta(days=120)
# What is a holiday in all of the United Kingdom leaves Easter Monday out, which three of four have.
_NEVER_WHOLE = frozenset({"GB", "UK"})
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


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
        target = add_months(visit, interval.months) + timedelta(weeks=interval.weeks)
        day, first = _first_open(target, clinic)
    except (OverflowError, ValueError):
        raise BadInput("recall", "beyond the last year of the calendar", "check it") from None
    counted = f"{in_words(interval)} from the visit on {visit} is {target}"
    if not first:
        return Due(day, f"{counted}, a day the clinic is open")
    return Due(day, f"{counted}; {first}, so the next open day, {day}", first)


def add_months(day: date, months: int) -> date:
    """The same day of the month so many months on, or back; the month's last where it is shorter.

    Raises ``ValueError`` beyond the ends of the calendar.
    """
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    if not date.min.year <= year <= date.max.year:
        raise ValueError("beyond the ends of the calendar")
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


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
        return f"the clinic is closed on {WEEKDAYS[day.weekday()]}s"
    if day in clinic.closed_dates:
        return f"the clinic is closed on {day}"
    if day in _of_clinic(clinic.region, day.year):
        return f"{day} is a bank holiday"
    return None


def _of_clinic(region: str, year: int) -> Mapping[date, str]:
    """The bank holidays of the clinic's own file, which is then what is wrong."""
    try:
        return bank_holidays(region, year)
    except BadInput as refused:
        if refused.place == "recall":
            raise
        raise BadContent("shared/clinic.toml", refused.problem, refused.remedy) from None


@lru_cache(maxsize=256)
def bank_holidays(region: str, year: int) -> Mapping[date, str]:
    """The bank holidays of a region in a year, with their names.

    Raises ``BadInput`` for a region or a year whose bank holidays are not known.
    """
    # Imported here: the calendar takes a tenth of a second to load and few commands need it.
    import holidays

    country, _, subdivision = region.partition("-")
    if country in _NEVER_WHOLE and not subdivision:
        raise BadInput(
            "region", f"the countries of {country} differ in their bank holidays",
            "write GB-ENG, GB-SCT, GB-WLS or GB-NIR",
        )  # fmt: skip
    try:
        calendar = holidays.country_holidays(country, subdiv=subdivision or None, years=year)
    except NotImplementedError:
        raise BadInput(
            "region", f"no bank holidays are known for the region '{region[:20]}'",
            "write it like GB-SCT or IE",
        ) from None  # fmt: skip
    # The calendar answers "none" for a year it does not know; no country has a year without.
    if not calendar:
        raise BadInput("recall", f"no bank holidays are known for {year}", "agree a nearer date")
    return MappingProxyType(dict(calendar.items()))

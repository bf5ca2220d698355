"""Wall time and UTC: a moment that never comes is refused, one that comes twice is asked."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from enum import IntEnum
from functools import lru_cache
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from aftercare.errors import BadInput


class Fold(IntEnum):
    """Which of two moments with the same wall time is meant, numbered as PEP 495 does."""

    FIRST = 0
    SECOND = 1


@dataclass(frozen=True, slots=True)
class Wall:
    """What a clock on the wall shows in a zone, and the moments in UTC when it does.

    ``moments`` has none in the gap when clocks go forward, and two, the earlier first, in the
    hour that comes twice when they go back.
    """

    shown: datetime
    zone: str
    moments: tuple[datetime, ...]


def wall(day: date, at: time, zone: str) -> Wall:
    """The moments when a clock in ``zone`` (IANA) shows this day and time.

    Raises ``BadInput`` for a zone nobody knows, and for the ends of the calendar.
    """
    shown, place = datetime.combine(day, at.replace(tzinfo=None, fold=0)), zone_of(zone)
    found = dict.fromkeys(
        moment for fold in Fold if _shows(moment := _utc(shown, place, fold), place) == shown
    )
    return Wall(shown, zone, tuple(sorted(found)))


def utc_of(day: date, at: time, zone: str, *, fold: Fold | None = None) -> datetime:
    """The one moment in UTC when a clock in ``zone`` shows this day and time.

    Raises ``BadInput`` when there is none, and when there are two and ``fold`` says not which.
    """
    found = wall(day, at, zone)
    said = f"{found.shown:%Y-%m-%d %H:%M} in {zone}"
    if not found.moments:
        raise BadInput(
            "time", f"{said} does not exist: clocks go forward over it", "choose another time"
        )
    if len(found.moments) == 1:
        return found.moments[0]
    if fold is None:
        first, second = (f"{one:%Y-%m-%dT%H:%M:%SZ}" for one in found.moments)
        raise BadInput(
            "time", f"{said} comes twice: {first} and {second}",
            "say which one: first or second",
        )  # fmt: skip
    return found.moments[fold]


def from_utc(moment: datetime, zone: str) -> datetime:
    """What a clock in ``zone`` shows at a moment, with the zone. Raises ``BadInput``."""
    return moment.astimezone(zone_of(zone))


@lru_cache(maxsize=512)
def zone_of(zone: str) -> ZoneInfo:
    """The zone of this IANA name. Raises ``BadInput`` for one nobody knows."""
    try:
        return ZoneInfo(zone)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise BadInput(
            "zone", f"'{zone[:40]}' is no time zone of the IANA database",
            "write it like Europe/London",
        ) from None  # fmt: skip


def _utc(shown: datetime, place: ZoneInfo, fold: Fold) -> datetime:
    try:
        return shown.replace(tzinfo=place, fold=fold).astimezone(UTC)
    except OverflowError:
        raise BadInput("time", "beyond the ends of the calendar", "choose another day") from None


def _shows(moment: datetime, place: ZoneInfo) -> datetime:
    try:
        return moment.astimezone(place).replace(tzinfo=None, fold=0)
    except OverflowError:
        raise BadInput("time", "beyond the ends of the calendar", "choose another day") from None

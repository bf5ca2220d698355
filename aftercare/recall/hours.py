"""When a message may reach somebody: not at night on their own clock, and not on a quiet day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache

from aftercare.errors import BadContent
from aftercare.recall.moments import Fold, zone_of

# No week is quiet from end to end.
_WEEK = 7


@dataclass(frozen=True, slots=True)
class Hours:
    """The hours of a day when a message may leave, the last left out; weekdays from Monday 0.

    Both are read on the recipient's clock.
    """

    opens: time
    closes: time
    quiet_days: frozenset[int] = frozenset()

    def span(self, day: date, zone: str) -> tuple[datetime, datetime]:
        """The first moment in UTC when a message may leave that day, and the first it may not.

        Where clocks change over an edge, the span is the shorter of the two it could be.
        """
        return _edges(day, self.opens, zone)[1], _edges(day, self.closes, zone)[0]

    def allow(self, moment: datetime, zone: str) -> bool:
        """Whether a message may leave at this moment."""
        day = moment.astimezone(zone_of(zone)).date()
        opens, closes = self.span(day, zone)
        return day.weekday() not in self.quiet_days and opens <= moment < closes

    def next_open(self, moment: datetime, zone: str) -> datetime:
        """The first moment from this one on when a message may leave.

        Raises ``BadContent`` when there is none within a week and a day.
        """
        day = moment.astimezone(zone_of(zone)).date()
        for number in range(_WEEK + 2):
            opens, closes = self.span(day + timedelta(days=number), zone)
            quiet = (day + timedelta(days=number)).weekday() in self.quiet_days
            if not quiet and moment < closes:
                return max(moment, opens)
        raise BadContent("shared/recall.toml", "every day of the week is quiet", "leave one open")


@lru_cache(maxsize=65_536)
def _edges(day: date, at: time, zone: str) -> tuple[datetime, datetime]:
    """The earlier and the later moment that a wall time could stand for; mostly the same."""
    place = zone_of(zone)
    found = [datetime.combine(day, at, place).replace(fold=fold).astimezone(UTC) for fold in Fold]
    return min(found), max(found)

"""The machine's clock, seen from the clinic."""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo


class SystemClock:
    """Tells the time of this machine; the day is the clinic's."""

    def __init__(self, timezone: str) -> None:
        self._zone = ZoneInfo(timezone)

    def now(self) -> str:
        """The moment in UTC, ISO 8601, seconds."""
        return datetime.now(UTC).isoformat(timespec="seconds")

    def today(self) -> date:
        """The day at the clinic."""
        return datetime.now(self._zone).date()

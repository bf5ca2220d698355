"""Days and weeks as people write them in the files of a catch-up."""

from __future__ import annotations

import re
from datetime import date

from aftercare.recall.catch_up import Span

HOW = "write a day like 2026-12-03 or a week like 2026-W49"


def read_day(words: str) -> date:
    """A day in ISO 8601. Raises ``ValueError`` with what is wrong."""
    if not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", words, re.ASCII):
        raise ValueError(f"{words[:40]!r} is not a day like 2026-12-03")
    try:
        return date.fromisoformat(words)
    except ValueError:
        raise ValueError(f"there is no day {words}") from None


def read_span(words: str) -> Span:
    """A day or an ISO 8601 week. Raises ``ValueError`` with what is wrong."""
    week = re.fullmatch(r"([0-9]{4})-?W([0-9]{2})", words, re.ASCII)
    if week is None:
        try:
            return Span.day(read_day(words))
        except ValueError as error:
            hint = "" if "no day" in str(error) else " or a week like 2026-W49"
            raise ValueError(f"{error}{hint}") from None
    try:
        return Span.week(int(week[1]), int(week[2]))
    except (ValueError, OverflowError):
        raise ValueError(f"there is no week {words}") from None

"""How long the register keeps somebody: ``[retention]`` of ``shared/recall.toml``."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from aftercare.library.settings import load

PLACE = "shared/recall.toml"
Years = Annotated[int, Field(ge=1, le=100)]


class _Retention(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)

    years_after_closing: Years


class _Tables(BaseModel):
    model_config = ConfigDict(extra="ignore", strict=True)

    retention: _Retention


def parse_retention(raw: bytes) -> int:
    """The whole years somebody is kept after the last recall was closed and the last visit.

    Raises ``BadContent`` with the line of the first thing wrong.
    """
    return load(PLACE, raw, _Tables).retention.years_after_closing


def kept_from(today: date, years: int) -> date:
    """The first day that is still kept; whatever ended before it may go.

    29 February counts back to 28 February where there is none: one day longer, never shorter.
    """
    try:
        return today.replace(year=today.year - years)
    except ValueError:
        return today.replace(year=today.year - years, day=28)

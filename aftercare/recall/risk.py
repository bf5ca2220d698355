"""The order of risk: what one overdue day counts, how late is too late, what a visit needs.

Ear conditions alone enter it. Nothing else about a patient does: no age, sex, language, origin or
disability.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from aftercare.model import Fact

OTHER = "other"


class Limits(StrEnum):
    """What a plan does about hard limits that some are past already."""

    HELD = "held"  # nobody passes one if a plan avoids it, though those past theirs wait longer
    WEIGHED = "weighed"  # to pass one counts, and so does every day past it


@dataclass(frozen=True, slots=True, kw_only=True)
class Risk:
    """One line of the order. ``condition`` is a fact, or ``OTHER`` for all that have no line.

    ``weight`` is what one overdue day counts, a whole number; ``limit_weeks`` is how long after
    the due day a visit may be at most; ``minutes`` and ``skill`` are what the visit needs.
    """

    condition: Fact
    weight: int
    limit_weeks: int
    minutes: int
    skill: str
    source: str

    @property
    def name(self) -> str:
        """The condition without its group."""
        return self.condition.rpartition(":")[2]


@dataclass(frozen=True, slots=True, kw_only=True)
class RiskOrder:
    """A clinic's order of risk. ``skills`` is what somebody with a skill may do, itself included.

    ``passing_weeks`` is what it counts to pass a hard limit, beside the time past it, where
    ``limits`` are weighed or cannot all be held.
    ``invite_weeks`` is how long before the planned day somebody is invited; ``share_who_come``
    of those invited, more than 0 and at most 1.
    """

    lines: Mapping[Fact, Risk]
    skills: Mapping[str, frozenset[str]]
    limits: Limits
    passing_weeks: int
    invite_weeks: int
    share_who_come: float

    def of(self, conditions: Iterable[Fact]) -> Stake:
        """What is at stake for somebody with these conditions.

        The greatest weight, the nearest limit, the longest visit and every skill count.
        """
        named = sorted(set(conditions))
        lines = [self.lines.get(one, self.lines[OTHER]) for one in named]
        lines = lines or [self.lines[OTHER]]
        heaviest = max(lines, key=lambda line: line.weight)
        return Stake(
            condition=heaviest.name,
            weight=heaviest.weight,
            limit_weeks=min(line.limit_weeks for line in lines),
            minutes=max(line.minutes for line in lines),
            skills=frozenset(line.skill for line in lines),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Stake:
    """What waiting costs one patient, and what the visit needs. ``condition`` gave the weight."""

    condition: str
    weight: int
    limit_weeks: int
    minutes: int
    skills: frozenset[str]

    def limit(self, due: date) -> date:
        """The last day that is not too late."""
        return due + timedelta(weeks=self.limit_weeks)

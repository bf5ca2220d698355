"""Who waits, which clinics there are, and what a plan makes of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from aftercare.recall.risk import Stake


@dataclass(frozen=True, slots=True, order=True)
class Span:
    """A day, or a week from Monday to Sunday: as exactly as a clinic's date is known."""

    first: date
    last: date

    @classmethod
    def day(cls, day: date) -> Span:
        """One day."""
        return cls(day, day)

    @classmethod
    def week(cls, year: int, week: int) -> Span:
        """An ISO 8601 week. Raises ``ValueError`` when the year has no such week."""
        monday = date.fromisocalendar(year, week, 1)
        return cls(monday, monday + timedelta(days=6))

    def meets(self, other: Span) -> bool:
        """Whether somebody told the one could come in the other."""
        return self.first <= other.last and other.first <= self.last

    def __str__(self) -> str:
        if self.first == self.last:
            return self.first.isoformat()
        year, week, _ = self.first.isocalendar()
        return f"{year}-W{week:02}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """``slots`` alike at one clinic. ``day`` is what is counted: the last day they could be on.

    ``skills`` is all that may be done there; ``skill`` is how the clinic wrote it. A slot that
    may be ``shared`` takes several short visits, as far as its ``minutes`` go.
    """

    when: Span
    day: date
    minutes: int
    skill: str
    skills: frozenset[str]
    slots: int
    shared: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Waiting:
    """Somebody who waits. ``listed`` is their place in the order in which they were listed.

    ``promised`` is when an earlier plan or the clinic would have them come, and ``told`` whether
    they have heard of it.
    """

    ref: str
    stake: Stake
    due: date
    limit: date
    listed: int
    promised: Span | None = None
    told: bool = False

    def overdue(self, day: date) -> int:
        """Days over on ``day``; none before the due day."""
        return max(0, (day - self.due).days)


@dataclass(frozen=True, slots=True, kw_only=True)
class Seat:
    """Room for ``room`` visits of ``minutes`` at one opening, by its number in the capacity."""

    opening: int
    when: Span
    day: date
    minutes: int
    skills: frozenset[str]
    room: int

    def suits(self, stake: Stake) -> bool:
        """Whether a visit fits in, and may be done there."""
        return stake.minutes <= self.minutes and stake.skills <= self.skills


class Aim(StrEnum):
    """What a plan keeps least, the first above the second and so on.

    ``PASSED`` binds only if a plan has nobody such; the fewest are told all the same.
    """

    TOLD_MOVED = "people told a day and moved"
    PASSED = "people who pass a hard limit some slot could keep (held at none, else let go)"
    TOLD_LEFT = "people told a day and left without any"
    PAST_DAYS = "risk-weighted days past the hard limit, with what passing it counts"
    MOVED = "people moved"
    RISK_DAYS = "risk-weighted overdue days"


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """How low one aim came, and the bound no plan goes under that does as well in those above."""

    aim: Aim
    value: int
    bound: int

    @property
    def exact(self) -> bool:
        """Whether the plan is proved best."""
        return self.value == self.bound

    @property
    def gap(self) -> float:
        """How far the bound is below the value, as a share of the value."""
        return (self.value - self.bound) / self.value if self.value else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A seat for each who waits, by reference; None has no place.

    ``beyond`` is the day after the last clinic, on which those without a place are counted.
    ``passing_weeks`` is what it counts to pass a hard limit, beside the days past it. ``proofs``
    are in order of their aims; none for a plan that keeps nothing least.
    """

    people: tuple[Waiting, ...]
    seats: tuple[Seat, ...]
    places: Mapping[str, Seat | None]
    beyond: date
    passing_weeks: int = 0
    proofs: tuple[Proof, ...] = ()

    @property
    def holds_limits(self) -> bool:
        """Whether nobody passes a hard limit whom some slot could keep within it."""
        return any(one.aim is Aim.PASSED and not one.value for one in self.proofs)

    def day(self, one: Waiting) -> date:
        """The day that is counted for somebody."""
        seat = self.places[one.ref]
        return self.beyond if seat is None else seat.day

    def moved(self, one: Waiting) -> bool:
        """Whether somebody does not come when they were to."""
        seat = self.places[one.ref]
        if one.promised is None:
            return False
        return seat is None or not seat.when.meets(one.promised)

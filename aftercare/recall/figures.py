"""The figure agreed for a condition: what is usual, what is allowed, and what is asked twice.

No guideline fixes when a cavity is cleaned again. The clinician always gives the figure; it is
held against the clinic's own, and none is ever filled in.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum

from aftercare.model import Case, Fact, Interval, RecallMonths
from aftercare.recall.dates import in_words

# The mean month: a twelfth of 365.25 days.
WEEKS_A_MONTH = 365.25 / 12 / 7
# How sure `usual` is, as shared/limits.toml says beside it.
USUAL_BECAUSE = "common practice, no source"


class Standing(StrEnum):
    """How an agreed figure stands to the clinic's own."""

    USUAL = "usual"
    ALLOWED = "allowed"
    OUTSIDE = "outside"


@dataclass(frozen=True, slots=True)
class Figure:
    """What was agreed for one condition, and what clinics agree for it."""

    condition: Fact
    agreed: Interval
    months: RecallMonths

    @property
    def standing(self) -> Standing:
        """Whether the figure is usual, allowed or outside both; the bounds belong to each."""
        weeks = _weeks(self.agreed.months, self.agreed.weeks)
        for standing, (least, most) in (
            (Standing.USUAL, self.months.usual),
            (Standing.ALLOWED, self.months.allowed),
        ):
            if _weeks(least) <= weeks <= _weeks(most):
                return standing
        return Standing.OUTSIDE

    @property
    def said(self) -> str:
        """The figure in words; weeks are told in months too."""
        words = in_words(self.agreed)
        if not self.agreed.weeks:
            return words
        return (
            f"{words} (about {self.agreed.months + self.agreed.weeks / WEEKS_A_MONTH:.1f} months)"
        )

    @property
    def usual(self) -> str:
        """What is usual, as a proposal, and how sure that is."""
        least, most = self.months.usual
        return f"{least} to {most} months is usual for {self.condition} ({USUAL_BECAUSE})"

    @property
    def allowed(self) -> str:
        """What is allowed without being asked again."""
        least, most = self.months.allowed
        return f"{least} to {most} months is allowed"


def _weeks(months: int, weeks: int = 0) -> int:
    """Whole weeks, the nearest: so 13, 26 and 52 weeks are 3, 6 and 12 months."""
    return round(months * WEEKS_A_MONTH) + weeks


def figures(case: Case, known: Mapping[Fact, RecallMonths]) -> tuple[Figure, ...]:
    """The agreed figure against each condition of either ear that ``known`` has months for."""
    if case.recall is None:
        return ()
    facts = frozenset[Fact]().union(*(ear.facts for ear in case.ears))
    return tuple(Figure(one, case.recall, known[one]) for one in sorted(facts & known.keys()))


def unusual(case: Case, known: Mapping[Fact, RecallMonths]) -> Iterator[str]:
    """What of the agreed figure is worth a look; nothing when it is usual."""
    for figure in figures(case, known):
        if figure.standing is Standing.ALLOWED:
            yield f"recall in {figure.said}; {figure.usual}"
        elif figure.standing is Standing.OUTSIDE:
            yield _outside(figure, case)


def confirmed(case: Case, known: Mapping[Fact, RecallMonths]) -> Iterator[str]:
    """What a clinician confirmed of the agreed figure, with the reason, for the record."""
    if case.recall is None or case.recall.confirmed is None:
        return
    outside = [one for one in figures(case, known) if one.standing is Standing.OUTSIDE]
    yield from (_outside(one, case) for one in outside)
    if not outside:
        yield f"recall in {in_words(case.recall)}; {_confirmation(case.recall, case)}"


def _outside(figure: Figure, case: Case) -> str:
    said = f"recall in {figure.said}; {figure.allowed}, and {figure.usual}"
    return f"{said}; {_confirmation(figure.agreed, case)}"


def _confirmation(agreed: Interval, case: Case) -> str:
    if agreed.confirmed is None:
        return "nobody has confirmed it"
    return f"confirmed by {case.clinician}; reason: {agreed.confirmed}"

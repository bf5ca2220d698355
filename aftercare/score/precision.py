"""How far a formula's value would move on another sample of the same writing.

A jackknife over sentences (Quenouille 1949, Tukey 1958; Efron & Stein 1981): leave out a
group of sentences, compute again, and take the spread. No chance is involved. It is the
sampling error alone; the error of the formula itself comes on top.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from math import sqrt

from aftercare.model import Counts
from aftercare.score.formula import Formula
from aftercare.score.tally import Tally

GROUPS = 30
LEAST_SENTENCES = 3
# Student's t, two-sided 95%, for 1, 2 ... 29 degrees of freedom (standard table).
_STUDENT = (
    *(12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228),
    *(2.201, 2.179, 2.160, 2.145, 2.131, 2.120, 2.110, 2.101, 2.093, 2.086),
    *(2.080, 2.074, 2.069, 2.064, 2.060, 2.056, 2.052, 2.048, 2.045),
)


class Sample:
    """The sentences of one text as packed counts."""

    def __init__(self, sentences: Sequence[int], uncounted: frozenset[str]) -> None:
        self.sentences = sentences
        self.uncounted = uncounted

    @cached_property
    def leaves_one_out(self) -> tuple[Counts, ...]:
        """The counts of the text without each group of its sentences."""
        groups = min(GROUPS, len(self.sentences))
        total = sum(self.sentences)
        return tuple(
            Tally(total - sum(self.sentences[first::groups]), 0, self.uncounted).counts()
            for first in range(groups)
        )

    def deviation(self, formula: Formula) -> float | None:
        """The standard error of a formula's value, or None with too few sentences."""
        if len(self.sentences) < LEAST_SENTENCES:
            return None
        values = [formula.compute(counts) for counts in self.leaves_one_out]
        mean = sum(values) / len(values)
        squares = sum((value - mean) ** 2 for value in values)
        return sqrt(squares * (len(values) - 1) / len(values))

    def interval(self, formula: Formula, value: float) -> tuple[float, float] | None:
        """The 95% interval around a value."""
        deviation = self.deviation(formula)
        if deviation is None:
            return None
        reach = _STUDENT[min(GROUPS, len(self.sentences)) - 2] * deviation
        return value - reach, value + reach

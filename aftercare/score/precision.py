"""How far a formula's value would move on another sample of the same writing.

A jackknife over sentences (Quenouille 1956, Tukey 1958): leave out a group of sentences,
compute again, and take the spread. No chance is involved. A few sentences say little about
their own spread, so it is pooled with the usual one: ``Formula.spread``, measured by a
bootstrap of a 606-word ear-care text and held by tests/score/test_precision.py. The interval
is the sampling error alone; the error of the formula itself comes on top.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from math import sqrt

from aftercare.model import Counts
from aftercare.score.formula import Formula
from aftercare.score.tally import Tally

GROUPS = 30
LEAST_WORDS = 20  # the smallest sample whose spread was measured
_PRIOR = 4  # degrees of freedom given to the usual spread
# Student's t, two-sided 95%, for 1, 2 ... 33 degrees of freedom (standard table).
_STUDENT = (
    *(12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228, 2.201),
    *(2.179, 2.160, 2.145, 2.131, 2.120, 2.110, 2.101, 2.093, 2.086, 2.080, 2.074),
    *(2.069, 2.064, 2.060, 2.056, 2.052, 2.048, 2.045, 2.042, 2.040, 2.037, 2.035),
)


class Sample:
    """The sentences of one text as packed counts."""

    def __init__(self, sentences: Sequence[int], uncounted: frozenset[str] = frozenset()) -> None:
        self.sentences = sentences
        self.uncounted = uncounted

    @cached_property
    def words(self) -> int:
        """How many words the sentences have together."""
        return self._counted(sum(self.sentences)).words

    @cached_property
    def one_group_less(self) -> tuple[Counts, ...]:
        """The counts of the text without each group of its sentences."""
        groups = min(GROUPS, len(self.sentences))
        total = sum(self.sentences)
        return tuple(
            self._counted(total - sum(self.sentences[first::groups])) for first in range(groups)
        )

    def deviation(self, formula: Formula) -> float:
        """The standard error of a formula's value by the jackknife; needs two sentences."""
        values = [formula.compute(counts) for counts in self.one_group_less]
        mean = sum(values) / len(values)
        squares = sum((value - mean) ** 2 for value in values)
        return sqrt(squares * (len(values) - 1) / len(values))

    def interval(self, formula: Formula, value: float) -> tuple[float, float] | None:
        """The 95% interval around a value, or None for fewer than 20 words or sentences to tell."""
        freedom = min(GROUPS, len(self.sentences)) - 1
        if self.words < LEAST_WORDS or (formula.spread is None and freedom < _PRIOR):
            return None
        variance = freedom * self.deviation(formula) ** 2 if freedom else 0.0
        if formula.spread is not None:
            variance += _PRIOR * formula.spread**2 / self.words
            freedom += _PRIOR
        reach = _STUDENT[freedom - 1] * sqrt(variance / freedom)
        return max(value - reach, formula.least), value + reach

    def _counted(self, total: int) -> Counts:
        return Tally(total, 0, self.uncounted).counts()

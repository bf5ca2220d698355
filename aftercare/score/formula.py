"""What a readability formula is: a value that names its languages, preparation and source.

A formula never guesses: ``assess`` answers with a number only where the formula's own paper
gives it one, and says which of four things the answer is.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from math import inf

from aftercare.model import Counts

# Words a sentence on average; beyond it the text has no sentence ends to count, and a grade
# made from it would be nonsense (common practice, no source).
LONGEST_MEAN = 60


class Status(StrEnum):
    """How far an answer may be trusted."""

    VALID = "valid"
    ESTIMATED = "estimated"
    NOT_VALID = "not valid"
    NOT_SCORED = "not scored"


_NO_VALUE = frozenset({Status.NOT_VALID, Status.NOT_SCORED})


class Scale(StrEnum):
    """What the number of a formula means."""

    GRADE = "grade"  # years of United States schooling
    EASE = "ease"  # a higher number is easier
    INDEX = "index"  # a higher number is harder


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """How a text is prepared before it is counted, in words a reader can check."""

    name: str
    words: str
    sentences: str
    syllables: str = ""


@dataclass(frozen=True, slots=True)
class Band:
    """A name for every value up to, not including, ``below``; the last band has infinity."""

    below: float
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Formula:
    """One published formula.

    ``compute`` takes the counts of a text with at least one word and one sentence. ``needs``
    names the fields of Counts it reads, every one of which must be counted (not None).
    Every formula here is a function of ratios of counts: twice the text, the same value.
    Below ``least_words`` there is no single value; below ``least_sentences`` no answer at
    all; below ``full_words`` or ``full_sentences`` the value is an estimate. ``spread`` is the
    usual sampling error times the square root of the words, measured on ordinary patient
    text (see precision.py); ``error`` is the formula's own published standard error. No text
    has a value below ``least``, so no interval begins below it.
    ``conflict`` states what the literature has not settled.
    """

    name: str
    title: str
    languages: frozenset[str]
    needs: tuple[str, ...]
    scale: Scale
    profile: Profile
    source: str
    compute: Callable[[Counts], float]
    bands: tuple[Band, ...] = ()
    least_words: int = 100
    least_sentences: int = 1
    full_words: int = 100
    full_sentences: int = 1
    spread: float | None = None
    error: float | None = None
    least: float = -inf
    conflict: str = ""

    def band(self, value: float) -> str:
        """What a value means in words; a grade without named bands says the school year."""
        if self.bands:
            return next(band.label for band in self.bands if value < band.below)
        return _school_year(value) if self.scale is Scale.GRADE else ""

    def harder(self, value: float, limit: float) -> bool:
        """Whether a value is harder to read than a limit."""
        return value < limit if self.scale is Scale.EASE else value > limit

    def status(self, counts: Counts) -> Status:
        """Whether this formula may speak of a text with these counts.

        A text shorter than ``least_words`` is ESTIMATED: an interval at most, no value.
        """
        if any(getattr(counts, field) is None for field in self.needs):
            return Status.NOT_SCORED
        sentences = counts.sentences - (counts.stems if "stems" in self.needs else 0)
        if counts.words == 0 or sentences < max(1, self.least_sentences):
            return Status.NOT_VALID
        if "sentences" in self.needs and counts.words > LONGEST_MEAN * sentences:
            return Status.NOT_VALID
        if counts.words < max(self.least_words, self.full_words) or sentences < self.full_sentences:
            return Status.ESTIMATED
        return Status.VALID

    def value(self, counts: Counts) -> float | None:
        """The formula's value, or None where it gives no single one."""
        if self.status(counts) in _NO_VALUE or counts.words < self.least_words:
            return None
        return self.compute(counts)


@dataclass(frozen=True, slots=True, kw_only=True)
class FormulaScore:
    """What one formula says of one text; ``low`` and ``high`` bound its 95% interval.

    The interval is the sampling error alone: another sample of the same writing. ``error`` is
    the formula's own published standard error, which comes on top.
    """

    value: float | None
    status: Status
    source: str
    low: float | None = None
    high: float | None = None
    band: str = ""
    error: float | None = None
    conflict: str = ""


def _school_year(grade: float) -> str:
    if grade < 1:
        return "below US grade 1"
    if grade >= 17:
        return "beyond US grade 16"
    return f"US grade {int(grade + 0.5)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Language:
    """What aftercare can count in one language, and the formulas that were made for it.

    ``sentences`` answers the counts of each sentence of one paragraph or list item, in
    order; what it cannot count is None there. ``formulas`` is empty when none is validated.
    ``aftercare.score.languages.find(code)`` answers one of these, or None.
    """

    code: str
    formulas: tuple[Formula, ...]
    sentences: Callable[[str], tuple[Counts, ...]]

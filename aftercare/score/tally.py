"""Counts of a sentence packed into one whole number, so that adding is one addition.

Every field of ``Counts`` that adds up has 32 bits of its own; no text that fits in memory
fills one. The lowest 32 bits are left to the tokeniser's marks and never become counts.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from operator import attrgetter
from typing import Any

from aftercare.model import Counts

# The fields that add up, then what only the check of the language needs.
FIELDS = (
    "words",
    "sentences",
    "syllables",
    "polysyllables",
    "monosyllables",
    "four_syllables",
    "letters",
    "strokes",
    "long_words",
    "complex_words",
    "unfamiliar_1948",
    "unfamiliar_1995",
    "stems",
)
CHECKS = ("everyday", "other_script")
BITS = 32
MASK = (1 << BITS) - 1
SHIFT = {field: BITS * (place + 1) for place, field in enumerate(FIELDS + CHECKS)}
WORDS = SHIFT["words"]
ONE_SENTENCE = 1 << SHIFT["sentences"]
ONE_STEM = 1 << SHIFT["stems"]
_VALUES = attrgetter(*FIELDS)
_SHIFTS = tuple(SHIFT[field] for field in FIELDS)


@dataclass(frozen=True, slots=True)
class Tally:
    """The sum of some sentences and the longest of them, in words.

    ``uncounted`` are the fields this language has no count of; they are None in ``counts``.
    """

    total: int = 0
    longest: int = 0
    uncounted: frozenset[str] = frozenset()

    def counts(self) -> Counts:
        """The same as Counts."""
        total = self.total
        (
            words,
            sentences,
            syllables,
            poly,
            mono,
            four,
            letters,
            strokes,
            long,
            hard,
            old,
            new,
            stems,
        ) = (total >> shift & MASK for shift in _SHIFTS)
        counts = Counts(
            words=words,
            sentences=sentences,
            syllables=syllables,
            polysyllables=poly,
            longest_sentence=self.longest,
            monosyllables=mono,
            four_syllables=four,
            letters=letters,
            strokes=strokes,
            long_words=long,
            complex_words=hard,
            unfamiliar_1948=old,
            unfamiliar_1995=new,
            stems=stems,
        )
        if not self.uncounted:
            return counts
        none: dict[str, Any] = dict.fromkeys(self.uncounted)
        return replace(counts, **none)

    def checked(self, field: str) -> int:
        """One of CHECKS."""
        return self.total >> SHIFT[field] & MASK


def packed(**fields: int) -> int:
    """The whole number that holds these fields."""
    return sum(count << SHIFT[field] for field, count in fields.items())


def pack(counts: Counts) -> int:
    """One sentence's Counts as a whole number; what is None is left out."""
    return sum((getattr(counts, field) or 0) << SHIFT[field] for field in FIELDS)


def tally(sentences: Sequence[int], uncounted: frozenset[str] = frozenset()) -> Tally:
    """The sum of packed sentences."""
    longest = max((sentence >> WORDS & MASK for sentence in sentences), default=0)
    return Tally(sum(sentences), longest, uncounted)


def add(parts: Iterable[Counts]) -> Counts:
    """The counts of the whole from the counts of its parts.

    A field that one part could not count is None in the whole.
    """
    together = tuple(parts)
    if not together:
        return Counts()
    columns = zip(*map(_VALUES, together), strict=True)
    sums: dict[str, Any] = {
        field: None if None in column else sum(column)
        for field, column in zip(FIELDS, columns, strict=True)
    }
    return Counts(longest_sentence=max([part.longest_sentence for part in together]), **sums)

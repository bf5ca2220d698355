"""Scores of finished messages: the sum of what each line counted, once, for all patients.

Only words and dates of a line are words; names, phone numbers, addresses and links are left
out, and never remembered. Lines repeat from patient to patient, so their counts are kept.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache

from aftercare.model import Counts, Line, Role, Score, Span
from aftercare.score.english import FLESCH, FLESCH_KINCAID, SMOG
from aftercare.score.reading import is_english, own_formulas, reading
from aftercare.score.tally import Tally, tally
from aftercare.score.tokens import HOLE

# "mer. 22 sept. 2027" is no end of a sentence.
_SHORTENED = re.compile(r"\.(?=[\s,])")
_LINES_KEPT = 8192


def score_lines(lines: Iterable[Line], language: str) -> Score:
    """The score of a message whose lines are paragraphs and list items, headings left out.

    A value is left out where the text is too short for it, or the formula is of another language.
    """
    counts = count_lines(lines, language)
    if not is_english(language):
        values = ((one.name, one.value(counts)) for one in own_formulas(language))
        return Score(
            counts=counts, own=tuple((name, value) for name, value in values if value is not None)
        )
    return Score(
        counts=counts,
        flesch=FLESCH.value(counts),
        fkgl=FLESCH_KINCAID.value(counts),
        smog=SMOG.value(counts),
    )


def count_lines(lines: Iterable[Line], language: str) -> Counts:
    """The counts of a message: what its lines counted, added up."""
    total = longest = 0
    for line in lines:
        counted = _remembered(readable(line), language)
        total += counted.total
        longest = max(longest, counted.longest)
    return Tally(total, longest, reading(language).uncounted).counts()


def readable(line: Line) -> str:
    """A line's words, with a hole where something stands that is not words."""
    return "".join([_said(span) for span in line.spans])


def _said(span: Span) -> str:
    if span.role is Role.DATE:
        return _SHORTENED.sub("", span.text)
    return span.text if span.role is Role.WORDS else HOLE


@lru_cache(_LINES_KEPT)
def _remembered(words: str, language: str) -> Tally:
    return tally(reading(language).sentences(words))

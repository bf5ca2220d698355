"""The ratios that the formulas of every language share, and their common preparation."""

from __future__ import annotations

from aftercare.model import Counts
from aftercare.score.formula import Profile


def sentence_length(c: Counts) -> float:
    """Words per sentence."""
    return c.words / c.sentences


def word_length(c: Counts) -> float:
    """Syllables per word."""
    return (c.syllables or 0) / c.words


def percent(count: int | None, c: Counts) -> float:
    """Words of one kind per hundred words."""
    return 100 * (count or 0) / c.words


def profile(language: str, *, syllables: str) -> Profile:
    """How a text in this language is prepared before it is counted."""
    return Profile(
        name=language,
        words=(
            "what stands between blanks and has a letter or a digit; hyphens and apostrophes join; "
            "phone numbers, e-mail and web addresses are left out (common practice, no source)"
        ),
        sentences=(
            "headings left out; every paragraph and list item is at least one sentence; the "
            "language's own abbreviations end none (common practice, no source)"
        ),
        syllables=f"{syllables}; a numeral has one (Flesch's convention, carried over)",
    )

"""The form every syllabifier works on, composed lower-case letters, and lists of words."""

from __future__ import annotations

from unicodedata import normalize


def folded(word: str) -> str:
    """A word in composed (NFC) lower case; a letter and its accent are one character."""
    return normalize("NFC", word).lower()


def listed(words: str) -> tuple[str, ...]:
    """Words written out between blanks."""
    return tuple(words.split())

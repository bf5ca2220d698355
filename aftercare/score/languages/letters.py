"""The form every syllabifier of this package works on: composed, lower-case letters."""

from __future__ import annotations

from unicodedata import normalize


def folded(word: str) -> str:
    """A word in composed (NFC) lower case; a letter and its accent are one character."""
    return normalize("NFC", word).lower()

"""Spaces that hold a value together."""

from __future__ import annotations

# CLDR's narrow and thin spaces, which not every face has.
_NARROW = str.maketrans("\u202f\u2009", "\u00a0\u00a0")


def firm(text: str) -> str:
    """The text with CLDR's narrow spaces as the plain one that never breaks.

    It keeps a number and its unit on one line; a text message has none, and says a space.
    """
    return text.translate(_NARROW)

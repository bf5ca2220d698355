"""Spaces that hold a value together."""

from __future__ import annotations


def firm(text: str) -> str:
    """The text with CLDR's narrow space, which not every face has, as the plain one of its kind.

    Both keep a number and its unit on one line; a text message has neither, and says a space.
    """
    return text.replace("\u202f", "\u00a0")

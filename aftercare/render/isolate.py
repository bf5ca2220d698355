"""Keeping numbers, names and addresses in one piece inside right-to-left text."""

from __future__ import annotations

from aftercare.model import Line, Role, Span

# Unicode Standard Annex 9: LRI and FSI open an isolate, PDI closes it.
LRI, FSI, PDI = "\u2066", "\u2068", "\u2069"
_LEFT_TO_RIGHT = frozenset({Role.PHONE, Role.LINK})
_FIRST_STRONG = frozenset({Role.NAME, Role.ADDRESS, Role.DATE})


def isolated(span: Span, direction: str) -> str:
    """The span's text, wrapped so that it cannot reorder or be reordered by what is around it.

    Left-to-right text needs none of this, and the marks would turn an SMS into UCS-2.
    """
    if direction == "ltr":
        return span.text
    if span.role in _LEFT_TO_RIGHT:
        return f"{LRI}{span.text}{PDI}"
    if span.role in _FIRST_STRONG:
        return f"{FSI}{span.text}{PDI}"
    return span.text


def plain(line: Line, direction: str) -> str:
    """A line as plain text, safe in its direction."""
    return "".join(isolated(span, direction) for span in line.spans)

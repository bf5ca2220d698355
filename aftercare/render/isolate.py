"""Keeping numbers, names and addresses in one piece among words of the other direction."""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType
from unicodedata import bidirectional

from aftercare.model import Line, Role, Span

# Unicode Standard Annex 9: LRI and FSI open an isolate, PDI closes it.
LRI, FSI, PDI = "\u2066", "\u2068", "\u2069"
# A letter of no shape that is read from right to left.
RLM = "\u200f"
# How a span is kept whole: left to right, or by its own first letter (annex 9, section 2.4).
OPENERS: Mapping[Role, str] = MappingProxyType(
    {Role.PHONE: LRI, Role.LINK: LRI, Role.NAME: FSI, Role.ADDRESS: FSI, Role.DATE: FSI}
)
# The marks that steer direction by force; one inside a name could end its isolate.
STEERING = re.compile("[\u202a-\u202e\u2066-\u2069]")


def isolated(span: Span, direction: str) -> str:
    """The span's text, wrapped so that it cannot reorder or be reordered by what is around it.

    Left-to-right text needs this only around a right-to-left name; there the marks cost an SMS
    nothing, as the name's own letters have made it UCS-2 already.
    """
    if span.role is Role.WORDS or (direction == "ltr" and span.text.isascii()):
        return span.text
    text = STEERING.sub("", span.text)
    if direction == "ltr" and not _runs_right_to_left(text):
        return text
    return f"{OPENERS[span.role]}{text}{PDI}"


def _runs_right_to_left(text: str) -> bool:
    return any(bidirectional(char) in ("R", "AL", "AN") for char in text)


def plain(line: Line, direction: str) -> str:
    """A line as plain text, safe in its direction.

    Whoever shows plain text takes a line's direction from its first letter outside isolates, and
    without one for left to right (annex 9, P2 and P3): a line that would mislead begins with a
    mark that is read the right way.
    """
    text = "".join(isolated(span, direction) for span in line.spans)
    return f"{RLM}{text}" if direction == "rtl" and text and not _begins_right(text) else text


def _begins_right(text: str) -> bool:
    """Whether the first letter outside isolates is read from right to left."""
    depth = 0
    for char in text:
        depth += (char in (LRI, FSI)) - (char == PDI)
        kind = bidirectional(char)
        if depth == 0 and kind in ("L", "R", "AL"):
            return kind != "L"
    return False

"""What stays on one line with the word after it: numbers with what they count, one-letter words."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from types import MappingProxyType

from aftercare.model import Role, Span

_NO_BREAK = "\u00a0"
# An ordinal has a full stop after it in some languages.
_NUMBER = r"(?:\d+(?:[.,:]\d+)*[.¼½¾]?|[¼½¾])"
# An isolate may end between a number and what it counts.
_COUNTED = re.compile(rf"(?<![^\s(\u2066-\u2068])({_NUMBER}\u2069?) (?=[^\W\d_])")
_ONLY_NUMBER = re.compile(_NUMBER)
_GOES_ON = re.compile(r"\A (?=[^\W\d_])")
# In Polish print no line ends with a word of one letter (common practice; PN-83/P-55366 from
# memory).
_SHORT_WORDS: Mapping[str, re.Pattern[str]] = MappingProxyType(
    {"pl": re.compile(r"(?<!\S)([aiouwz]) (?=\S|\Z)", re.IGNORECASE)}
)


def unparted(spans: Iterable[Span], language: str) -> Iterator[Span]:
    """The spans with spaces that are no place to end a line made so; no other character differs.

    A number to ring is left to stand for itself: what follows it counts nothing.
    """
    short = _SHORT_WORDS.get(re.split("[-_]", language)[0].lower())
    counts = False
    for span in spans:
        if span.role is Role.PHONE:
            counts = False
            yield span
            continue
        text = _GOES_ON.sub(_NO_BREAK, span.text) if counts else span.text
        counts = bool(_ONLY_NUMBER.fullmatch(text))
        yield replace(span, text=_joined(text, short))


def counted(text: str) -> str:
    """The text, each number held to the word after it."""
    return _COUNTED.sub(rf"\1{_NO_BREAK}", text)


def _joined(text: str, short: re.Pattern[str] | None) -> str:
    return counted(short.sub(rf"\1{_NO_BREAK}", text) if short else text)

"""Emphasis and lists kept, and no mark that the source does not have."""

from __future__ import annotations

import re
from collections.abc import Iterator

from aftercare.word.checks.pair import Finding, Pair, Severity

EMPHASIS, LIST, MARK = "emphasis", "list", "markup"
_STRONG = re.compile(r"\*\*(?=\S)(.+?)(?<=\S)\*\*", re.DOTALL)
_ITEM = re.compile(r"^\s*(?:[-*+•]|\d{1,2}[.)])\s+", re.MULTILINE)
_STRAY = re.compile(r"</?[a-zA-Z][^>]*>|`|\]\(|^#{1,6} |__|~~|&[a-z]+;", re.MULTILINE)


def emphasis(pair: Pair) -> Iterator[Finding]:
    """What is bold in the source is bold in the translation, each with both its marks."""
    wanted, there = len(_STRONG.findall(pair.source)), len(_STRONG.findall(pair.target))
    if wanted != there:
        why = f"the source has {wanted} bold run(s), the translation {there}"
        yield Finding(EMPHASIS, Severity.BLOCK, why)
    elif _STRONG.sub("", pair.target).count("**") > _STRONG.sub("", pair.source).count("**"):
        yield Finding(EMPHASIS, Severity.BLOCK, "a ** without its partner would be printed")


def lists(pair: Pair) -> Iterator[Finding]:
    """A list has as many items as in the source."""
    wanted, there = len(_ITEM.findall(pair.source)), len(_ITEM.findall(pair.target))
    if wanted != there:
        why = f"the source has {wanted} list item(s), the translation {there}"
        yield Finding(LIST, Severity.BLOCK, why)


def marks(pair: Pair) -> Iterator[Finding]:
    """No other markup has come in: tags, links, headings, code."""
    known = {one.lower() for one in _STRAY.findall(pair.source)}
    for one in dict.fromkeys(_STRAY.findall(pair.target)):
        if one.lower() not in known:
            yield Finding(MARK, Severity.BLOCK, f"the mark '{one[:20]}' is not in the source")

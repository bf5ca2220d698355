"""Unsafe characters: what hides, what reorders, what no page can print, what only looks right."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator

from aftercare.word.checks.identity import script_of
from aftercare.word.checks.pair import Finding, Pair, Severity

CHARACTER = "character"
_FORCING = re.compile("[\u202a-\u202e\u2066-\u2069]")
_HIDDEN = re.compile("[\u00ad\u180e\u200b\u2060-\u2064\ufeff\u061c]")
_JOINERS = re.compile("[\u200c\u200d]")
_DIRECTION = re.compile("[\u200e\u200f]")
_UNPRINTABLE = frozenset({"Cc", "Cs", "Co", "Cn", "Zl", "Zp"})
_JOINED_SCRIPTS = frozenset({"Arabic", "Bengali", "Gurmukhi"})
_WORD = re.compile(r"[^\W\d_]+")
_WIDE = re.compile("[\uff10-\uff19\uff21-\uff3a\uff41-\uff5a]")
# Scripts whose letters pass for Latin ones.
_LOOKALIKES = frozenset({"Cyrillic", "Greek", "Armenian", "Cherokee"})


def characters(pair: Pair, script: str | None) -> Iterator[Finding]:
    """No character of the translation hides, reorders or passes for another."""
    text = pair.target
    yield from _each(_FORCING, text, "forces the order of words")
    yield from _each(_HIDDEN, text, "cannot be seen")
    if script is not None and script not in _JOINED_SCRIPTS:
        yield from _each(_JOINERS, text, f"joins or parts letters, which {script} does not need")
    if script is not None and script != "Arabic":
        yield from _each(_DIRECTION, text, f"steers direction, which {script} does not need")
    for char in dict.fromkeys(text):
        unprintable = unicodedata.category(char) in _UNPRINTABLE and char not in "\n\t"
        if unprintable or char == "\ufffd":
            yield _finding(char, "cannot be printed")
    yield from _each(_WIDE, text, "is a wide copy of a plain letter or figure")
    yield from _lookalikes(text, script)


def _lookalikes(text: str, script: str | None) -> Iterator[Finding]:
    for word in _WORD.findall(text):
        for char in word:
            found = script_of(char)
            if found in _LOOKALIKES and found != script and script is not None:
                why = f"is a {found} letter that can pass for another"
                yield _finding(char, why)
                return


def _each(pattern: re.Pattern[str], text: str, why: str) -> Iterator[Finding]:
    for char in dict.fromkeys(pattern.findall(text)):
        yield _finding(char, why)


def _finding(char: str, why: str) -> Finding:
    return Finding(CHARACTER, Severity.BLOCK, f"U+{ord(char):04X} {why}")

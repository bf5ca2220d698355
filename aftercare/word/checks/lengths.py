"""Length: nothing cut off, nothing far longer than it need be, an SMS within its parts."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from unicodedata import category, east_asian_width

from aftercare.word.checks.pair import Finding, Medium, Pair, Severity
from aftercare.word.checks.words import sentences

TRUNCATED, LOST, LONG = "truncated", "sentence", "length"
TWICE, PAGE, SMS = "twice", "page", "sms"
Parts = Callable[[str], int]
# Shares of a language's usual length within which good translations lie: measured on the shipped
# catalogues and the tuning half of the tests' pairs, then widened.
LEAST, MOST = 0.45, 1.9
# A question that became part of the sentence after it leaves at least this share of the length.
LEAST_JOINED = 0.7
# Characters by which a short heading may be longer or shorter, whatever its share.
SPARE_MORE, SPARE_LESS = 24, 8
# Letters in a line of large print: with it every shipped sentence is reckoned within one line of
# what the press makes of it. No good pair takes more than two lines more than its source.
LETTERS_IN_A_LINE = 54
MORE_LINES = 3
# About what a number, a name or a date takes.
_FILLED = "x" * 12
_END = re.compile(r"[.!?:;。！？：；۔؟؛।॥…][\s*\"'”’»)\]]*$")
# A question and more after it.
_QUESTION = re.compile(r"\?(?=\s+\S)")
_SLOTS = re.compile(r"\{[^{}]*\}")
_COSTLY = "\u00a0\u202f\u2009\u2007"


def truncated(pair: Pair, usual: float) -> Iterator[Finding]:
    """The translation ends as a sentence does where the source does, and nothing is missing.

    ``usual`` is how many characters the language takes for one of the English.
    """
    there, wanted = _length(pair.target), usual * _length(pair.source)
    if _END.search(pair.source.strip()) and not _END.search(pair.target.strip()):
        why = "the source ends a sentence; the translation breaks off"
        yield Finding(TRUNCATED, Severity.BLOCK, why)
    elif there < LEAST * wanted - SPARE_LESS:
        why = f"{there} characters where about {wanted:.0f} are usual: something may be missing"
        yield Finding(TRUNCATED, Severity.WARN, why)
    elif _fewer(pair, joined=there >= LEAST_JOINED * wanted):
        many, asked = len(sentences(pair.target)), len(sentences(pair.source))
        why = f"fewer sentences than the source ({many} of {asked}): see that none is missing"
        yield Finding(LOST, Severity.WARN, why)


def _fewer(pair: Pair, *, joined: bool) -> bool:
    """Fewer sentences, beyond questions that became a condition: worse? call us; if worse, call us.

    ``joined`` is whether the text is long enough for that.
    """
    missing = len(sentences(pair.source)) - len(sentences(pair.target))
    return missing > (len(_QUESTION.findall(pair.source)) if joined else 0)


def too_long(pair: Pair, usual: float) -> Iterator[Finding]:
    """The translation is not far longer than the source makes it."""
    there, wanted = _length(pair.target), usual * _length(pair.source)
    if there > MOST * wanted + SPARE_MORE:
        why = f"{there} characters where about {wanted:.0f} are usual"
        yield Finding(LONG, Severity.WARN, why)


def said_twice(pair: Pair) -> Iterator[Finding]:
    """No sentence of the translation is said again, unless one of the source is."""
    there, wanted = sentences(pair.target), sentences(pair.source)
    if len(set(there)) < len(there) and len(set(wanted)) == len(wanted):
        yield Finding(TWICE, Severity.WARN, "the translation says the same sentence again")


def outgrows(pair: Pair) -> Iterator[Finding]:
    """The translation takes about as many lines of large print as the source.

    Whether a whole leaflet keeps to its pages is proved by ``proof.pages``.
    """
    short = 2 * len(pair.target) < MORE_LINES * LETTERS_IN_A_LINE
    if pair.medium is Medium.SMS or short:
        return
    there, wanted = page_lines(pair.target), page_lines(pair.source)
    if there - wanted >= MORE_LINES:
        why = (
            f"about {there} lines in large print where the source takes {wanted}: with sentences"
            " like it a leaflet outgrows its pages"
        )
        yield Finding(PAGE, Severity.WARN, why)


def page_lines(text: str) -> int:
    """About how many lines a sentence takes in large print."""
    cells = sum(map(_cells, _SLOTS.sub(_FILLED, text).replace("**", "")))
    return max(1, -(-cells // LETTERS_IN_A_LINE))


def _cells(char: str) -> int:
    """Chinese letters are twice as wide (Unicode Standard Annex 11); signs stand over others."""
    if category(char) in ("Mn", "Me", "Cf"):
        return 0
    return 2 if east_asian_width(char) in "WF" else 1


def sms(pair: Pair, parts: Parts) -> Iterator[Finding]:
    """An SMS is within its limit of parts, and pays for no character it need not have."""
    if pair.medium is not Medium.SMS:
        return
    counted = parts(pair.target)
    if pair.limit is not None and counted > pair.limit:
        yield Finding(SMS, Severity.BLOCK, f"{counted} SMS parts, {pair.limit} allowed")
    costly = [char for char in _COSTLY if char in pair.target]
    if costly:
        named = ", ".join(f"U+{ord(char):04X}" for char in costly)
        why = f"a special space ({named}) can double the price of an SMS; type a plain one"
        yield Finding(SMS, Severity.BLOCK, why)


def _length(text: str) -> int:
    """Characters without slots, whose filling is as long in every language."""
    return len(_SLOTS.sub("", text))

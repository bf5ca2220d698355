"""Safety checks on a translation: what the source says that can hurt is said, and no more.

Each check is a function of its own with a named kind; none knows another. The checks see words,
not meaning: a pair without findings still needs a person who reads both languages.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from aftercare.word.checks.amounts import numbers, times, units
from aftercare.word.checks.characters import characters
from aftercare.word.checks.denials import negation
from aftercare.word.checks.identity import untranslated, wrong_language
from aftercare.word.checks.lengths import Parts, outgrows, said_twice, sms, too_long, truncated
from aftercare.word.checks.markup import emphasis, lists, marks
from aftercare.word.checks.pair import Finding, Medium, Pair, Read, Severity
from aftercare.word.checks.sides import side
from aftercare.word.checks.slots import phones, slots
from aftercare.word.checks.terms import Terms, terms
from aftercare.word.checks.tongues import ENGLISH, Tongue, code_of, known, tongue
from aftercare.word.checks.twins import twins
from aftercare.word.checks.urgency import contact, urgency
from aftercare.word.checks.words import sentences

__all__ = ["Finding", "Medium", "Pair", "Parts", "Severity", "Terms", "check_pair", "check_pairs"]

EMPTY, HEADER, UNCHECKED = "empty", "header", "unchecked"
# Characters for each of the English in a language without a file.
USUAL_LENGTH = 1.2
_HEADERS = ("Project-Id-Version:", "Content-Type: text/plain", "Plural-Forms:")
_OF_TEXT = (slots, phones, emphasis, lists, marks)
_OF_LANGUAGE = (untranslated, wrong_language)
_OF_WORDS = (numbers, units, times, negation, side, urgency, contact)


def check_pairs(
    pairs: Sequence[Pair], *, parts: Parts, glossaries: Mapping[str, Terms]
) -> list[tuple[Finding, ...]]:
    """The findings of each pair, in order, with what shows only across them.

    ``parts`` counts the SMS parts of a text; ``glossaries`` holds the terms of each language.
    """
    found = [list(_findings(pair, parts, glossaries)) for pair in pairs]
    for at, finding in twins(pairs):
        found[at].append(finding)
    return [tuple(one) for one in found]


def check_pair(pair: Pair, *, parts: Parts, glossaries: Mapping[str, Terms]) -> tuple[Finding, ...]:
    """The findings of one pair by itself."""
    return tuple(_findings(pair, parts, glossaries))


def _findings(pair: Pair, parts: Parts, glossaries: Mapping[str, Terms]) -> Iterator[Finding]:
    if not pair.source.strip():
        yield Finding(HEADER, Severity.BLOCK, "an empty source is a catalogue's header")
    elif not pair.target.strip():
        yield Finding(EMPTY, Severity.BLOCK, "the translation is empty")
    elif any(mark in pair.target for mark in _HEADERS):
        yield Finding(HEADER, Severity.BLOCK, "the translation is a catalogue's header")
    else:
        yield from _of_text(pair, parts)
        yield from _of_words(pair, glossaries.get(code_of(pair.language), {}))


def _of_text(pair: Pair, parts: Parts) -> Iterator[Finding]:
    one = _tongue(pair)
    usual = one.length if one else USUAL_LENGTH
    for check in _OF_TEXT:
        yield from check(pair)
    yield from characters(pair, one.looks.script if one else None)
    yield from truncated(pair, usual)
    yield from too_long(pair, usual)
    yield from said_twice(pair)
    yield from outgrows(pair)
    yield from sms(pair, parts)


def _of_words(pair: Pair, glossary: Terms) -> Iterator[Finding]:
    one = _tongue(pair)
    if one is None:
        why = f"no word lists for {pair.language}: numbers in words, 'not' and sides unchecked"
        yield Finding(UNCHECKED, Severity.WARN, why)
        return
    read = Read(pair, tongue(ENGLISH), one, sentences(pair.source), sentences(pair.target))
    other = [finding for check in _OF_LANGUAGE for finding in check(read)]
    yield from other
    # In a text of another language every other word check would cry too.
    if not any(finding.severity is Severity.BLOCK for finding in other):
        for check in _OF_WORDS:
            yield from check(read)
        yield from terms(read, glossary)


def _tongue(pair: Pair) -> Tongue | None:
    """What is known of the pair's language; None if there is no file for it."""
    code = code_of(pair.language)
    return tongue(code) if code in known() else None

"""Which form of a sentence says a number: picked by the rule of the language's own catalogue."""

from __future__ import annotations

import gettext
from collections.abc import Callable, Mapping
from functools import cache

from aftercare.model import COUNTS, Library, Phrase

# The rule of English, in which content is written: one, and any other number.
SOURCE_RULE = "n != 1"
_SHOWN = range(121)


def plural_rule(library: Library, language: str) -> str:
    """The rule that picks a plural form in a language of the library."""
    catalogue = None if language == library.source_language else library.catalogues.get(language)
    return catalogue.plural if catalogue else SOURCE_RULE


def form_for(phrase: Phrase, rule: str, slots: Mapping[str, str]) -> Phrase:
    """The form for the number that stands in its slot; the phrase itself if it tells none.

    ``slots`` holds the number in plain digits. A form may say it in words and have no slot.
    """
    if not phrase.others:
        return phrase
    count = next(int(slots[slot]) for slot in phrase.every_slot if slot in COUNTS)
    return phrase.forms[_rule(rule)(count)]


@cache
def shown(rule: str) -> tuple[int, ...]:
    """A number for each form that is ever used: of two digits where there is one, else more."""
    found: dict[int, int] = {}
    for count in _SHOWN:
        number = _rule(rule)(count)
        found[number] = count if count < 100 else found.get(number, count)
    return tuple(found.values())


@cache
def _rule(rule: str) -> Callable[[int], int]:
    return gettext.c2py(rule)

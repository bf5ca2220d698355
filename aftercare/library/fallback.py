"""Which catalogue a reader is written to from, when there is none of their very own.

A whole message comes from one catalogue. A language is never eked out with another: a catalogue
that lacks a sentence is not ready, and the next one in the chain takes its place entirely.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from functools import cache

from babel import Locale, UnknownLocaleError
from babel.core import get_global
from babel.localedata import exists

from aftercare.errors import BadInput

# A language with a script, a territory or both (RFC 5646, 2.1); no variant has a catalogue.
_TAG = re.compile(r"([a-z]{2,3})(?:[-_]([a-z]{4}))?(?:[-_]([a-z]{2}|[0-9]{3}))?", re.IGNORECASE)


def tidy(tag: str) -> str:
    """A language tag as catalogues are named: ``PT-br`` is ``pt_BR``, ``zh-hans`` ``zh_Hans``.

    Letter case means nothing in a tag, and its hyphen is our underscore (RFC 5646, 2.1.1).
    Raises ``BadInput`` for what is no tag, or what CLDR knows no language by.
    """
    found = _TAG.fullmatch(tag)
    try:
        if found is None:
            raise ValueError
        language, script, territory = (part or "" for part in found.groups())
        parts = (language.lower(), script.title(), territory.upper())
        written = "_".join(filter(None, parts))
        _known(written)
    except (UnknownLocaleError, ValueError):
        raise BadInput(
            "language", f"no language is called '{tag[:20]}'", "write it like ur or pt_BR"
        ) from None
    return written


@cache
def base(language: str) -> str:
    """The language itself, without script or territory: ``pt`` of ``pt_BR``."""
    return language.partition("_")[0]


@cache
def chain(language: str, source: str) -> tuple[str, ...]:
    """The languages to try for a reader, best first: ``ur_PK``, ``ur``, then the source.

    Another script is another way of reading, so ``zh_TW`` never leads to ``zh_Hans``, nor
    ``pa_Arab`` to ``pa``. Raises ``BadInput`` for what CLDR knows no language by.
    """
    try:
        bare = _known(language).language
    except (UnknownLocaleError, ValueError):
        raise BadInput(
            "language", f"no language is called '{language[:20]}'", "write it like ur or pt_BR"
        ) from None
    # What is written in the tag counts: CLDR answers zh_Hant_CN, which it lacks, with zh_Hans_CN.
    script = _written_script(language) or _script(language) or _script(bare)
    scripted = f"{bare}_{script}" if script and exists(f"{bare}_{script}") else None
    tried = [language, scripted, bare if script == _script(bare) else None, source]
    return tuple(dict.fromkeys(one for one in tried if one is not None))


def best(language: str, ready: Collection[str], source: str) -> str:
    """The first of a reader's languages that is ready; the source language always is."""
    return next(one for one in chain(language, source) if one in ready or one == source)


def _known(language: str) -> Locale:
    """The locale; one in a script and a territory that CLDR has apart, by its script."""
    try:
        return Locale.parse(language)
    except UnknownLocaleError:
        scripted, _, territory = language.rpartition("_")
        if _written_script(scripted) and territory in Locale.parse("en").territories:
            return Locale.parse(scripted)
        raise


def _written_script(language: str) -> str | None:
    return next((part for part in language.split("_")[1:] if len(part) == 4), None)


def _script(language: str) -> str | None:
    """The script a language is usually written in, from CLDR's likely subtags."""
    likely = get_global("likely_subtags").get(language)
    if likely is None and "_" in language:
        bare = language.partition("_")[0]
        likely = get_global("likely_subtags").get(bare)
    return next((part for part in (likely or "").split("_")[1:] if len(part) == 4), None)

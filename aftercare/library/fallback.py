"""Which catalogue a reader is written to from, when there is none of their very own.

A whole message comes from one catalogue. A language is never eked out with another: a catalogue
that lacks a sentence is not ready, and the next one in the chain takes its place entirely.
"""

from __future__ import annotations

from collections.abc import Collection

from babel import Locale, UnknownLocaleError
from babel.core import get_global
from babel.localedata import exists

from aftercare.errors import BadInput


def chain(language: str, source: str) -> tuple[str, ...]:
    """The languages to try for a reader, best first: ``ur_PK``, ``ur``, then the source.

    Another script is another way of reading, so ``zh_TW`` never leads to ``zh_Hans``, nor
    ``pa_Arab`` to ``pa``. Raises ``BadInput`` for what CLDR knows no language by.
    """
    try:
        wanted = Locale.parse(language)
    except (UnknownLocaleError, ValueError):
        raise BadInput(
            "language", f"no language is called '{language[:20]}'", "write it like ur or pt_BR"
        ) from None
    bare = wanted.language
    script = wanted.script or _script(language) or _script(bare)
    scripted = f"{bare}_{script}" if script and exists(f"{bare}_{script}") else None
    tried = [language, scripted, bare if script == _script(bare) else None, source]
    return tuple(dict.fromkeys(one for one in tried if one is not None))


def best(language: str, ready: Collection[str], source: str) -> str:
    """The first of a reader's languages that is ready; the source language always is."""
    return next(one for one in chain(language, source) if one in ready or one == source)


def _script(language: str) -> str | None:
    """The script a language is usually written in, from CLDR's likely subtags."""
    likely = get_global("likely_subtags").get(language)
    if likely is None and "_" in language:
        bare = language.partition("_")[0]
        likely = get_global("likely_subtags").get(bare)
    return next((part for part in (likely or "").split("_")[1:] if len(part) == 4), None)

"""Glossary terms kept: one term, one translation in each language."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache

from aftercare.word.checks.lexicon import Lexicon
from aftercare.word.checks.pair import Finding, Read, Severity

TERM = "term"
# English term -> the forms its one translation may take, `stem*` for a word that begins so.
Terms = Mapping[str, Sequence[str]]


def terms(read: Read, glossary: Terms) -> Iterator[Finding]:
    """Where the source says a term of the glossary, the translation says its translation."""
    for term in dict.fromkeys(_said(tuple(glossary)).values(read.source)):
        if not _told(tuple(glossary[term]), read.tongue.clitics).values(read.target):
            listed = ", ".join(glossary[term])
            yield Finding(TERM, Severity.WARN, f"'{term}' is told as '{listed}' elsewhere")


# A glossary is asked for every sentence there is.
@lru_cache(maxsize=64)
def _said(terms: tuple[str, ...]) -> Lexicon[str]:
    return Lexicon((form, term) for term in terms for form in (term, f"{term}s"))


@lru_cache(maxsize=1024)
def _told(forms: tuple[str, ...], clitics: tuple[str, ...]) -> Lexicon[bool]:
    return Lexicon(((form, True) for form in forms), clitics)

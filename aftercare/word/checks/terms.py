"""Glossary terms kept: one term, one translation in each language."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from aftercare.word.checks.lexicon import Lexicon
from aftercare.word.checks.pair import Finding, Read, Severity

TERM = "term"
# English term -> the forms its one translation may take, `stem*` for a word that begins so.
Terms = Mapping[str, Sequence[str]]


def terms(read: Read, glossary: Terms) -> Iterator[Finding]:
    """Where the source says a term of the glossary, the translation says its translation."""
    english = Lexicon((form, term) for term in glossary for form in (term, f"{term}s"))
    for term in dict.fromkeys(english.values(read.source)):
        forms: Lexicon[str] = Lexicon((form, term) for form in glossary[term])
        if not forms.values(read.target):
            listed = ", ".join(glossary[term])
            yield Finding(TERM, Severity.WARN, f"'{term}' is told as '{listed}' elsewhere")

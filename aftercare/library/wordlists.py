"""The editor's word lists: clinical terms with their meaning, hard words with a plainer choice."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field

from aftercare.errors import BadContent
from aftercare.library.settings import line_of, load

Said = Annotated[str, Field(min_length=1, max_length=200)]


class GlossaryFile(BaseModel):
    """`shared/glossary.toml`."""

    model_config = ConfigDict(extra="forbid", strict=True)

    # In `[terms]` a term and its meaning; in `[terms.LANGUAGE]` a term and its translation.
    terms: dict[Said, Said | dict[Said, Any]]


class PlainWordsFile(BaseModel):
    """`shared/plain-words.toml`."""

    model_config = ConfigDict(extra="forbid", strict=True)

    words: dict[Said, Said]


def parse_glossary(place: str, raw: bytes) -> dict[str, str]:
    """Clinical terms and what they mean in plain words."""
    return _read(place, raw)[0]


def parse_terms(place: str, raw: bytes) -> dict[str, dict[str, list[str]]]:
    """How each term is translated, by language: the forms it takes, ``stem*`` for any ending."""
    return _read(place, raw)[1]


def _read(place: str, raw: bytes) -> tuple[dict[str, str], dict[str, dict[str, list[str]]]]:
    listed = load(place, raw, GlossaryFile).terms
    meanings = {term: said for term, said in listed.items() if isinstance(said, str)}
    languages = {name: terms for name, terms in listed.items() if isinstance(terms, dict)}
    for language, terms in languages.items():
        for term, forms in terms.items():
            if not _are_words(forms):
                line = line_of(raw, ("terms", language, term))
                problem = f"'{term[:40]}' in [terms.{language}] is not a list of words"
                raise BadContent(f"{place}:{line}", problem, 'write "grommet" = ["drenik*"]')
    return meanings, languages


def _are_words(forms: object) -> bool:
    return isinstance(forms, list) and bool(forms) and all(isinstance(w, str) and w for w in forms)


def parse_plain_words(place: str, raw: bytes) -> dict[str, str]:
    """Hard words and what to write in their place."""
    return load(place, raw, PlainWordsFile).words

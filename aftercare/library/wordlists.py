"""The editor's word lists: clinical terms with their meaning, hard words with a plainer choice."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from aftercare.library.settings import load

Said = Annotated[str, Field(min_length=1, max_length=200)]


class GlossaryFile(BaseModel):
    """`shared/glossary.toml`."""

    model_config = ConfigDict(extra="forbid", strict=True)

    terms: dict[Said, Said]


class PlainWordsFile(BaseModel):
    """`shared/plain-words.toml`."""

    model_config = ConfigDict(extra="forbid", strict=True)

    words: dict[Said, Said]


def parse_glossary(place: str, raw: bytes) -> dict[str, str]:
    """Clinical terms and what they mean in plain words."""
    return load(place, raw, GlossaryFile).terms


def parse_plain_words(place: str, raw: bytes) -> dict[str, str]:
    """Hard words and what to write in their place."""
    return load(place, raw, PlainWordsFile).words

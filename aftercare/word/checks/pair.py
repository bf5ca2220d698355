"""What is asked and what is answered: a source with its translation, and what was found."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from aftercare.word.checks.tongues import Tongue
from aftercare.word.checks.words import Sentence


class Severity(StrEnum):
    """Whether a finding stops a translation, or asks a person to look."""

    BLOCK = "block"
    WARN = "warn"


class Medium(StrEnum):
    """What the translation is for; an SMS pays for some characters."""

    ANY = "any"
    SMS = "sms"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """An English source and its translation; ``limit`` is the most parts an SMS may have."""

    id: str
    source: str
    target: str
    language: str
    medium: Medium = Medium.ANY
    limit: int | None = None


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing found in a pair: its kind, how grave it is, and why in plain words."""

    kind: str
    severity: Severity
    why: str


@dataclass(frozen=True, slots=True)
class Read:
    """A pair as the word checks see it: both texts as sentences of words, with their languages."""

    pair: Pair
    english: Tongue
    tongue: Tongue
    source: tuple[Sentence, ...]
    target: tuple[Sentence, ...]

    def aligned(self) -> Iterator[tuple[tuple[Sentence, ...], tuple[Sentence, ...]]]:
        """Sentence beside sentence where both texts have as many, else the texts whole."""
        if len(self.source) == len(self.target):
            for one, other in zip(self.source, self.target, strict=True):
                yield (one,), (other,)
        else:
            yield self.source, self.target


def quoted(text: str) -> str:
    """The beginning of a text in quotation marks, on one line."""
    flat = " ".join(text.split())
    return f"'{flat[:60]}…'" if len(flat) > 61 else f"'{flat}'"

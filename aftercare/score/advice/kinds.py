"""What a piece of advice is, and how far it still stands."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Kind(StrEnum):
    """What a piece of advice is about."""

    LONG_SENTENCE = "long sentence"
    PASSIVE = "passive voice"
    DOUBLE_NEGATIVE = "double negative"
    BURIED_ACTION = "buried action"
    LATE_CONDITION = "condition after the instruction"
    NOMINALISATION = "verb turned into a noun"
    UNEXPLAINED_TERM = "clinical term"
    BARE_NUMBER = "number without unit"
    VAGUE_TIME = "vague time"
    MANY_ACTIONS = "many actions"
    STALE_ACCEPTANCE = "acceptance that fits nothing"


class Standing(StrEnum):
    """Whether anybody has to act on a piece of advice."""

    OPEN = "open"  # mend the words, or accept the advice with a reason
    ACCEPTED = "accepted"  # an editor keeps the words and has said why
    SHOWN = "shown"  # nothing to do: a clinical term, and here it is explained


SOURCES = {
    Kind.LONG_SENTENCE: "EU leaflet guideline 2009: about 20 words (from memory)",
    Kind.PASSIVE: "PEMAT-P item 5 (Shoemaker 2014)",
    Kind.DOUBLE_NEGATIVE: "common practice, no source",
    Kind.BURIED_ACTION: "common practice, no source; the number of words: proposed by this project",
    Kind.LATE_CONDITION: "common practice, no source",
    Kind.NOMINALISATION: "common practice, no source",
    Kind.UNEXPLAINED_TERM: "PEMAT-P item 4 (Shoemaker 2014)",
    Kind.BARE_NUMBER: "PEMAT-P item 6 (Shoemaker 2014)",
    Kind.VAGUE_TIME: "Ley 1979: concrete advice is less often forgotten",
    Kind.MANY_ACTIONS: "proposed by this project; a clinician must confirm",
    Kind.STALE_ACCEPTANCE: "proposed by this project",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """One thing an editor may want to change, and where.

    ``line`` counts from 1; ``start`` and ``end`` are code-point offsets in the source text,
    and ``words`` is exactly what stands between them, marks included. ``accepted_because`` is
    the editor's reason when the advice is accepted.
    """

    kind: Kind
    line: int
    start: int
    end: int
    words: str
    reason: str
    help: str
    source: str
    standing: Standing = Standing.OPEN
    accepted_because: str = ""


@dataclass(frozen=True, slots=True)
class Accepted:
    """An editor's decision to keep some words as they are, with the reason."""

    kind: Kind
    words: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AdviceLimits:
    """Where advice begins. The values are the clinic's, from ``shared/limits.toml``.

    ``sentence_words``: longest sentence. ``actions``: most things asked of the reader.
    ``words_before_action``: most words before the reader's verb. ``paragraph_sentences`` and
    ``list_items``: longest paragraph and list that an instrument's item lets pass.
    """

    sentence_words: int
    actions: int
    words_before_action: int
    paragraph_sentences: int
    list_items: int

"""Every wording a patient can meet: block by block, form by form, reader by reader."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import product

from aftercare.model import (
    SLOTS,
    ApprovalState,
    Block,
    Fact,
    Library,
    Line,
    Phrase,
    Span,
    Unit,
)

# What stands in for a slot that is read as words: the longest day and month, a usual length.
_READ_AS_WORDS = {
    "visit_date": "Wednesday, 24 September 2027",
    "recall_date": "Wednesday, 24 September 2027",
    "removed_cm": "5.5 cm",
    "removed_inches": "2 inches",
}
FRAME, CLINIC = "frame", "clinic"
FRAME_SENTENCES = ("visit_line", "caution")
PAGE, SMS, SMS_DETAIL = "page", "sms", "sms in detail"
FORMS = (PAGE, SMS, SMS_DETAIL)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wording:
    """One block as one kind of reader meets it, on a page or in a text message.

    ``when`` are the facts that choose these words among the block's own.
    """

    block: str
    form: str
    when: tuple[Fact, ...]
    lines: tuple[Line, ...]


def wordings(library: Library, language: str) -> Iterator[Wording]:
    """Every wording a patient can meet in a language; the frame's sentences come first.

    A phrase without a translation is left out: the release gate withholds it anyway.
    """
    say = speaker(library, language)
    frame = [say(FRAME, library.frame.texts[key]) for key in FRAME_SENTENCES]
    yield Wording(block=FRAME, form=PAGE, when=(), lines=tuple(filter(None, frame)))
    for block in library.blocks:
        if block.approval.state is not ApprovalState.RETIRED:
            yield from of_block(block, library, say)


Speaker = Callable[[str, Phrase], Line | None]


def speaker(library: Library, language: str) -> Speaker:
    """Says a phrase in a language with its slots filled; None where it has no translation."""
    catalogue = library.catalogues.get(language)

    def translated(context: str, phrase: Phrase) -> Phrase | None:
        if language == library.source_language:
            return phrase
        found = catalogue.phrases.get((context, phrase.msgid)) if catalogue else None
        return found.phrase if found else None

    hours = translated(CLINIC, Phrase(library.clinic.hours, ()))
    filled = {**_READ_AS_WORDS, "clinic_hours": hours.msgid if hours else library.clinic.hours}

    def say(context: str, phrase: Phrase) -> Line | None:
        words = translated(context, phrase)
        if words is None:
            return None
        spans = (
            Span(filled.get(piece.text, piece.text), SLOTS[piece.text])
            if piece.slot
            else Span(piece.text)
            for piece in words.pieces
        )
        return Line(tuple(spans), context, approved=True)

    return say


def of_block(block: Block, library: Library, say: Speaker) -> Iterator[Wording]:
    """Every wording of one block, whoever reads it."""
    forms = {
        PAGE: [unit for part in block.parts for unit in part.units],
        SMS: [block.sms] if block.sms else [],
        SMS_DETAIL: [block.sms_detail] if block.sms_detail else [],
    }
    for form, units in forms.items():
        for when in _readers(units, library) if units else ():
            said = (say(block.id, _chosen(unit, when)) for unit in units)
            lines = tuple(line for line in said if line is not None)
            yield Wording(block=block.id, form=form, when=when, lines=lines)


def _readers(units: Sequence[Unit], library: Library) -> Iterator[tuple[Fact, ...]]:
    """Each combination of the facts that choose words in these units."""
    named = {fact.partition(":")[0] for u in units for v in u.variants for fact in v.when}
    met = {fact for u in units for v in u.variants for fact in v.when}
    groups = [
        [fact for value in library.facts[name].values if (fact := f"{name}:{value}") in met]
        for name in sorted(named)
    ]
    yield from product(*groups)


def _chosen(unit: Unit, when: Sequence[Fact]) -> Phrase:
    return next(v.phrase for v in unit.variants if v.when <= frozenset(when))

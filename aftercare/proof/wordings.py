"""Every wording a patient can meet: block by block, form by form, reader by reader."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

from aftercare.model import (
    COUNTS,
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
from aftercare.proof.stand_ins import stand_ins
from aftercare.score.formula import Formula
from aftercare.word.counted import form_for, plural_rule
from aftercare.word.formats import full_date, short_date

FRAME, FOR_PARENT = "frame", "_parent"
FRAME_SENTENCES = ("visit_line", "caution")
PAGE, SMS, SMS_DETAIL = "page", "sms", "sms in detail"
FORMS = (PAGE, SMS, SMS_DETAIL)
_SEVERAL = dict.fromkeys(COUNTS, "30")


@dataclass(frozen=True, slots=True, kw_only=True)
class Wording:
    """One block as one kind of reader meets it, on a page or in a text message.

    ``when`` are the facts that choose these words among the block's own.
    """

    block: str
    form: str
    when: tuple[Fact, ...]
    lines: tuple[Line, ...]


def wordings(
    library: Library, language: str, formula: Formula | None = None
) -> tuple[Wording, ...]:
    """Every wording a patient can meet in a language, each once; the frame's come first.

    Slots that are read as words hold the hardest value by ``formula``. A phrase without a
    translation is left out: the release gate withholds it anyway.
    """
    return tuple(
        dict.fromkeys(
            wording
            for written, forms in ((full_date, (PAGE,)), (short_date, (SMS, SMS_DETAIL)))
            for filled in stand_ins(library, language, formula, written=written)
            for wording in _said(library, speaker(library, language, filled))
            if wording.form in forms
        )
    )


Speaker = Callable[[str, Phrase], Line | None]


def _said(library: Library, say: Speaker) -> Iterator[Wording]:
    for reader in ("", FOR_PARENT):
        texts = library.frame.texts
        told = [texts.get(key + reader, texts[key]) for key in FRAME_SENTENCES]
        lines = tuple(line for phrase in told if (line := say(FRAME, phrase)) is not None)
        yield Wording(block=FRAME, form=PAGE, when=(), lines=lines)
    for block in in_use(library):
        yield from of_block(block, library, say)


def in_use(library: Library) -> Iterator[Block]:
    """The blocks that can reach a patient: those that are not retired."""
    for block in library.blocks:
        if block.approval.state is not ApprovalState.RETIRED:
            yield block


def speaker(library: Library, language: str, filled: Mapping[str, str]) -> Speaker:
    """Says a phrase in a language with its slots filled; None where it has no translation.

    A slot that ``filled`` has no value for is no word, and stays as it is written; of a sentence
    that tells a number without a value it is the form for thirty.
    """
    catalogue = library.catalogues.get(language)
    rule = plural_rule(library, language)

    def translated(context: str, phrase: Phrase) -> Phrase | None:
        if language == library.source_language:
            return phrase
        found = catalogue.phrases.get((context, phrase.source)) if catalogue else None
        return found.phrase if found else None

    def say(context: str, phrase: Phrase) -> Line | None:
        words = translated(context, phrase)
        if words is None:
            return None
        words = form_for(words, rule, {**_SEVERAL, **filled}) if words.others else words
        spans = (
            Span(filled.get(piece.text, f"{{{piece.text}}}"), SLOTS[piece.text])
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
        for when in readers(units, library) if units else ():
            said = (say(block.id, _chosen(unit, when)) for unit in units)
            lines = tuple(line for line in said if line is not None)
            yield Wording(block=block.id, form=form, when=when, lines=lines)


def readers(units: Sequence[Unit], library: Library) -> Iterator[tuple[Fact, ...]]:
    """Each combination of the facts that choose words in these units; one empty one for none."""
    named = {fact.partition(":")[0] for u in units for v in u.variants for fact in v.when}
    met = {fact for u in units for v in u.variants for fact in v.when}
    groups = [
        [fact for value in library.facts[name].values if (fact := f"{name}:{value}") in met]
        for name in sorted(named)
    ]
    yield from product(*groups)


def _chosen(unit: Unit, when: Sequence[Fact]) -> Phrase:
    return next(v.phrase for v in unit.variants if v.when <= frozenset(when))

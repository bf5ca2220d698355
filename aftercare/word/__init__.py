"""WORD: chosen blocks become finished words in one language, each line knowing its block."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from itertools import groupby

from aftercare.model import (
    Case,
    Choice,
    Chosen,
    Fact,
    Library,
    Line,
    Part,
    Passage,
    Phrase,
    Section,
    Shape,
    Side,
    Span,
    Unit,
    Variant,
    Worded,
)
from aftercare.word.help import HELP
from aftercare.word.hours import hours_line
from aftercare.word.slots import Slots
from aftercare.word.translate import Translator

__all__ = ["word"]

FRAME, HOURS = "frame", "hours"
FOR_PARENT, READS_FOR_A_CHILD = "_parent", "reader:parent"
# What a text may say beyond the lock screen is the patient's own choice.
WANTS_DETAIL = "texts:detail"


def word(
    case: Case,
    choice: Choice,
    facts: frozenset[Fact],
    library: Library,
    *,
    language: str,
    recall: date | None,
) -> Worded:
    """The visit's words in ``language``: translated whole, then the slots filled.

    ``facts`` are the person's; the side comes with each chosen block. What has no
    translation is named in ``Worded.missing``. Nothing is raised: the gate decides.
    """
    translator = Translator(library, language)
    hours = hours_line(library.clinic, translator)
    slots = Slots(case, library, language=language, hours=hours, recall=recall)
    frame = {
        key: translator.line(FRAME, phrase, slots.of(Side.BOTH))
        for key, phrase in _furniture(library, facts)
    }
    # Kept as a line of its own, so that an unapproved translation of it is seen.
    frame[HOURS] = hours
    teller = _Teller(facts, translator, slots)
    return Worded(
        language=language,
        direction=translator.direction,
        frame=frame,
        sections=tuple(teller.sections(choice, frame)),
        short=tuple(teller.short(choice)),
        missing=tuple(sorted(translator.missing)),
    )


def _furniture(library: Library, facts: frozenset[Fact]) -> Iterator[tuple[str, Phrase]]:
    """The frame for this reader: where a parent reads, the parent's wording of a key wins.

    Where to get help in another language is said in that language alone: see ``word.help``.
    """
    texts = library.frame.texts
    for key in texts:
        if not key.endswith(FOR_PARENT) and not key.startswith(HELP):
            for_parent = texts.get(key + FOR_PARENT) if READS_FOR_A_CHILD in facts else None
            yield key, for_parent or texts[key]


class _Teller:
    """Says a unit in the words that hold for this patient and this side."""

    def __init__(self, facts: frozenset[Fact], translator: Translator, slots: Slots) -> None:
        self._facts = facts
        self._translator = translator
        self._slots = slots

    def sections(self, choice: Choice, frame: dict[str, Line]) -> Iterator[Section]:
        for kind, group in groupby(choice.chosen, key=lambda one: one.block.kind):
            passages = [self._passage(one, part) for one in group for part in one.block.parts]
            yield Section(kind, frame[f"heading_{kind}"], tuple(_joined(passages)))

    def short(self, choice: Choice) -> Iterator[tuple[Chosen, Line]]:
        for one in choice.chosen:
            unit = one.block.sms
            if WANTS_DETAIL in self._facts and one.block.sms_detail is not None:
                unit = one.block.sms_detail
            if unit is not None:
                yield one, self._line(one, unit, self._slots.texted(one.side))

    def _passage(self, one: Chosen, part: Part) -> Passage:
        slots = self._slots.of(one.side)
        return Passage(part.shape, tuple(self._line(one, unit, slots) for unit in part.units))

    def _line(self, one: Chosen, unit: Unit, slots: Mapping[str, Span]) -> Line:
        phrase = self._variant(one, unit).phrase
        return self._translator.line(one.block.id, phrase, slots)

    def _variant(self, one: Chosen, unit: Unit) -> Variant:
        holding = self._facts | {f"side:{one.side}"}
        # READ proved that every combination has exactly one wording.
        return next(variant for variant in unit.variants if variant.when <= holding)


def _joined(passages: Iterable[Passage]) -> Iterator[Passage]:
    """Neighbouring passages of one shape as one, so that signs from two blocks are one list.

    Steps stay apart: two procedures read as one would be followed as one.
    """
    for shape, same in groupby(passages, key=lambda passage: passage.shape):
        if shape is Shape.STEPS:
            yield from same
        else:
            yield Passage(shape, tuple(line for passage in same for line in passage.lines))

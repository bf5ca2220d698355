"""The words of a recall message in one language, and what its slots are filled with."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime
from zoneinfo import ZoneInfo

from aftercare.model import (
    SLOTS,
    Block,
    Case,
    Channel,
    Chosen,
    Fact,
    Kind,
    Library,
    Line,
    Passage,
    Phrase,
    Section,
    Side,
    Span,
    Unit,
    Variant,
    Worded,
)
from aftercare.word.formats import clock_time, full_date, reader_locale, short_date
from aftercare.word.hours import hours_line
from aftercare.word.slots import Slots
from aftercare.word.translate import Translator

Filled = Mapping[str, Span]
FRAME, HOURS, SUBJECT = "frame", "hours", "subject"
# The furniture of a recall message; its subject is a block's own.
FURNITURE = ("salutation", "signoff", "stamp", "sms_open", "page", "edition")
_FOR_PARENT, _READS_FOR_A_CHILD = "_parent", "reader:parent"
_NO_WORDS = Line((), FRAME, approved=True)


def word_reminder(
    case: Case,
    chosen: Iterable[Chosen],
    subject: tuple[Block, Unit] | None,
    facts: frozenset[Fact],
    library: Library,
    filled: Filled,
    *,
    channel: Channel,
    language: str,
) -> Worded:
    """A recall message's words: translated whole, then the slots filled.

    ``filled`` are the slots that differ from patient to patient; whatever it holds wins. Raises
    ``KeyError`` for a slot nobody filled. What has no translation is in ``Worded.missing``.
    """
    translator = Translator(library, language)
    hours = hours_line(library.clinic, translator)
    clinic = Slots(case, library, language=language, hours=hours, recall=None)
    slots = {**clinic.of(Side.BOTH), **filled}
    frame = {
        key: translator.line(FRAME, phrase, slots) for key, phrase in _furniture(library, facts)
    }
    frame[HOURS] = hours
    if subject is not None:
        block, unit = subject
        frame[SUBJECT] = translator.line(block.id, _variant(unit, facts).phrase, slots)

    def say(one: Chosen, unit: Unit) -> Line:
        return translator.line(one.block.id, _variant(unit, facts).phrase, slots)

    told = tuple(chosen)
    short: list[tuple[Chosen, Line]] = []
    passages: list[Passage] = []
    for one in told:
        if channel is not Channel.SMS:
            passages += [
                Passage(p.shape, tuple(say(one, u) for u in p.units)) for p in one.block.parts
            ]
        elif one.block.sms is not None:
            short.append((one, say(one, one.block.sms)))
    return Worded(
        language=language,
        direction=translator.direction,
        frame=frame,
        sections=(Section(Kind.RECALL, _NO_WORDS, tuple(passages)),),
        short=tuple(short),
        missing=tuple(sorted(translator.missing)),
    )


def _furniture(library: Library, facts: frozenset[Fact]) -> Iterator[tuple[str, Phrase]]:
    texts = library.frame.texts
    for key in FURNITURE:
        for_parent = texts.get(key + _FOR_PARENT) if _READS_FOR_A_CHILD in facts else None
        yield key, for_parent or texts[key]


def _variant(unit: Unit, facts: frozenset[Fact]) -> Variant:
    # READ proved that every combination has exactly one wording.
    return next(variant for variant in unit.variants if variant.when <= facts)


def fill(
    library: Library,
    language: str,
    *,
    first_name: str,
    last_name: str,
    days: Mapping[str, date],
    times: Mapping[str, datetime],
    channel: Channel,
) -> dict[str, Span]:
    """The slots of one patient: the names, each of ``days`` by its slot, and each of ``times``.

    A time is told as ``<name>_date`` and ``<name>_time`` on the clinic's clock, in the language.
    Dates are short in a text message, which pays by the letter.
    """
    texts = {"first_name": first_name, "patient_name": f"{first_name} {last_name}".strip()}
    locale = reader_locale(language, library.clinic.territory)
    written = short_date if channel is Channel.SMS else full_date
    for slot, day in days.items():
        texts[slot] = written(day, locale)
    for name, moment in times.items():
        shown = moment.astimezone(ZoneInfo(library.clinic.timezone))
        texts[f"{name}_date"] = written(shown.date(), locale)
        texts[f"{name}_time"] = clock_time(shown.time(), locale, territory=library.clinic.territory)
    return {slot: Span(text, SLOTS[slot]) for slot, text in texts.items()}

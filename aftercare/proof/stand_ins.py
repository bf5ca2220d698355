"""What stands in for the slots that are read as words: the hardest value each can have.

A date or a length differs from visit to visit, and with it what a sentence costs. Of every
value that can stand there, the hardest by the language's own formula is taken; where values
have different numbers of words, the hardest of each number.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date, time
from itertools import product
from re import sub

from babel import Locale

from aftercare.model import SLOTS, Counts, Library, Line, Role, Span
from aftercare.score import count_lines
from aftercare.score.formula import Formula, Scale
from aftercare.word.formats import clock_time, full_date, opening_hours, reader_locale
from aftercare.word.units import centimetres, inches

CLINIC = "clinic"
# Every weekday of every month, on days of two digits.
_DAYS = tuple(date(2027, month, day) for month in range(1, 13) for day in range(20, 27))
_DATES = (
    "visit_date", "recall_date", "due_date", "answer_by_date", "appointment_date", "former_date",
)  # fmt: skip
# Two digits before and after, in the half of the day that is longer to say.
_TIME = time(22, 45)
_LENGTHS_MM = range(1, 151)  # a visit file holds 0.1 to 15 cm

# A specialist's drops have a day to stop on record, whichever it is.
SPECIALIST_STOPS = date(2027, 6, 20)

Filled = Mapping[str, str]
Written = Callable[[date, Locale], str]


def stand_ins(
    library: Library, language: str, formula: Formula | None, *, written: Written = full_date
) -> tuple[Filled, ...]:
    """Values for the slots that are read as words: one set, or a few where lengths differ.

    Dates are as a page has them, or as they are ``written``.
    """
    told = _values(library, language, written)
    hardest = [
        _hardest(dict.fromkeys(texts), SLOTS[slots[0]], language, formula)
        for slots, texts in told.items()
    ]
    return tuple(
        {slot: text for slots, text in zip(told, chosen, strict=True) for slot in slots}
        for chosen in product(*hardest)
    )


def _values(
    library: Library, language: str, written: Written
) -> Mapping[tuple[str, ...], Sequence[str]]:
    """Every value that can stand in the slots that are read as words."""
    locale = reader_locale(language, library.clinic.territory)
    return {
        _DATES: [written(day, locale) for day in _DAYS],
        ("removed_cm",): [centimetres(mm, locale) for mm in _LENGTHS_MM],
        ("removed_inches",): [inches(mm, locale) for mm in _LENGTHS_MM],
        ("clinic_hours",): [_hours(library, language)],
    }


def longest(library: Library, language: str, written: Written) -> Filled:
    """For each slot what makes the longest message: letters outside ASCII before more of them.

    An alphabet that has no room for one letter more than doubles what a text message costs. Dates
    are as they are ``written`` there.
    """
    told = _values(library, language, written)
    found = {slot: max(texts, key=_travels) for slots, texts in told.items() for slot in slots}
    return {**found, **times(library, language)}


def times(library: Library, language: str) -> Filled:
    """The slots that hold a time of day: words or not, it is as long as any."""
    territory = library.clinic.territory
    told = clock_time(_TIME, reader_locale(language, territory), territory=territory)
    return dict.fromkeys(("appointment_time", "former_time"), told)


def in_place_of(library: Library, language: str) -> Mapping[str, Sequence[str]]:
    """For each value of ``longest`` on a page that differs between visits, all that could be there.

    Of those that differ in digits alone the one with the most stays: digits are of one width.
    """
    filled = longest(library, language, full_date)
    found: dict[str, Sequence[str]] = {}
    for slots, texts in _values(library, language, full_date).items():
        forms = {sub(r"\d", "0", text): text for text in texts}
        found |= {filled[slot]: tuple(forms.values()) for slot in slots}
    return found


def _travels(text: str) -> tuple[bool, int]:
    return not text.isascii(), len(text)


def numbers(library: Library) -> Filled:
    """The slots that hold the same for every patient of the clinic: its numbers and addresses."""
    clinic, region = library.clinic, library.region
    found = {
        "clinic_name": clinic.name,
        "clinic_short_name": clinic.short_name,
        "clinic_phone": clinic.phone,
        "clinic_text_number": clinic.text_number,
        "clinic_email": clinic.email,
        "emergency_number": region.emergency_number,
        "emergency_text_number": region.emergency_text_number,
        "urgent_advice_number": region.urgent_advice_number,
        "urgent_advice_relay": region.urgent_advice_relay,
    }
    return {slot: text for slot, text in found.items() if text is not None}


def _hours(library: Library, language: str) -> str:
    clinic, catalogue = library.clinic, library.catalogues.get(language)
    if not isinstance(clinic.hours, str):
        return opening_hours(clinic.open_days, clinic.hours, language, clinic.territory)
    found = catalogue.phrases.get((CLINIC, clinic.hours)) if catalogue else None
    return found.phrase.msgid if found else clinic.hours


def _hardest(
    texts: Iterable[str], role: Role, language: str, formula: Formula | None
) -> Sequence[str]:
    """The hardest of each number of words, where a sentence begins with it and where not."""
    found: dict[tuple[str, int], tuple[float, str]] = {}
    for text in texts:
        for before in ("", "-"):
            spans = (Span(before, Role.NAME), Span(f" {text}", role)) if before else ()
            line = Line(spans or (Span(text, role),), CLINIC, approved=True)
            counts = count_lines([line], language)
            cost = _cost(counts, formula)
            best = found.get((before, counts.words))
            if best is None or cost > best[0]:
                found[before, counts.words] = cost, text
    return tuple(dict.fromkeys(text for _, text in found.values()))


def _cost(counts: Counts, formula: Formula | None) -> float:
    if formula is None or not (counts.words and counts.sentences):
        return counts.strokes
    return (-1 if formula.scale is Scale.EASE else 1) * formula.compute(counts)

"""What the slots are filled with, in the reader's language and the clinic's territory."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date

from babel import Locale

from aftercare.model import SLOTS, Case, Library, Line, Side, Span
from aftercare.word.formats import full_date, reader_locale, short_date
from aftercare.word.units import centimetres, inches


class Slots:
    """The values of every slot for one visit; lengths differ by ear, dates in a text message."""

    def __init__(
        self, case: Case, library: Library, *, language: str, hours: Line, recall: date | None
    ) -> None:
        self._locale = reader_locale(language, library.clinic.territory)
        self._measures = {ear.side: ear.removed_mm for ear in case.ears}
        self._dates = {"visit_date": case.visit_date, "recall_date": recall}
        self._common = _spans(self._texts(case, library, hours))
        self._of_side: dict[Side, Mapping[str, Span]] = {}
        self._texted: dict[Side, Mapping[str, Span]] = {}

    def of(self, side: Side) -> Mapping[str, Span]:
        """The slots as they stand for this side; a length is there for a single ear only."""
        if side not in self._of_side:
            length = self._measures.get(side)
            lengths = {} if length is None else _lengths(length, self._locale)
            dates = self._told(full_date)
            self._of_side[side] = {**self._common, **dates, **_spans(lengths)}
        return self._of_side[side]

    def texted(self, side: Side) -> Mapping[str, Span]:
        """The same as a text message has them, which pays by the letter: with short dates."""
        if side not in self._texted:
            self._texted[side] = {**self.of(side), **self._told(short_date)}
        return self._texted[side]

    def _told(self, written: Callable[[date, Locale], str]) -> dict[str, Span]:
        days = self._dates.items()
        return _spans({slot: written(day, self._locale) if day else None for slot, day in days})

    def _texts(self, case: Case, library: Library, hours: Line) -> dict[str, str | None]:
        clinic, region = library.clinic, library.region
        return {
            "patient_name": case.patient.name,
            "clinician": case.clinician,
            "clinic_name": clinic.name,
            "clinic_short_name": clinic.short_name,
            "clinic_phone": clinic.phone,
            "clinic_text_number": clinic.text_number,
            "clinic_email": clinic.email,
            "clinic_hours": hours.text,
            "emergency_number": region.emergency_number,
            "emergency_text_number": region.emergency_text_number,
            "urgent_advice_number": region.urgent_advice_number,
            "urgent_advice_relay": region.urgent_advice_relay,
        }


def _lengths(length_mm: int, locale: Locale) -> dict[str, str | None]:
    return {
        "removed_cm": centimetres(length_mm, locale),
        "removed_inches": inches(length_mm, locale),
    }


def _spans(texts: Mapping[str, str | None]) -> dict[str, Span]:
    return {slot: Span(text, SLOTS[slot]) for slot, text in texts.items() if text is not None}

"""When the clinic is open, in the reader's language."""

from __future__ import annotations

from aftercare.model import Clinic, Line, Span
from aftercare.word.formats import opening_hours
from aftercare.word.translate import Translator

CLINIC = "clinic"


def hours_line(clinic: Clinic, translator: Translator) -> Line:
    """The clinic's own words translated, or else its open days and times as CLDR writes them.

    Those need no translator: they are figures and names of days, as dates are.
    """
    if isinstance(clinic.hours, str):
        return translator.text(CLINIC, clinic.hours)
    told = opening_hours(clinic.open_days, clinic.hours, translator.language, clinic.territory)
    return Line((Span(told),), CLINIC, approved=True)

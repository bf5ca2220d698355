"""What was recorded of one patient as a visit, to walk the real path with it.

Whatever a proof says of somebody is shown on a visit that anybody can run.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

from aftercare.flow import Discharge, discharge
from aftercare.model import (
    Case,
    Channel,
    Ear,
    Fact,
    Interval,
    Library,
    Patient,
    Purpose,
    Side,
)
from aftercare.proof.space import NOTED, Asked, facts_of
from aftercare.render.leaflet import Printed

# Nobody's: the least a visit needs beside its facts.
_NAME, _CLINICIAN = "A. Patient", "A. Clinician"
_MOBILE, _EMAIL = "07700 900123", "patient@example.org"
_MONTHS, _DROPS_DAYS, _LENGTH_MM = 6, 7, 55
_GIVEN_BY_ROUTE = ("route", "reply", "recall", "age", "length", "seen")


def case_of(held: Iterable[Asked], language: str, visit: date) -> Case:
    """The visit these answers were recorded at."""
    facts = facts_of(held)
    person = facts[None]
    child = "age:child" in person
    age = {"age:child" if child else "age:adult"}
    agreed = frozenset(channel for channel in Channel if f"route:{channel}" in person)
    recall = "recall:agreed" in person
    return Case(
        ref="case",
        patient=Patient(
            name=_NAME,
            language=language,
            facts=frozenset(fact for fact in person if _is_given(fact)) | age,
            mobile=_MOBILE if {"reply:text", "route:sms"} & person else None,
            email=_EMAIL if "route:email" in person else None,
            agreed=agreed,
        ),
        visit_date=visit,
        clinician=_CLINICIAN,
        ears=tuple(_ear(side, facts[side], visit) for side in Side if side in facts),
        recall=Interval(months=_MONTHS) if recall else None,
        recall_declined=None if recall else "not wanted",
    )


def _is_given(fact: Fact) -> bool:
    return fact.partition(":")[0] not in _GIVEN_BY_ROUTE


def _ear(side: Side, facts: frozenset[Fact], visit: date) -> Ear:
    noted = NOTED in facts
    return Ear(
        side=side,
        facts=facts if noted else facts | {"length:not-noted"},
        removed_mm=_LENGTH_MM if noted else None,
        drops_stop=visit + timedelta(days=_DROPS_DAYS) if "drops:specialist" in facts else None,
    )


class _Unpressed:
    """Lays nothing out: for what is asked of words alone."""

    def press(self, data: str) -> Printed:
        return Printed(b"not laid out", 1)


def walk(held: Iterable[Asked], language: str, library: Library, today: date) -> Discharge:
    """The visit through the real path, nothing laid out on paper."""
    case = case_of(held, language, today)
    return discharge(case, library, press=_Unpressed(), today=today, purpose=Purpose.SAMPLE)

"""What is to be written: one reminder with everything its words and files depend on."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime

from dateutil.relativedelta import relativedelta

from aftercare.errors import BadText
from aftercare.model import Case, Channel, Fact, Library, Moment, Patient, Span
from aftercare.recall.people import Person
from aftercare.word.reminders import fill

# What no page, text or header can show; a register may hold it from before it was checked.
_UNFIT = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff]")
# The slots that differ from patient to patient, by what is known of a moment.
NAMES = frozenset({"first_name", "patient_name"})
DAYS = frozenset({"due_date", "answer_by_date"})
TIMES = frozenset({"appointment", "former"})
# A number that chooses among the plural forms of its sentence: word/counted.py.
MINUTES = "visit_minutes"
OF_PATIENT = (
    NAMES | DAYS | {MINUTES} | {f"{one}_{part}" for one in TIMES for part in ("date", "time")}
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """The visit a calendar file is about. ``sequence`` never falls, ``stamp`` is now in UTC."""

    recall: int
    start: datetime
    minutes: int
    sequence: int
    stamp: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """One reminder to be written for the day ``on``.

    ``days`` and ``times`` are those of ``DAYS`` and ``TIMES`` that are known. ``visit`` is there
    when a visit is booked, or was. It leaves from ``not_before`` on and before ``not_after``.
    """

    key: str
    moment: Moment
    channel: Channel
    person: Person
    condition: Fact | None
    on: date
    days: Mapping[str, date] = field(default_factory=dict)
    times: Mapping[str, datetime] = field(default_factory=dict)
    visit: Visit | None = None
    not_before: datetime | None = None
    not_after: datetime | None = None

    def filled(self, library: Library, language: str) -> dict[str, Span]:
        """The slots of this patient in a language."""
        filled = fill(
            library, language, days=self.days, times=self.times, channel=self.channel,
            first_name=self.person.first_name, last_name=self.person.last_name,
        )  # fmt: skip
        if self.visit is not None:
            filled[MINUTES] = Span(str(self.visit.minutes))
        return filled

    def slots(self) -> frozenset[str]:
        """The names of what ``filled`` fills."""
        told = (f"{one}_{part}" for one in self.times for part in ("date", "time"))
        minutes = () if self.visit is None else (MINUTES,)
        return NAMES | self.days.keys() | frozenset(told) | frozenset(minutes)


def check_names(person: Person) -> None:
    """Raise ``BadText`` when a name holds what no message can show; the name is not repeated."""
    for field_, name in (("first_name", person.first_name), ("last_name", person.last_name)):
        found = _UNFIT.search(name)
        if found:
            raise BadText(
                f"patient.{field_}", f"U+{ord(found[0]):04X} at {found.start()} cannot be shown",
                "correct it in the register",
            )  # fmt: skip


def age_fact(person: Person, on: date, adult_age: int) -> frozenset[Fact]:
    """Whether a child is meant, by the day; as it is recorded where no birthday is."""
    if person.born is None:
        return frozenset()
    return frozenset({f"age:{'child' if is_child(person.born, on, adult_age) else 'adult'}"})


def is_child(born: date, on: date, adult_age: int) -> bool:
    """Whether somebody is younger than ``adult_age`` years on a day."""
    return relativedelta(on, born).years < adult_age


def as_case(order: Order, library: Library, name: str) -> Case:
    """The person as the other rooms know one: a case without a visit."""
    person = order.person
    age = age_fact(person, order.on, library.limits.adult_age)
    facts = person.facts - {"age:child", "age:adult"} | age if age else person.facts
    patient = Patient(
        name=name, language=person.language, facts=facts, mobile=person.mobile,
        email=person.email, address=person.address, agreed=person.agreed,
    )  # fmt: skip
    return Case(ref=order.key, patient=patient, visit_date=order.on, clinician="", ears=())

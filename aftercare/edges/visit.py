"""A visit file (TOML or JSON) to a Case that is valid, or an error that says what to mend."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Mapping
from datetime import date

import phonenumbers
from dateutil.relativedelta import relativedelta
from email_validator import EmailNotValidError, validate_email
from pydantic import BaseModel, ValidationError

from aftercare.choose import patient_facts
from aftercare.edges.visit_file import (
    EAR_LISTS,
    PATIENT_LISTS,
    EarFile,
    RecallFile,
    VisitFile,
    group_of,
)
from aftercare.edges.visit_text import field_name, load_visit, quoted
from aftercare.errors import BadInput
from aftercare.flow import usable
from aftercare.library.fallback import tidy
from aftercare.model import Case, Channel, Ear, Fact, Interval, Library, Override, Patient, Side
from aftercare.recall import Standing, figures
from aftercare.rules import BY_NAME

OLDEST = 125
# An earlier year is a slip of the pen: nobody writes to a patient about it now.
FIRST_YEAR = 2000
# Values of these may be shown back; anything else about a patient is named, never repeated.
_MAY_BE_SHOWN = re.compile(
    r"(visit\.(date|treated)|ears\.\d+\.[a-z_]+(\.\d+)?|recall\.(months|weeks)"
    r"|patient\.(language|cautions|allergies|status|uses|needs|formats|texts|agreed|age_group)(\.\d+)?)"
)
_NUMBER = re.compile(r"\+?[\d\s()./-]+")


def parse_visit(place: str, raw: bytes, library: Library, today: date) -> Case:
    """A valid Case from a visit file's bytes.

    Raises ``BadInput`` naming the file, the field, the value where it is not personal, and
    what to do.
    """
    try:
        file = VisitFile.model_validate(load_visit(place, raw))
    except ValidationError as error:
        raise _complaint(place, error) from None
    checks = (_dates, _sides, _vocabulary, _drops, _contacts, _overrides)
    for check in checks:
        for field, problem, remedy in check(file, library, today):
            raise BadInput(f"{place}: {field}", problem, remedy)
    case = _case(file, library)
    for judge in (_together, _recall_figure, _reachable):
        for field, problem, remedy in judge(file, case, library):
            raise BadInput(f"{place}: {field}", problem, remedy)
    return case


# Pydantic's word for a fault, and ours where its own would puzzle a clinician.
_IN_OUR_WORDS = {
    "model_type": "not a table of fields",
    "string_pattern_mismatch": "only letters, digits, - and _, the first a letter or digit, "
    "and at most 64; no name in it",
    "string_unicode": "half a character (a lone surrogate)",
}


def _complaint(place: str, error: ValidationError) -> BadInput:
    first = error.errors()[0]
    field = ".".join(map(field_name, first["loc"])) or "the visit"
    more = error.error_count() - 1
    after = f" (and {more} more)" if more else ""
    if first["type"] == "missing":
        return BadInput(
            f"{place}: {field}", "missing", f"add it; see 'aftercare schema visit'{after}"
        )
    if first["type"] == "extra_forbidden":
        return BadInput(
            f"{place}: {field}", "no such field", f"see 'aftercare schema visit'{after}"
        )
    problem = _IN_OUR_WORDS.get(first["type"], first["msg"].removeprefix("Value error, "))
    return BadInput(
        f"{place}: {field}", f"{_shown(field, first['input'])}{problem}", f"correct it{after}"
    )


def _shown(field: str, value: object) -> str:
    if isinstance(value, str | int | float | date) and _MAY_BE_SHOWN.fullmatch(field):
        return f"{quoted(value)}: "
    return f"{len(value):,} characters: " if isinstance(value, str) else ""


Problem = tuple[str, str, str]


def _dates(file: VisitFile, library: Library, today: date) -> Iterator[Problem]:
    if file.visit.date > today:
        yield "visit.date", f"{file.visit.date} has not come yet", "give the day of the visit"
    if file.visit.date.year < FIRST_YEAR:
        yield "visit.date", f"{file.visit.date} is before {FIRST_YEAR}", "check the year"
    born = file.patient.born
    if born and born > file.visit.date:
        yield "patient.born", "after the visit", "check the year"
    if born and _years(born, file.visit.date) > OLDEST:
        yield "patient.born", f"more than {OLDEST} years before the visit", "check the year"


def _years(born: date, on: date) -> int:
    return relativedelta(on, born).years


def _sides(file: VisitFile, library: Library, today: date) -> Iterator[Problem]:
    sides = [ear.side for ear in file.ears]
    if len(set(sides)) < len(sides):
        yield "ears", f"the {sides[0]} ear is described twice", "one [[ears]] for each side"
    described = sides[0] if len(sides) == 1 else "both"
    if described != file.visit.treated:
        yield (
            "visit.treated",
            f"'{file.visit.treated}', but the ears described are: {', '.join(sides)}",
            "make the two agree; check which ear it was",
        )


def _vocabulary(file: VisitFile, library: Library, today: date) -> Iterator[Problem]:
    patient = file.patient
    for key, group in PATIENT_LISTS.items():
        yield from _values(f"patient.{key}", getattr(patient, key), group, library)
    for number, ear in enumerate(file.ears):
        for key, group in EAR_LISTS.items():
            yield from _values(f"ears.{number}.{key}", getattr(ear, key), group, library)
    if not _is_language(patient.language):
        yield (
            "patient.language",
            f"{quoted(patient.language)} is no language of CLDR",
            "write it like en or pt_BR",
        )


def _is_language(tag: str) -> bool:
    try:
        return bool(tidy(tag))
    except BadInput:
        return False


def _values(field: str, values: list[str], group: str, library: Library) -> Iterator[Problem]:
    known = group_of(group, library)
    for value in values:
        if value not in known.values:
            yield field, f"{quoted(value)} is not known", f"choose from {', '.join(known.values)}"
    for pair in known.opposites:
        if pair <= set(values):
            yield (
                field,
                f"{' and '.join(sorted(pair))} cannot both hold",
                "keep the one that is true",
            )


def _contacts(file: VisitFile, library: Library, today: date) -> Iterator[Problem]:
    patient = file.patient
    if patient.mobile is not None and not _dialable(patient.mobile, library.clinic.territory):
        yield "patient.mobile", "not a phone number", "check the digits"
    if patient.email is not None and _deliverable(patient.email) is None:
        yield (
            "patient.email",
            "not an e-mail address that can be written to",
            "check its spelling",
        )


def _deliverable(address: str) -> str | None:
    """The address as mail software everywhere can carry it, in ASCII; None if it has none."""
    try:
        return validate_email(address, check_deliverability=False, allow_smtputf8=False).ascii_email
    except EmailNotValidError:
        return None


def _dialable(number: str, country: str) -> bool:
    if not _NUMBER.fullmatch(number):
        return False
    try:
        # Numbers kept for fiction are possible but not valid, so "possible" is the question.
        return phonenumbers.is_possible_number(phonenumbers.parse(number, country))
    except phonenumbers.NumberParseException:
        return False


def _drops(file: VisitFile, library: Library, today: date) -> Iterator[Problem]:
    """When drops stop is said of drops that were prescribed, and is no day gone by."""
    for number, ear in enumerate(file.ears):
        if ear.drops_stop and "prescribed" not in ear.drops:
            yield (
                f"ears.{number}.drops_stop", "a last day of drops, and none are prescribed",
                "add 'prescribed' to 'drops', or leave the day out",
            )  # fmt: skip
        if ear.drops_stop and ear.drops_stop < file.visit.date:
            yield f"ears.{number}.drops_stop", "before the visit", "check the day"
        if {"prescribed", "specialist"} <= set(ear.drops) and ear.drops_stop is None:
            yield f"ears.{number}.drops_stop", "missing: a specialist set a day to stop", "add it"


def _overrides(file: VisitFile, library: Library, today: date) -> Iterator[Problem]:
    allowed = [name for name, rule in BY_NAME.items() if rule.overridable]
    for number, one in enumerate(file.overrides):
        if one.rule not in allowed:
            known = "cannot be overridden" if one.rule in BY_NAME else "is no rule"
            yield (
                f"overrides.{number}.rule", f"{quoted(one.rule)} {known}",
                f"choose from {', '.join(allowed)}",
            )  # fmt: skip
    rules = [one.rule for one in file.overrides]
    if len(set(rules)) < len(rules):
        yield "overrides", "one rule is overridden twice", "keep one"


def _case(file: VisitFile, library: Library) -> Case:
    patient, recall = file.patient, file.recall
    child = patient.age_group == "child" or (
        patient.born is not None
        and _years(patient.born, file.visit.date) < library.limits.adult_age
    )
    given = _facts(patient, PATIENT_LISTS) | {f"age:{'child' if child else 'adult'}"}
    return Case(
        ref=file.case,
        patient=Patient(
            name=patient.name,
            language=tidy(patient.language),
            facts=given,
            mobile=patient.mobile,
            email=None if patient.email is None else _deliverable(patient.email),
            address=tuple(patient.address),
            agreed=frozenset(Channel(channel) for channel in patient.agreed),
            ref=patient.ref or None,
        ),
        visit_date=file.visit.date,
        clinician=file.visit.clinician,
        ears=tuple(sorted(map(_ear, file.ears), key=lambda ear: ear.side)),
        recall=_interval(recall),
        recall_declined=recall.declined,
        overrides=tuple(Override(**one.model_dump()) for one in file.overrides),
    )


def _interval(recall: RecallFile) -> Interval | None:
    if recall.declined is not None:
        return None
    return Interval(months=recall.months or 0, weeks=recall.weeks or 0, confirmed=recall.confirmed)


def _ear(ear: EarFile) -> Ear:
    length = None if ear.removed_cm is None else math.floor(ear.removed_cm * 10 + 0.5)
    noted = "length:not-noted" if length is None else "length:noted"
    return Ear(
        side=Side(ear.side),
        facts=_facts(ear, EAR_LISTS) | {noted},
        removed_mm=length,
        drops_stop=ear.drops_stop,
    )


def _facts(part: BaseModel, lists: Mapping[str, str]) -> frozenset[Fact]:
    return frozenset(
        f"{group}:{value}" for key, group in lists.items() for value in getattr(part, key)
    )


def _together(file: VisitFile, case: Case, library: Library) -> Iterator[Problem]:
    """What the vocabulary says cannot hold together, of the person or of one ear."""
    person = patient_facts(case, library)
    numbers = {Side(ear.side): number for number, ear in enumerate(file.ears)}
    for one in library.impossible:
        said = " and ".join(sorted(one.together))
        for ear in case.ears:
            if one.holds(person | ear.facts):
                key = _field(one.together - person, EAR_LISTS)
                if key is None:
                    yield _of_person(one.together), f"{said}: {one.because}", one.instead
                else:
                    field = f"ears.{numbers[ear.side]}.{key}"
                    yield field, f"{ear.side} ear, {said}: {one.because}", one.instead


def _field(facts: Iterable[Fact], lists: Mapping[str, str]) -> str | None:
    """The list of the file that holds one of these facts; of several, what was decided last."""
    groups = {fact.partition(":")[0] for fact in facts}
    keys = [key for key, group in lists.items() if group in groups]
    return keys[-1] if keys else None


def _of_person(facts: Iterable[Fact]) -> str:
    field = _field(facts, PATIENT_LISTS)
    return f"patient.{field}" if field else "the visit"


def _recall_figure(file: VisitFile, case: Case, library: Library) -> Iterator[Problem]:
    """A figure outside what is allowed is asked twice: the second time it comes with a reason."""
    for one in figures(case, library.limits.recall_months):
        if one.standing is Standing.OUTSIDE and file.recall.confirmed is None:
            yield (
                f"recall.{'weeks' if file.recall.months is None else 'months'}",
                f"{one.said}: {one.allowed}, and {one.usual}",
                "agree another figure, or repeat this one with 'confirmed' and the reason",
            )


def _reachable(file: VisitFile, case: Case, library: Library) -> Iterator[Problem]:
    if not usable(case):
        yield (
            "patient.agreed",
            "no route the patient can use: agreed channels have no number or address",
            "add 'mobile' or 'email', or agree to 'print'",
        )
    facts = patient_facts(case, library)
    if "speech:no-phone" in facts and not facts & {"reply:text", "reply:email"}:
        yield (
            "patient.needs",
            "the patient cannot phone, and has no other way to reach the clinic",
            "add 'mobile' if the clinic takes texts, or 'email' and agree to it",
        )

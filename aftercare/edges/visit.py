"""A visit file (TOML or JSON) to a Case that is valid, or an error that says what to mend."""

from __future__ import annotations

import json
import math
import re
import tomllib
import unicodedata
from collections.abc import Iterator, Mapping
from datetime import date, datetime
from typing import Annotated, Any, Literal

import phonenumbers
from babel import Locale, UnknownLocaleError
from dateutil.relativedelta import relativedelta
from email_validator import EmailNotValidError, validate_email
from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationError,
    model_validator,
)

from aftercare.choose import patient_facts
from aftercare.errors import BadInput
from aftercare.flow import usable
from aftercare.model import Case, Channel, Ear, Fact, Interval, Library, Patient, Side

VISIT_BYTES = 262_144
ADULT_AT = 16  # years; below it a parent or carer is written to (UK default, from memory)
OLDEST = 125
# Which list of the file feeds which group of the vocabulary.
EAR_LISTS = {
    "conditions": "condition",
    "procedures": "procedure",
    "findings": "finding",
    "drops": "drops",
}
PATIENT_LISTS = {
    "cautions": "caution",
    "uses": "uses",
    "needs": "need",
    "formats": "format",
    "texts": "texts",
}
# Control, surrogate, private and unassigned characters; and the marks that reorder what follows.
_UNFIT = frozenset({"Cc", "Cs", "Co", "Cn"})
_REORDERING = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u2028\u2029")
# Values of these may be shown back; anything else about a patient is named, never repeated.
_MAY_BE_SHOWN = re.compile(
    r"(visit\.(date|treated)|ears\.\d+\.(side|conditions|procedures|findings|drops).*|recall\..*|patient\.(language|cautions|uses|needs|formats|texts|agreed|age_group).*|case)$"
)


def _day(value: object) -> object:
    """A date, or a text that is one; pydantic would also take a number for a moment."""
    if isinstance(value, date) and not isinstance(value, datetime):
        return value
    if not (isinstance(value, str) and re.fullmatch(r"\d{4}-\d{2}-\d{2}", value)):
        raise ValueError("not a date; write it like 2026-11-24")
    try:
        return date.fromisoformat(value)
    except ValueError:
        raise ValueError("no such day; write it like 2026-11-24") from None


def _plain(value: str) -> str:
    text = unicodedata.normalize("NFC", value).strip()
    if not text:
        raise ValueError("empty")
    for at, char in enumerate(text):
        if unicodedata.category(char) in _UNFIT or char in _REORDERING:
            raise ValueError(
                f"the character U+{ord(char):04X} at position {at} cannot be printed; remove it"
            )
    return text


Day = Annotated[date, BeforeValidator(_day)]
Words = Annotated[str, Field(max_length=200), AfterValidator(_plain)]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class PatientFile(_Strict):
    """`[patient]`: who the words are for."""

    name: Words = Field(description="as the patient is addressed")
    born: Day | None = Field(default=None, description="or give age_group")
    age_group: Literal["adult", "child"] | None = Field(default=None, description="child: under 16")
    language: str = Field(default="en", max_length=12, description="en, pl, ur, pt_BR ...")
    agreed: list[Literal["sms", "email", "print"]] = Field(
        description="channels the patient agreed to"
    )
    mobile: Words | None = None
    email: Words | None = None
    address: list[Words] = Field(default=[], max_length=8)
    cautions: list[str] = []
    uses: list[str] = []
    needs: list[str] = []
    formats: list[str] = []
    texts: list[str] = Field(default=[], description="detail: texts may say what was done")

    @model_validator(mode="after")
    def _age_is_known(self) -> PatientFile:
        if (self.born is None) == (self.age_group is None):
            raise ValueError("give 'born' or 'age_group', one of the two")
        return self


class VisitPart(_Strict):
    """`[visit]`: when, by whom, and the side said once more as a check on the ears below."""

    date: Day
    clinician: Words
    treated: Literal["left", "right", "both"]


class EarFile(_Strict):
    """One `[[ears]]`: what was found and done on that side."""

    side: Literal["left", "right"]
    conditions: list[str] = []
    procedures: Annotated[list[str], Field(min_length=1)]
    findings: list[str] = []
    drops: list[str] = []
    removed_cm: float | None = Field(
        default=None, strict=False, ge=0.1, le=15, allow_inf_nan=False,
        description="length of what came out, in centimetres",
    )  # fmt: skip


class RecallFile(_Strict):
    """`[recall]`: what was agreed; months or weeks from the visit, or why there is none."""

    months: Annotated[int, Field(ge=1, le=60)] | None = None
    weeks: Annotated[int, Field(ge=1, le=104)] | None = None
    declined: Words | None = Field(default=None, description="why no return was agreed")

    @model_validator(mode="after")
    def _one_answer(self) -> RecallFile:
        if (self.declined is None) == (self.months is None and self.weeks is None):
            raise ValueError("give 'months' or 'weeks', or say why not in 'declined'")
        return self


class VisitFile(_Strict):
    """One visit, as a clinician records it at discharge."""

    case: Annotated[
        str,
        Field(
            pattern=r"^[A-Za-z0-9][A-Za-z0-9_-]{0,63}$",
            description="your own reference; no name in it",
        ),
    ]
    patient: PatientFile
    visit: VisitPart
    ears: Annotated[list[EarFile], Field(min_length=1, max_length=2)]
    recall: RecallFile


def visit_schema(library: Library) -> dict[str, Any]:
    """The JSON Schema of a visit (draft 2020-12), with this clinic's vocabulary in it."""
    schema = VisitFile.model_json_schema()
    for definition, lists in (("EarFile", EAR_LISTS), ("PatientFile", PATIENT_LISTS)):
        for key, group in lists.items():
            field = schema["$defs"][definition]["properties"][key]
            field["items"]["enum"] = list(library.facts[group].values)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def parse_visit(place: str, raw: bytes, library: Library, today: date) -> Case:
    """A valid Case from a visit file's bytes.

    Raises ``BadInput`` naming the file, the field, the value where it is not personal, and
    what to do.
    """
    try:
        file = VisitFile.model_validate(load_visit(place, raw))
    except ValidationError as error:
        raise _complaint(place, error) from None
    checks = (_dates, _sides, _vocabulary, _contacts, _cavity)
    for check in checks:
        for field, problem, remedy in check(file, library, today):
            raise BadInput(f"{place}: {field}", problem, remedy)
    case = _case(file, library)
    _reachable(place, case, library)
    return case


def load_visit(place: str, raw: bytes) -> dict[str, Any]:
    """The values of a visit file, TOML or JSON, before they are checked."""
    if len(raw) > VISIT_BYTES:
        raise BadInput(
            place, f"{len(raw):,} bytes, over the limit of {VISIT_BYTES:,}", "shorten it"
        )
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise BadInput(
            place, f"not text: byte {error.start} is not UTF-8", "save it as UTF-8"
        ) from None
    if not text.strip():
        raise BadInput(place, "empty", "'aftercare schema visit' shows what a visit holds")
    data = (
        _json(place, text)
        if text.lstrip().startswith(("{", "[")) and not _is_toml(text)
        else _toml(place, text)
    )
    if not isinstance(data, dict):
        raise BadInput(place, "not a visit but a list", "one file holds one visit")
    return data


def _is_toml(text: str) -> bool:
    """Whether a text that opens with a bracket is a TOML table rather than JSON."""
    return re.match(r"\s*\[{1,2}[A-Za-z0-9_.\" ]+\]{1,2}\s*(#.*)?\n", text) is not None


def _toml(place: str, text: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        found = re.search(r"\(at line (\d+), column \d+\)", str(error))
        where = f"{place}:{found[1]}" if found else place
        key = text.split("\n")[int(found[1]) - 1].partition("=")[0].strip() if found else ""
        named = f" in '{key}'" if re.fullmatch(r"[a-z_]{1,30}", key) else ""
        what = re.sub(r" \(at .*\)$", "", str(error))
        raise BadInput(where, f"not TOML{named}: {_quiet(what)}", "mend that line") from None
    except RecursionError:
        raise BadInput(place, "nested too deep", "a visit is flat") from None


def _quiet(message: str) -> str:
    """A parser's message without what it quotes, which may be about a patient."""
    return re.sub(r"'[^']*'|\"[^\"]*\"", "...", message)


def _json(place: str, text: str) -> Any:
    try:
        return json.loads(text, object_pairs_hook=_once, parse_constant=_no_constant)
    except json.JSONDecodeError as error:
        raise BadInput(
            f"{place}:{error.lineno}", f"not JSON: {error.msg}", "mend that line"
        ) from None
    except RecursionError:
        raise BadInput(place, "nested too deep", "a visit is flat") from None
    except ValueError as error:
        raise BadInput(place, str(error), "mend it") from None


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    keys = [key for key, _ in pairs]
    twice = next((key for key in keys if keys.count(key) > 1), None)
    if twice is not None:
        raise ValueError(f"'{twice[:40]}' is given twice")
    return dict(pairs)


def _no_constant(name: str) -> float:
    raise ValueError(f"{name} is not a number of JSON")


def _complaint(place: str, error: ValidationError) -> BadInput:
    first = error.errors()[0]
    field = ".".join(str(step) for step in first["loc"]) or "the visit"
    more = error.error_count() - 1
    after = f" (and {more} more)" if more else ""
    if first["type"] == "missing":
        return BadInput(
            f"{place}: {field}", "missing", f"add it; see 'aftercare schema visit'{after}"
        )
    if first["type"] == "extra_forbidden":
        return BadInput(
            f"{place}: {field[:80]}", "no such field", f"see 'aftercare schema visit'{after}"
        )
    problem = first["msg"].removeprefix("Value error, ")
    return BadInput(
        f"{place}: {field}", f"{_shown(field, first['input'])}{problem}", f"correct it{after}"
    )


def _shown(field: str, value: object) -> str:
    if isinstance(value, str | int | float | date) and _MAY_BE_SHOWN.match(field):
        return f"'{str(value)[:40]}': "
    return f"{len(value):,} characters: " if isinstance(value, str) else ""


Problem = tuple[str, str, str]


def _dates(file: VisitFile, library: Library, today: date) -> Iterator[Problem]:
    if file.visit.date > today:
        yield "visit.date", f"{file.visit.date} has not come yet", "give the day of the visit"
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
    try:
        Locale.parse(patient.language)
    except (UnknownLocaleError, ValueError):
        yield (
            "patient.language",
            f"'{patient.language}' is no language of CLDR",
            "write it like en or pt_BR",
        )


def _values(field: str, values: list[str], group: str, library: Library) -> Iterator[Problem]:
    known = library.facts[group]
    for value in values:
        if value not in known.values:
            yield field, f"'{value[:40]}' is not known", f"choose from {', '.join(known.values)}"
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
    if patient.email is not None:
        try:
            # Mail software on the way may not carry letters outside ASCII in an address.
            validate_email(patient.email, check_deliverability=False, allow_smtputf8=False)
        except EmailNotValidError:
            yield (
                "patient.email",
                "not an e-mail address that can be written to",
                "check its spelling",
            )


def _dialable(number: str, country: str) -> bool:
    try:
        # Numbers kept for fiction are possible but not valid, so "possible" is the question.
        return phonenumbers.is_possible_number(phonenumbers.parse(number, country))
    except phonenumbers.NumberParseException:
        return False


def _cavity(file: VisitFile, library: Library, today: date) -> Iterator[Problem]:
    """No guideline fixes when a cavity is cleaned again, so a clinician must have said it."""
    if any("open-cavity" in ear.conditions for ear in file.ears) and file.recall.declined:
        yield (
            "recall.declined",
            "an open cavity cannot clear itself and needs a return date",
            "agree 'months' with the patient; 6 to 12 is common practice, no source",
        )


def _case(file: VisitFile, library: Library) -> Case:
    patient, recall = file.patient, file.recall
    child = patient.age_group == "child" or (
        patient.born is not None and _years(patient.born, file.visit.date) < ADULT_AT
    )
    given = _facts(patient, PATIENT_LISTS) | {f"age:{'child' if child else 'adult'}"}
    agreed = recall.months or recall.weeks
    return Case(
        ref=file.case,
        patient=Patient(
            name=patient.name,
            language=patient.language,
            facts=given,
            mobile=patient.mobile,
            email=patient.email,
            address=tuple(patient.address),
            agreed=frozenset(Channel(channel) for channel in patient.agreed),
        ),
        visit_date=file.visit.date,
        clinician=file.visit.clinician,
        ears=tuple(sorted(map(_ear, file.ears), key=lambda ear: ear.side)),
        recall=Interval(months=recall.months or 0, weeks=recall.weeks or 0) if agreed else None,
        recall_declined=recall.declined,
    )


def _ear(ear: EarFile) -> Ear:
    length = None if ear.removed_cm is None else math.floor(ear.removed_cm * 10 + 0.5)
    noted = "length:not-noted" if length is None else "length:noted"
    return Ear(side=Side(ear.side), facts=_facts(ear, EAR_LISTS) | {noted}, removed_mm=length)


def _facts(part: BaseModel, lists: Mapping[str, str]) -> frozenset[Fact]:
    return frozenset(
        f"{group}:{value}" for key, group in lists.items() for value in getattr(part, key)
    )


def _reachable(place: str, case: Case, library: Library) -> None:
    if not usable(case):
        raise BadInput(
            f"{place}: patient.agreed",
            "no route the patient can use: agreed channels have no number or address",
            "add 'mobile' or 'email', or agree to 'print'",
        )
    facts = patient_facts(case, library)
    if "speech:no-phone" in facts and not facts & {"reply:text", "reply:email"}:
        raise BadInput(
            f"{place}: patient.needs",
            "the patient cannot phone, and has no other way to reach the clinic",
            "add 'mobile' if the clinic takes texts, or 'email' and agree to it",
        )

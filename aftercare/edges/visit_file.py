"""The shape of a visit file, as values that are checked one by one, and its JSON Schema."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from datetime import date, datetime
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from aftercare.errors import BadContent
from aftercare.model import Fact, FactGroup, Library, RecallMonths
from aftercare.recall import USUAL_BECAUSE
from aftercare.rules import BY_NAME

# Which list of the file feeds which group of the vocabulary.
EAR_LISTS = {
    "conditions": "condition",
    "procedures": "procedure",
    "findings": "finding",
    "drops": "drops",
    "plans": "plan",
}
PATIENT_LISTS = {
    "cautions": "caution",
    "allergies": "allergy",
    "status": "status",
    "uses": "uses",
    "needs": "need",
    "formats": "format",
    "texts": "texts",
}
# Control, surrogate, private and unassigned characters; and the marks that reorder what follows.
_UNFIT = frozenset({"Cc", "Cs", "Co", "Cn"})
_REORDERING = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u2028\u2029")
# Letters and signs by their category, blanks on paper: Hangul fillers and the empty Braille cell.
_BLANK = frozenset("\u115f\u1160\u2800\u3164\uffa0")
# What a folder cannot be called on Windows, whatever its letter case.
_DEVICE = re.compile(r"(con|prn|aux|nul|com[0-9]|lpt[0-9])", re.IGNORECASE)


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
    for at, char in enumerate(text):
        if unicodedata.category(char) in _UNFIT or char in _REORDERING:
            raise ValueError(
                f"the character U+{ord(char):04X} at position {at} cannot be printed; remove it"
            )
    if not any(map(_inked, text)):
        raise ValueError("empty, or nothing in it can be seen")
    return text


def _inked(char: str) -> bool:
    return unicodedata.category(char)[0] in "LNPS" and char not in _BLANK


def _reference(value: str) -> str:
    if _DEVICE.fullmatch(value):
        raise ValueError("a name Windows keeps for a device; choose another")
    return value


Day = Annotated[date, BeforeValidator(_day)]
Words = Annotated[str, Field(max_length=200), AfterValidator(_plain)]
Reason = Annotated[str, Field(min_length=3, max_length=500), AfterValidator(_plain)]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class PatientFile(_Strict):
    """`[patient]`: who the words are for."""

    name: Words = Field(description="as the patient is addressed")
    ref: Words | None = Field(
        default=None, max_length=64, description="your reference of the patient, for the register"
    )
    born: Day | None = Field(default=None, description="or give age_group")
    age_group: Literal["adult", "child"] | None = None
    language: str = Field(default="en", max_length=12, description="en, pl, ur, pt_BR ...")
    agreed: list[Literal["sms", "email", "print"]] = Field(
        description="channels the patient agreed to"
    )
    mobile: Words | None = None
    email: Words | None = None
    address: list[Words] = Field(default=[], max_length=8)
    cautions: list[str] = []
    allergies: list[str] = []
    status: list[str] = Field(default=[], description="why the patient is not called back")
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
    plans: list[str] = Field(default=[], description="what happens next to this ear")
    drops_stop: Day | None = Field(default=None, description="the last day of the drops")
    removed_cm: float | None = Field(
        default=None, ge=0.1, le=15, allow_inf_nan=False,
        description="length of what came out, in centimetres",
    )  # fmt: skip


class RecallFile(_Strict):
    """`[recall]`: what was agreed; months or weeks from the visit, or why there is none."""

    months: Annotated[int, Field(ge=1, le=60)] | None = None
    weeks: Annotated[int, Field(ge=1, le=104)] | None = None
    confirmed: Reason | None = Field(
        default=None, description="why a figure outside what is allowed is meant"
    )
    declined: Words | None = Field(default=None, description="why no return was agreed")

    @model_validator(mode="after")
    def _one_answer(self) -> RecallFile:
        if (self.declined is None) == (self.months is None and self.weeks is None):
            raise ValueError("give 'months' or 'weeks', or say why not in 'declined'")
        if self.confirmed is not None and self.declined is not None:
            raise ValueError("'confirmed' is about a figure, and none was agreed")
        return self


class OverrideFile(_Strict):
    """One `[[overrides]]`: a rule a clinician lets this visit's messages go against, and why."""

    rule: str = Field(max_length=40, description="the rule's name, as the reason gives it")
    by: Words
    role: Words
    reason: Reason


class VisitFile(_Strict):
    """One visit, as a clinician records it at discharge."""

    case: Annotated[
        str,
        Field(
            pattern=r"^[A-Za-z0-9][A-Za-z0-9_-]{0,63}$",
            description="your own reference; no name in it",
        ),
        AfterValidator(_reference),
    ]
    patient: PatientFile
    visit: VisitPart
    ears: Annotated[list[EarFile], Field(min_length=1, max_length=2)]
    recall: RecallFile
    overrides: list[OverrideFile] = Field(default=[], max_length=20)


def visit_schema(library: Library) -> dict[str, Any]:
    """The JSON Schema of a visit (draft 2020-12), with this clinic's vocabulary in it."""
    schema = VisitFile.model_json_schema()
    for definition, lists in (("EarFile", EAR_LISTS), ("PatientFile", PATIENT_LISTS)):
        for key, group in lists.items():
            field = schema["$defs"][definition]["properties"][key]
            field["items"]["enum"] = list(group_of(group, library).values)
    age = schema["$defs"]["PatientFile"]["properties"]["age_group"]
    age["description"] = f"child: under {library.limits.adult_age}"
    months = schema["$defs"]["RecallFile"]["properties"]["months"]
    months["description"] = _proposal(library.limits.recall_months)
    rule = schema["$defs"]["OverrideFile"]["properties"]["rule"]
    rule["enum"] = [name for name, rule in BY_NAME.items() if rule.overridable]
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def _proposal(known: Mapping[Fact, RecallMonths]) -> str:
    """What a form may show beside the field, and never fill in."""
    proposals = (
        f"; for {fact}, {one.usual[0]} to {one.usual[1]} is usual ({USUAL_BECAUSE}), "
        f"outside {one.allowed[0]} to {one.allowed[1]} say why in 'confirmed'"
        for fact, one in known.items()
    )
    return f"from the visit, as agreed with the patient{''.join(proposals)}"


def group_of(name: str, library: Library) -> FactGroup:
    """A group of the clinic's vocabulary. Raises ``BadContent`` if its file lost it."""
    if name not in library.facts:
        raise BadContent("shared/facts.toml", f"no group is called '{name}'", "put it back")
    return library.facts[name]

"""The clinic's own data files: vocabulary, clinic, regions, limits and the frame of a page."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from datetime import date
from typing import Annotated, Any, Literal, TypeVar
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import phonenumbers
from email_validator import EmailNotValidError, validate_email
from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator

from aftercare.errors import BadContent
from aftercare.library.blocks import approval, decode, known
from aftercare.library.header import ApprovalHeader
from aftercare.library.phrases import parse_phrase
from aftercare.model import Clinic, FactGroup, Frame, Limits, Region

SETTINGS_BYTES = 262_144
FRAME_KEYS = frozenset(
    {
        "title", "title_parent", "subject", "salutation", "salutation_parent", "visit_line",
        "heading_urgent", "heading_contact", "heading_done", "heading_normal", "heading_care",
        "heading_water", "heading_recall", "caution", "signoff", "stamp", "page", "sms_open",
        "edition",
    }
)  # fmt: skip
Weekday = Literal["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]
_WEEKDAYS: tuple[Weekday, ...] = (
    "monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday",
)  # fmt: skip
Text = Annotated[str, Field(min_length=1, max_length=200)]
Value = Annotated[str, Field(pattern=r"^[A-Za-z][A-Za-z0-9-]*$")]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class GroupFile(_Strict):
    """One `[groups.NAME]` of `facts.toml`."""

    scope: Literal["ear", "patient"]
    derived: bool = False
    exclusive: bool = False
    opposites: list[list[str]] = []
    values: Annotated[dict[Value, Text], Field(min_length=1)]


class FactsFile(_Strict):
    """`shared/facts.toml`."""

    groups: dict[Value, GroupFile]


class ClinicFile(_Strict):
    """`shared/clinic.toml`."""

    name: Text
    short_name: Text
    region: Annotated[str, Field(pattern=r"^[A-Z]{2}(-[A-Z0-9]{1,3})?$")]
    timezone: Text
    phone: Text
    text_number: Text | None = None
    email: Text
    sender: Text
    hours: Text
    open_days: Annotated[list[Weekday], Field(min_length=1)]
    closed_dates: list[date] = []
    inches: bool = False

    @field_validator("email", "sender")
    @classmethod
    def _deliverable_form(cls, value: str) -> str:
        try:
            validate_email(value, check_deliverability=False)
        except EmailNotValidError as error:
            raise ValueError(str(error)) from None
        return value

    @field_validator("timezone")
    @classmethod
    def _known_zone(cls, value: str) -> str:
        try:
            ZoneInfo(value)
        except (ZoneInfoNotFoundError, ValueError, OSError):
            raise ValueError("not a time zone of the IANA database") from None
        return value


class RegionFile(_Strict):
    """One table of `shared/regions.toml`."""

    emergency_number: Text
    emergency_text_number: Text | None = None
    urgent_advice_number: Text | None = None
    urgent_advice_relay: Text | None = None
    checked: date
    sources: Annotated[list[Text], Field(min_length=1)]


class ReadingLimits(_Strict):
    """`[reading]`."""

    fkgl: float
    sentence_words: Annotated[int, Field(ge=5)]


class SmsLimits(_Strict):
    """`[sms]`."""

    max_parts: Annotated[int, Field(ge=1, le=255)]
    max_parts_ucs2: Annotated[int, Field(ge=1, le=255)]


class PrintLimits(_Strict):
    """`[print]`; 12 point is the least anybody is given (UKAAF G003, 2019)."""

    max_pages: Annotated[int, Field(ge=1)]
    max_pages_large: Annotated[int, Field(ge=1)]
    point: Annotated[float, Field(ge=12, le=36)]
    large_point: Annotated[float, Field(ge=16, le=36)]


class LimitsFile(_Strict):
    """`shared/limits.toml`."""

    reading: ReadingLimits
    sms: SmsLimits
    print: PrintLimits
    lock_screen: dict[str, list[str]]


class FrameFile(_Strict):
    """`content/frame.toml`."""

    version: Text
    approval: ApprovalHeader
    review_by: date
    texts: dict[str, Text]


FileModel = TypeVar("FileModel", bound=BaseModel)


def load(place: str, raw: bytes, model: type[FileModel]) -> FileModel:
    """A checked TOML file. Raises ``BadContent`` naming file, line where TOML can, and key."""
    return _checked(place, raw, model, _toml(place, raw))


def _checked(place: str, raw: bytes, model: type[FileModel], data: object) -> FileModel:
    try:
        return model.model_validate(data)
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(step) for step in first["loc"])
        line = _line_of(raw, first["loc"])
        raise BadContent(f"{place}:{line}", f"'{where}': {first['msg']}", "mend it") from None


def _toml(place: str, raw: bytes) -> dict[str, Any]:
    text = decode(place, raw, SETTINGS_BYTES)
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise BadContent(place, f"not TOML ({error})", "mend it") from None


def _line_of(raw: bytes, loc: tuple[int | str, ...]) -> int:
    """The first line that begins with the innermost key named in ``loc``; 1 if none does."""
    lines = raw.decode("utf-8", "replace").splitlines()
    for step in reversed(loc):
        for number, line in enumerate(lines, 1):
            begins = line.lstrip().lstrip("[")
            if isinstance(step, str) and begins.startswith(step):
                return number
    return 1


def parse_facts(place: str, raw: bytes) -> dict[str, FactGroup]:
    """The vocabulary, group by group."""
    groups: dict[str, FactGroup] = {}
    for name, group in load(place, raw, FactsFile).groups.items():
        for value in (value for pair in group.opposites for value in pair):
            if value not in group.values:
                raise BadContent(place, f"'{name}' has no value '{value}'", known(group.values))
        groups[name] = FactGroup(
            name=name,
            scope=group.scope,
            values=group.values,
            derived=group.derived,
            exclusive=group.exclusive,
            opposites=tuple(frozenset(pair) for pair in group.opposites),
        )
    return groups


def parse_clinic(place: str, raw: bytes) -> Clinic:
    """The clinic. Its numbers must be dialable in its own country."""
    found = load(place, raw, ClinicFile)
    country = found.region.partition("-")[0]
    for key, number in (("phone", found.phone), ("text_number", found.text_number)):
        if number is not None and not _dialable(number, country):
            line = _line_of(raw, (key,))
            raise BadContent(
                f"{place}:{line}", f"'{key}' is not a phone number of {country}", "check it"
            )
    return Clinic(
        **found.model_dump(exclude={"open_days", "closed_dates"}),
        territory=country,
        open_days=frozenset(_WEEKDAYS.index(day) for day in found.open_days),
        closed_dates=frozenset(found.closed_dates),
    )


def _dialable(number: str, country: str) -> bool:
    try:
        # Numbers kept for fiction are possible but not valid, so "possible" is the question.
        return phonenumbers.is_possible_number(phonenumbers.parse(number, country))
    except phonenumbers.NumberParseException:
        return False


def parse_region(place: str, raw: bytes, clinic: Clinic) -> Region:
    """The emergency numbers of the clinic's own country."""
    tables = _toml(place, raw)
    if clinic.territory not in tables:
        raise BadContent(place, f"no numbers for {clinic.territory}", f"add [{clinic.territory}]")
    found = _checked(place, raw, RegionFile, tables[clinic.territory])
    return Region(
        **found.model_dump(exclude={"sources"}),
        code=clinic.territory,
        sources=tuple(found.sources),
    )


def parse_limits(place: str, raw: bytes) -> Limits:
    """The limits a message is held to."""
    found = load(place, raw, LimitsFile)
    words: Mapping[str, list[str]] = found.lock_screen
    return Limits(
        fkgl=found.reading.fkgl,
        sentence_words=found.reading.sentence_words,
        sms_parts=found.sms.max_parts,
        sms_parts_ucs2=found.sms.max_parts_ucs2,
        print_pages=found.print.max_pages,
        print_pages_large=found.print.max_pages_large,
        print_point=found.print.point,
        large_print_point=found.print.large_point,
        lock_screen={language: frozenset(listed) for language, listed in words.items()},
    )


def parse_frame(place: str, raw: bytes) -> Frame:
    """The furniture of a page; every key a page needs is there, and no other."""
    found = load(place, raw, FrameFile)
    missing = sorted(FRAME_KEYS - set(found.texts))
    unknown = sorted(set(found.texts) - FRAME_KEYS)
    if missing or unknown:
        said = f"lacks {missing}" if missing else f"has unknown keys {unknown}"
        raise BadContent(place, f"[texts] {said}", "see content/README.md")
    return Frame(
        texts={
            key: parse_phrase(f"{place}:{_line_of(raw, (key,))}", text)
            for key, text in found.texts.items()
        },
        version=found.version,
        approval=approval(found.approval),
        review_by=found.review_by,
        place=place,
    )

"""The clinic's own data files: vocabulary, clinic, regions, limits and the frame of a page."""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Mapping
from datetime import date, time
from typing import Annotated, Any, Literal, TypeVar
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import phonenumbers
from email_validator import EmailNotValidError, validate_email
from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    StringConstraints,
    ValidationError,
    field_validator,
    model_validator,
)

from aftercare.errors import BadContent
from aftercare.library.approval import approval, frame_digest
from aftercare.library.blocks import decode
from aftercare.library.header import ApprovalHeader
from aftercare.library.phrases import UNFIT, parse_phrase, refuse_numbers
from aftercare.model import Clinic, Frame, Limits, Phrase, RecallMonths, Region

SETTINGS_BYTES = 262_144
FRAME_KEYS = frozenset(
    {
        "title", "title_parent", "subject", "salutation", "salutation_parent", "visit_line",
        "heading_urgent", "heading_contact", "heading_done", "heading_normal", "heading_care",
        "heading_water", "heading_recall", "heading_others", "heading_others_parent", "caution",
        "signoff", "stamp", "page", "sms_open", "edition",
    }
)  # fmt: skip
# How a reader of another language gets help, by the route it names. A frame may do without;
# such a reader then gets no line of their own.
HELP_ROUTES = {
    "help_in_language": "clinic_phone",
    "help_in_language_text": "clinic_text_number",
    "help_in_language_email": "clinic_email",
}
_NAMES_OF_CLINIC = frozenset({"clinic_name", "clinic_short_name"})
Weekday = Literal["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]
_WEEKDAYS: tuple[Weekday, ...] = (
    "monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday",
)  # fmt: skip
# As somebody would ring it; other characters could hide or reorder the digits.
_NUMBER = r"^\+?[0-9(][0-9 ()-]*( ext\.? ?[0-9]{1,6})?$"
_AT_LINE = re.compile(r" \(at line (\d+), column \d+\)$")
_COMMENT = re.compile(r"#[^\"']*$")


def _plain(value: str) -> str:
    found = UNFIT.search(value) or re.search(r"[\t\n\r]", value)
    if found:
        raise ValueError(f"the character U+{ord(found[0]):04X} cannot be printed here")
    return value


def _one_word(value: str) -> str:
    """A word as the gate finds words in a text: letters, their marks, digits, and joiners."""
    if not all(unicodedata.category(char)[0] in "LMN" or char in "\u200c\u200d" for char in value):
        raise ValueError("one word each: letters and digits, no spaces or hyphens")
    return value


def _time_of_day(value: object) -> time:
    if not (isinstance(value, str) and re.fullmatch(r"(?:[01]\d|2[0-3]):[0-5]\d", value)):
        raise ValueError('a time of day in quotes, such as "09:00"')
    return time.fromisoformat(value)


Text = Annotated[
    str,
    StringConstraints(strip_whitespace=True, min_length=1, max_length=200),
    AfterValidator(_plain),
]
Number = Annotated[Text, Field(pattern=_NUMBER, max_length=40)]
Word = Annotated[str, Field(min_length=1, max_length=40), AfterValidator(_one_word)]
# A time of day of 24 hours, in quotes: TOML's own would ask for seconds.
Clock = Annotated[time, BeforeValidator(_time_of_day)]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class ClinicFile(_Strict):
    """`shared/clinic.toml`."""

    name: Text
    short_name: Text
    region: Annotated[str, Field(pattern=r"^[A-Z]{2}(-[A-Z0-9]{1,3})?$")]
    timezone: Text
    phone: Number
    text_number: Number | None = None
    email: Text
    sender: Text
    hours: Text | None = None
    opens: Clock | None = None
    closes: Clock | None = None
    open_days: Annotated[list[Weekday], Field(min_length=1)]
    closed_dates: list[date] = []
    inches: bool = False

    @field_validator("email", "sender")
    @classmethod
    def _deliverable_form(cls, value: str) -> str:
        try:
            # Mail software on the way may not carry letters outside ASCII in an address.
            validate_email(value, check_deliverability=False, allow_smtputf8=False)
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

    emergency_number: Number
    emergency_text_number: Number | None = None
    urgent_advice_number: Number | None = None
    urgent_advice_relay: Number | None = None
    checked: date
    sources: Annotated[list[Text], Field(min_length=1)]


Limit = Annotated[float, Field(gt=0, allow_inf_nan=False)]


class AdviceStarts(_Strict):
    """`[reading.advice]`: from where on an editor is told."""

    actions: Annotated[int, Field(ge=1)]
    words_before_action: Annotated[int, Field(ge=1)]
    paragraph_sentences: Annotated[int, Field(ge=1)]
    list_items: Annotated[int, Field(ge=1)]


class ReadingLimits(_Strict):
    """`[reading]`."""

    fkgl: Limit
    sentence_words: Annotated[int, Field(ge=5)]
    sentence_characters: Annotated[int, Field(ge=5)]
    formulas: dict[str, Limit] = {}
    advice: AdviceStarts


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


class NumberLimits(_Strict):
    """`[emergency_numbers]`."""

    recheck_days: Annotated[int, Field(ge=1, le=3660)]


class ReviewLimits(_Strict):
    """`[review]`."""

    months: Annotated[int, Field(ge=1, le=60)]


class AgeLimits(_Strict):
    """`[age]`, in years."""

    adult: Annotated[int, Field(ge=1, le=21)]


Months = Annotated[list[Annotated[int, Field(ge=1, le=60)]], Field(min_length=2, max_length=2)]


class RecallFigures(_Strict):
    """One `[recall.CONDITION]`: months to the next visit, least and most."""

    usual: Months
    allowed: Months

    @model_validator(mode="after")
    def _one_inside_the_other(self) -> RecallFigures:
        inside = self.allowed[0] <= self.usual[0] <= self.usual[1] <= self.allowed[1]
        if not inside:
            raise ValueError("write least, most; what is usual lies within what is allowed")
        return self


class LimitsFile(_Strict):
    """`shared/limits.toml`."""

    reading: ReadingLimits
    sms: SmsLimits
    print: PrintLimits
    emergency_numbers: NumberLimits
    review: ReviewLimits
    age: AgeLimits
    recall: dict[str, RecallFigures] = {}
    lock_screen: dict[str, Annotated[list[Word], Field(min_length=1)]]


class FrameFile(_Strict):
    """`content/frame.toml`."""

    version: Text
    approval: ApprovalHeader
    review_by: date
    texts: dict[str, Text]


FileModel = TypeVar("FileModel", bound=BaseModel)


def load(place: str, raw: bytes, model: type[FileModel]) -> FileModel:
    """A checked TOML file. Raises ``BadContent`` naming file, line where TOML can, and key."""
    return checked(place, raw, model, _toml(place, raw), ())


def checked(
    place: str, raw: bytes, model: type[FileModel], data: object, inside: tuple[str, ...]
) -> FileModel:
    """Values of a file as a model; ``inside`` is where in the file they stand.

    Raises ``BadContent`` with the line of the first thing wrong.
    """
    try:
        return model.model_validate(data)
    except ValidationError as error:
        first = error.errors()[0]
        loc = (*inside, *first["loc"])
        where = ".".join(str(step) for step in loc)
        problem = f"'{where}': {first['msg'].removeprefix('Value error, ')}"
        raise BadContent(f"{place}:{line_of(raw, loc)}", problem, "mend it") from None


def _toml(place: str, raw: bytes) -> dict[str, Any]:
    text = decode(place, raw, SETTINGS_BYTES)
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        found = _AT_LINE.search(str(error))
        line = found[1] if found else text.count("\n") + 1
        what = _AT_LINE.sub("", str(error))
        raise BadContent(f"{place}:{line}", f"not TOML ({what})", "mend that line") from None
    except RecursionError:
        raise BadContent(f"{place}:1", "nested too deep", "make it flat") from None


def line_of(raw: bytes, loc: tuple[int | str, ...]) -> int:
    """The line of a key, found by following ``loc`` down the file; 1 if none is there."""
    lines = [_COMMENT.sub("", line) for line in raw.decode("utf-8", "replace").splitlines()]
    at = 0
    for step in loc:
        # A key stands at the start, in a table's name or in an inline table.
        key = re.compile(rf"(?:^|[\s\[.{{,])[\"']?{re.escape(str(step))}[\"']?\s*[=\].]")
        at = next((n for n in range(at, len(lines)) if key.search(lines[n])), at)
    return at + 1


def parse_clinic(place: str, raw: bytes) -> Clinic:
    """The clinic. Its numbers must be dialable in its own country."""
    found = load(place, raw, ClinicFile)
    hours = _hours(place, raw, found)
    country = found.region.partition("-")[0]
    for key, number in (("phone", found.phone), ("text_number", found.text_number)):
        if number is not None and not _dialable(number, country):
            line = line_of(raw, (key,))
            raise BadContent(
                f"{place}:{line}", f"'{key}' is not a phone number of {country}", "check it"
            )
    return Clinic(
        **found.model_dump(exclude={"hours", "opens", "closes", "open_days", "closed_dates"}),
        hours=hours,
        territory=country,
        open_days=frozenset(_WEEKDAYS.index(day) for day in found.open_days),
        closed_dates=frozenset(found.closed_dates),
    )


def _hours(place: str, raw: bytes, found: ClinicFile) -> str | tuple[time, time]:
    """The hours, said once: in words of the clinic's own, or as times of its open days."""
    if found.hours is not None:
        both = next((key for key in ("opens", "closes") if getattr(found, key)), None)
        if both:
            raise _unclear(place, raw, both, f"'hours' and '{both}' both say when you are open")
        return _hours_in_words(f"{place}:{line_of(raw, ('hours',))}", found.hours)
    if found.opens is None or found.closes is None:
        raise _unclear(place, raw, "open_days", "nothing says at what hours you are open")
    if found.opens >= found.closes:
        raise BadContent(
            f"{place}:{line_of(raw, ('closes',))}",
            f"the clinic closes at {found.closes:%H:%M} and opens at {found.opens:%H:%M}",
            "give an hour after it opens",
        )
    return found.opens, found.closes


def _hours_in_words(place: str, hours: str) -> str:
    """They go into a slot as they stand, so they hold no slots or marks themselves."""
    phrase = parse_phrase(place, hours)
    if phrase.slots or any(piece.strong for piece in phrase.pieces):
        raise BadContent(place, "the hours hold a slot or a mark", "write plain words")
    return hours


def _unclear(place: str, raw: bytes, key: str, problem: str) -> BadContent:
    how = "give 'opens' and 'closes', or 'hours' in words that are translated like any other"
    return BadContent(f"{place}:{line_of(raw, (key,))}", problem, how)


def _dialable(number: str, country: str) -> bool:
    try:
        # Numbers kept for fiction are possible but not valid, so "possible" is the question.
        return phonenumbers.is_possible_number(phonenumbers.parse(number, country))
    except phonenumbers.NumberParseException:
        return False


def parse_region(place: str, raw: bytes, clinic: Clinic) -> Region:
    """The emergency numbers of the clinic's own country."""
    tables = _toml(place, raw)
    code = clinic.territory
    if code not in tables:
        raise BadContent(f"{place}:1", f"no numbers for {code}", f"add [{code}]")
    found = checked(place, raw, RegionFile, tables[code], (code,))
    return Region(
        **found.model_dump(exclude={"sources"}),
        code=code,
        sources=tuple(found.sources),
    )


def parse_limits(place: str, raw: bytes) -> Limits:
    """The limits a message is held to."""
    found = load(place, raw, LimitsFile)
    words: Mapping[str, list[str]] = found.lock_screen
    return Limits(
        fkgl=found.reading.fkgl,
        # The grade of English has one limit, whoever asks for it.
        formulas={**found.reading.formulas, "flesch_kincaid": found.reading.fkgl},
        **found.reading.advice.model_dump(),
        sentence_words=found.reading.sentence_words,
        sentence_characters=found.reading.sentence_characters,
        sms_parts=found.sms.max_parts,
        sms_parts_ucs2=found.sms.max_parts_ucs2,
        print_pages=found.print.max_pages,
        print_pages_large=found.print.max_pages_large,
        print_point=found.print.point,
        large_print_point=found.print.large_point,
        recheck_days=found.emergency_numbers.recheck_days,
        review_months=found.review.months,
        recall_months={
            f"condition:{name}": RecallMonths(
                usual=(figures.usual[0], figures.usual[1]),
                allowed=(figures.allowed[0], figures.allowed[1]),
            )
            for name, figures in found.recall.items()
        },
        adult_age=found.age.adult,
        lock_screen={language: frozenset(listed) for language, listed in words.items()},
    )


def parse_frame(place: str, raw: bytes) -> Frame:
    """The furniture of a page; every key a page needs is there, and none that is unknown."""
    found = load(place, raw, FrameFile)
    missing = sorted(FRAME_KEYS - set(found.texts))
    unknown = sorted(set(found.texts) - FRAME_KEYS - HELP_ROUTES.keys())
    if missing or unknown:
        said = f"lacks {missing}" if missing else f"has unknown keys {unknown}"
        line = line_of(raw, ("texts", *unknown[:1]))
        raise BadContent(f"{place}:{line}", f"[texts] {said}", "see content/README.md")
    texts = {
        key: parse_phrase(f"{place}:{line_of(raw, ('texts', key))}", text)
        for key, text in found.texts.items()
    }
    for key, phrase in texts.items():
        refuse_numbers(f"{place}:{line_of(raw, ('texts', key))}", phrase)
    for key in texts.keys() & HELP_ROUTES.keys():
        _check_route(f"{place}:{line_of(raw, ('texts', key))}", key, texts[key])
    return Frame(
        texts=texts,
        version=found.version,
        approval=approval(
            found.approval, frame_digest(found.version, found.review_by, found.texts)
        ),
        review_by=found.review_by,
        place=place,
    )


def _check_route(place: str, key: str, phrase: Phrase) -> None:
    """A line on help names its own route, and nothing that a patient may lack."""
    route, slots = HELP_ROUTES[key], set(phrase.slots)
    if route not in slots or slots - {route} - _NAMES_OF_CLINIC:
        problem = f"'{key}' has the slots {sorted(slots)}"
        remedy = f"write {{{route}}} in it and no slot beside but the clinic's name"
        raise BadContent(place, problem, remedy)

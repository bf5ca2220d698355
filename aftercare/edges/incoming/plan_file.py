"""`shared/import.toml` and a mapping file of the same form: how lists are read."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from aftercare.errors import BadContent, BadInput
from aftercare.library.settings import checked, line_of, load
from aftercare.model import Channel, Fact, Library
from aftercare.recall.incoming.plan import DateOrder, ImportPlan, Lines, Longest, plain

PLACE = "shared/import.toml"
Word = Annotated[str, Field(max_length=200)]
WordList = Annotated[list[Word], Field(max_length=500)]
_OF_PEOPLE = ("need", "format", "caution", "uses", "texts")


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class _Read(_Strict):
    dates: Literal["ask", "day-first", "month-first"]
    serials: Literal[0, 1900, 1904]
    lines: Literal["people", "visits"]
    sheet: Word
    country: Annotated[str, Field(pattern=r"^([A-Z]{2})?$")]


class _Defaults(_Strict):
    language: Annotated[str, Field(pattern=r"^[a-z]{2,3}(_[A-Za-z]+)*$")]
    agreed: Word


class _Recall(_Strict):
    always: WordList
    months_at_most: Annotated[int, Field(ge=1, le=240)]


class _Limits(_Strict):
    ref: Annotated[int, Field(ge=1, le=500)]
    name: Annotated[int, Field(ge=1, le=500)]
    email: Annotated[int, Field(ge=1, le=254)]
    address: Annotated[int, Field(ge=1, le=2000)]
    cell: Annotated[int, Field(ge=1, le=100_000)]
    oldest: Annotated[int, Field(ge=1, le=150)]
    longest_ago: Annotated[int, Field(ge=1, le=150)]


class _Fiction(_Strict):
    numbers: WordList


class _Columns(_Strict):
    ref: WordList
    first_name: WordList
    last_name: WordList
    born: WordList
    language: WordList
    mobile: WordList
    email: WordList
    address: WordList
    national: WordList
    agreed: WordList
    agreed_sms: WordList
    agreed_email: WordList
    agreed_print: WordList
    agreed_on: WordList
    deceased: WordList
    moved: WordList
    status: WordList
    notes: WordList
    needs: WordList
    case: WordList
    seen: WordList
    condition: WordList
    side: WordList
    clinician: WordList
    months: WordList
    weeks: WordList
    interval: WordList
    due: WordList


class _Words(_Strict):
    empty: WordList
    yes: WordList
    no: WordList
    refused: WordList
    withdrawn: WordList
    not_asked: WordList
    sms: WordList
    email: WordList
    print: WordList
    all: WordList
    deceased: WordList
    moved: WordList
    current: WordList
    unsure: WordList
    death_notes: WordList
    left: WordList
    right: WordList
    both: WordList


class ImportFile(_Strict):
    """`shared/import.toml`."""

    read: _Read
    defaults: _Defaults
    columns: _Columns
    words: _Words
    conditions: dict[Word, WordList]
    languages: dict[Word, WordList]
    recall: _Recall
    limits: _Limits
    fiction: _Fiction


class _Mapping(_Strict):
    """A mapping file: any of the same tables, any of their keys."""

    read: dict[str, Any] = {}
    defaults: dict[str, Any] = {}
    columns: dict[str, str | list[str]] = {}
    words: dict[str, str | list[str]] = {}
    conditions: dict[str, str | list[str]] = {}
    languages: dict[str, str | list[str]] = {}
    recall: dict[str, Any] = {}
    limits: dict[str, Any] = {}


def parse_plan(
    raw: bytes, mapping: tuple[str, bytes] | None, library: Library, today: date, by: str
) -> ImportPlan:
    """How a list is read. ``mapping`` is the name and the bytes of a mapping file.

    Raises ``BadContent`` for the clinic's own file and ``BadInput`` for the mapping, with the line
    of the first thing wrong.
    """
    found = load(PLACE, raw, ImportFile)
    place, source = PLACE, raw
    if mapping is not None:
        place, source = mapping
        found = _mapped(found, place, source)
    try:
        return _plan(found, place, source, library, today, by)
    except BadContent as refused:
        raise _of_mapping(refused) if mapping else refused from None


def _mapped(found: ImportFile, place: str, raw: bytes) -> ImportFile:
    """The clinic's own file with what a mapping gives in the place of it."""
    try:
        given = load(place, raw, _Mapping)
        data = found.model_dump()
        for table, values in given.model_dump().items():
            for key, value in values.items():
                listed = table in ("columns", "words", "conditions", "languages")
                data[table][key] = [value] if listed and isinstance(value, str) else value
        return checked(place, raw, ImportFile, data, ())
    except BadContent as refused:
        raise _of_mapping(refused) from None


def _of_mapping(refused: BadContent) -> BadInput:
    return BadInput(refused.place, refused.problem, refused.remedy)


def _plan(
    found: ImportFile, place: str, raw: bytes, library: Library, today: date, by: str
) -> ImportPlan:
    conditions = _vocabulary(library, ("condition",))
    names = {fact.partition(":")[2]: fact for fact in conditions.values()}
    for name, words in found.conditions.items():
        if name not in names:
            raise _unknown(place, raw, ("conditions", name), name)
        conditions |= {plain(word): names[name] for word in words}
    for name in found.recall.always:
        if name not in names:
            raise _unknown(place, raw, ("recall", "always"), name)
    ways = found.defaults.agreed.split()
    if not set(ways) <= {one.value for one in Channel}:
        line = line_of(raw, ("defaults", "agreed"))
        raise BadContent(f"{place}:{line}", "'agreed': unknown channel", "sms, email or print")
    return ImportPlan(
        columns={name: tuple(words) for name, words in found.columns.model_dump().items()},
        words={
            kind: frozenset(plain(word) for word in words)
            for kind, words in found.words.model_dump().items()
        },
        conditions=conditions,
        facts=_vocabulary(library, _OF_PEOPLE),
        languages=_languages(found.languages),
        always=tuple(names[name] for name in found.recall.always),
        months_at_most=found.recall.months_at_most,
        longest=Longest(**found.limits.model_dump()),
        fiction=_fiction(place, raw, found.fiction.numbers),
        clinic=library.clinic,
        today=today,
        by=by,
        dates=DateOrder(found.read.dates),
        serials=found.read.serials,
        lines=Lines(found.read.lines),
        sheet=found.read.sheet,
        country=found.read.country or library.clinic.territory,
        language=found.defaults.language,
        agreed=" ".join(sorted(ways)),
    )


def _vocabulary(library: Library, groups: tuple[str, ...]) -> dict[str, Fact]:
    """The facts of these groups by their names, as words are compared."""
    return {
        plain(value): f"{name}:{value}"
        for name in groups
        if name in library.facts
        for value in library.facts[name].values
    }


def _languages(words: Mapping[str, list[str]]) -> dict[str, str]:
    return {plain(word): tag for tag, several in words.items() for word in (tag, *several)}


def _unknown(place: str, raw: bytes, loc: tuple[str, ...], name: str) -> BadContent:
    told = f"no condition '{name[:40]}'"
    return BadContent(f"{place}:{line_of(raw, loc)}", told, "see shared/facts.toml")


def _fiction(place: str, raw: bytes, numbers: list[str]) -> re.Pattern[str]:
    try:
        return re.compile("|".join(f"(?:{one})" for one in numbers) or "(?!)", re.ASCII)
    except re.error as error:
        line = line_of(raw, ("fiction", "numbers"))
        raise BadContent(f"{place}:{line}", f"not a pattern ({error})", "mend it") from None

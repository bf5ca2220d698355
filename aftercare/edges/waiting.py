"""Who waits, out of a file: for planning without a register, and for planning again.

A table, or JSON lines with the same keys. Several lines of one ``ref`` are one person.
"""

from __future__ import annotations

import json
import unicodedata
from collections.abc import Collection, Iterator, Mapping
from datetime import date, timedelta

from aftercare.edges.days import HOW, read_day, read_span
from aftercare.edges.table import (
    TABLE_BYTES,
    TableRow,
    all_or_faults,
    read_table,
    yes_or_no,
)
from aftercare.errors import AftercareError, BadInput
from aftercare.model import Fact
from aftercare.recall.catch_up import Earlier, Listed, Span

COLUMNS, OPTIONAL = ("ref", "due"), ("condition", "limit", "promised", "told")
# Somebody who has waited longer than this is a mistyped year.
LONGEST_WAIT = timedelta(days=366 * 40)
MOST_PEOPLE, LONGEST_REF = 200_000, 64


def parse_waiting(
    place: str, raw: bytes, conditions: Collection[Fact], start: date
) -> tuple[Listed, ...]:
    """The lines of the file. Raises ``BadInput`` with the line of everything wrong."""
    known: dict[tuple[object, ...], str] = {}
    found, faults = [], list[AftercareError]()
    for row in _rows(place, raw):
        try:
            one = _listed(row, conditions, start)
            same = (one.ref, one.conditions, one.due)
            if same in known:
                raise row.refuse(f"the same as {known[same]}", "take one out")
            known[same] = row.place
            found.append(one)
        except AftercareError as fault:
            faults.append(fault)
        if len(found) > MOST_PEOPLE:
            raise BadInput(place, f"more than {MOST_PEOPLE} people", "plan for fewer at once")
    all_or_faults(place, faults)
    if not found:
        raise BadInput(f"{place}:1", "nobody in it", "write a line for each who waits")
    return tuple(found)


def _rows(place: str, raw: bytes) -> Iterator[TableRow]:
    if not raw.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"{"):
        yield from read_table(place, raw, COLUMNS, optional=OPTIONAL)
        return
    if len(raw) > TABLE_BYTES:
        raise BadInput(place, f"larger than {TABLE_BYTES} bytes", "split it")
    for number, line in enumerate(raw.removeprefix(b"\xef\xbb\xbf").split(b"\n"), 1):
        if line.strip():
            where = f"{place}:{number}"
            yield TableRow(where, _json_cells(where, line))


def _json_cells(place: str, line: bytes) -> dict[str, str]:
    try:
        data = json.loads(line.decode("utf-8"))
    except (UnicodeDecodeError, ValueError, RecursionError):
        raise BadInput(place, "not JSON in UTF-8", "write one object on each line") from None
    if not isinstance(data, dict):
        raise BadInput(place, "not an object", 'write {"ref": ..., "due": ...}')
    for name in COLUMNS:
        if name not in data:
            raise BadInput(place, f"no '{name}'", f"the keys are {', '.join(COLUMNS + OPTIONAL)}")
    return {name: _json_cell(place, name, value) for name, value in data.items()}


def _json_cell(place: str, name: str, value: object) -> str:
    if name not in COLUMNS + OPTIONAL:
        known = ", ".join(COLUMNS + OPTIONAL)
        raise BadInput(place, f"unknown key '{name[:40]}'", f"the keys are {known}")
    if isinstance(value, bool):
        return "yes" if value else "no"
    if value is None:
        return ""
    if not isinstance(value, str):
        raise BadInput(place, f"'{name}' is not a text", "write it in quotes")
    return value.strip()


def _listed(row: TableRow, conditions: Collection[Fact], start: date) -> Listed:
    return Listed(
        ref=_ref(row),
        conditions=tuple(_conditions(row, conditions)),
        due=_day(row, "due", start),
        limit=_day(row, "limit", start) if row.cells.get("limit") else None,
        promised=_promised(row),
        told=yes_or_no(row, "told"),
    )


def _ref(row: TableRow) -> str:
    ref = row.cells["ref"]
    if not ref or len(ref) > LONGEST_REF:
        raise row.refuse(f"'ref' has {len(ref)} characters", f"give it 1 to {LONGEST_REF}")
    for char in ref:
        if unicodedata.category(char)[0] == "C" or char.isspace():
            raise row.refuse(f"'ref' holds U+{ord(char):04X}", "letters, digits and signs alone")
    return ref


def _conditions(row: TableRow, known: Collection[Fact]) -> Iterator[Fact]:
    for name in filter(None, (one.strip() for one in row.cells.get("condition", "").split("+"))):
        if f"condition:{name}" not in known:
            names = ", ".join(sorted(one.rpartition(":")[2] for one in known))
            told = f"'condition': unknown condition '{name[:40]}'"
            raise row.refuse(told, f"leave it empty, or one of {names}")
        yield f"condition:{name}"


def _day(row: TableRow, column: str, start: date) -> date:
    try:
        day = read_day(row.cells[column])
    except ValueError as error:
        raise row.refuse(f"'{column}': {error}", "write it like 2026-11-24") from None
    if abs(day - start) > LONGEST_WAIT:
        raise row.refuse(f"'{column}': {day} is too far from {start}", "check the year")
    return day


def _promised(row: TableRow) -> Span | None:
    words = row.cells.get("promised", "")
    if not words:
        return None
    try:
        return read_span(words)
    except ValueError as error:
        raise row.refuse(f"'promised': {error}", HOW) from None


def parse_plan(place: str, raw: bytes) -> Mapping[str, Earlier]:
    """What an earlier plan, as this programme wrote it, had for everybody it had a day for.

    Raises ``BadInput``.
    """
    try:
        places = json.loads(raw.decode("utf-8"))["places"]
        found = [_earlier(one["ref"], one["when"], one["told"]) for one in places]
    except (UnicodeDecodeError, ValueError, KeyError, TypeError, RecursionError):
        raise BadInput(place, "not a plan", "name the plan.json of an earlier catch-up") from None
    return {ref: was for ref, was in found if was is not None}


def _earlier(ref: object, when: object, told: object) -> tuple[str, Earlier | None]:
    if not isinstance(ref, str) or not isinstance(told, bool):
        raise TypeError("not a place")
    if when is None:
        return ref, None
    return ref, Earlier(when=read_span(str(when)), told=told)

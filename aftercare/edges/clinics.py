"""The clinics there are, out of a table with a row for each kind of slot on a day or in a week."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from aftercare.edges.days import HOW, read_span
from aftercare.edges.table import TableRow, all_or_faults, read_table, whole_number, yes_or_no
from aftercare.errors import AftercareError, BadInput
from aftercare.model import Clinic
from aftercare.recall.catch_up import Opening, Span
from aftercare.recall.dates import closure

COLUMNS, OPTIONAL = ("when", "minutes", "skill", "slots"), ("shared",)
LONGEST_PLAN = timedelta(weeks=156)
MOST_SLOTS, SHORTEST, LONGEST = 500, 5, 480


@dataclass(frozen=True, slots=True)
class Capacity:
    """The slots there are, and what of the table is worth a look."""

    openings: tuple[Opening, ...]
    notes: tuple[str, ...]


def parse_clinics(
    place: str, raw: bytes, clinic: Clinic, skills: Mapping[str, frozenset[str]], start: date
) -> Capacity:
    """The slots from ``start`` on; rows with none are left out.

    ``slots`` counts every place at a clinic, those already given away too. Raises ``BadInput``
    with the line of everything wrong.
    """
    rows: dict[tuple[object, ...], str] = {}
    openings, notes, faults = [], list[str](), list[AftercareError]()
    for row in read_table(place, raw, COLUMNS, optional=OPTIONAL):
        try:
            one = _opening(row, clinic, skills, start)
            same = (one.when, one.minutes, one.skills, one.shared)
            if same in rows:
                told = f"the same slots as in {rows[same]}"
                raise row.refuse(told, "write them once, with how many there are")
            rows[same] = row.place
            openings.append(one)
            notes.extend(_worth_a_look(row.place, one, clinic))
        except AftercareError as fault:
            faults.append(fault)
    all_or_faults(place, faults)
    openings = [one for one in openings if one.slots]
    if not openings:
        raise BadInput(f"{place}:1", "no slots in it", "write a row for each kind of slot")
    return Capacity(tuple(openings), tuple(notes))


def _opening(
    row: TableRow, clinic: Clinic, skills: Mapping[str, frozenset[str]], start: date
) -> Opening:
    when = _when(row)
    day = _counted(row, when, clinic, start)
    return Opening(
        when=when,
        day=day,
        minutes=whole_number(row, "minutes", SHORTEST, LONGEST),
        skill=row.cells["skill"],
        skills=_skills(row, skills),
        slots=whole_number(row, "slots", 0, MOST_SLOTS),
        shared=yes_or_no(row, "shared"),
    )


def _when(row: TableRow) -> Span:
    try:
        return read_span(row.cells["when"])
    except ValueError as error:
        raise row.refuse(f"'when': {error}", HOW) from None


def _counted(row: TableRow, when: Span, clinic: Clinic, start: date) -> date:
    """The day that is counted: of a week the last the clinic is open, so that no limit is hoped."""
    if when.last - start > LONGEST_PLAN:
        raise row.refuse(f"{when} is more than three years ahead", "check it")
    if when.first == when.last:
        day = when.first
    else:
        days = [when.first + timedelta(days=n) for n in reversed(range(7))]
        day = next((one for one in days if closure(one, clinic) is None), date.min)
        if day == date.min:
            told = f"the clinic is closed all of {when}"
            raise row.refuse(told, "write the days of extra clinics")
    if day < start:
        raise row.refuse(f"{when} is before {start}", "take it out, or plan --from an earlier day")
    return day


def _skills(row: TableRow, known: Mapping[str, frozenset[str]]) -> frozenset[str]:
    """All that may be done there: a row may name several skills, joined by a plus."""
    named = [one.strip() for one in row.cells["skill"].split("+")]
    for one in named:
        if one not in known:
            told = f"'skill': unknown skill '{one[:40]}'"
            raise row.refuse(told, f"the skills are {', '.join(sorted(known))}")
    return frozenset().union(*(known[one] for one in named))


def _worth_a_look(place: str, one: Opening, clinic: Clinic) -> Iterator[str]:
    closed = closure(one.day, clinic) if one.when.first == one.when.last and one.slots else None
    if closed:
        yield f"{place}: {closed}; taken as an extra clinic"

"""Words of a list to the words of the house, and the recall that a row promises."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from aftercare.errors import AftercareError
from aftercare.model import Fact, Interval, Side
from aftercare.recall.dates import due as due_day
from aftercare.recall.incoming.days import read_day
from aftercare.recall.incoming.plan import ImportPlan, plain
from aftercare.recall.incoming.trouble import Note, Trouble
from aftercare.recall.people import Standing

_PARTS = re.compile(r"[;,/|+&]| and ")
_COUNT = re.compile(r"(\d{1,3})(?:\.0+)?", re.ASCII)
# "6 months", "26 wks"; and 6/12 and 26/52, as clinicians write months and weeks (common practice).
_SPAN = re.compile(r"(\d{1,3}) ?(months?|mths?|m|weeks?|wks?|w|years?|yrs?|y)", re.ASCII)
_FRACTION = re.compile(r"(\d{1,2})/(12|52)", re.ASCII)
_WEEKS_A_MONTH = 52 / 12
_UNKNOWN = "not a word the mapping knows"


class Words:
    """Reads one trimmed cell each; "" and the words for nothing are nothing."""

    def __init__(self, plan: ImportPlan) -> None:
        self._plan = plan

    def empty(self, cell: str) -> bool:
        """Whether the cell says that there is nothing."""
        return not cell or plain(cell) in self._plan.words["empty"]

    def born(self, cell: str) -> str | Trouble | None:
        """A day somebody can have been born, ISO 8601."""
        return self._past(cell, self._plan.longest.oldest)

    def seen(self, cell: str) -> str | Trouble | None:
        """A day somebody can have been seen, ISO 8601."""
        return self._past(cell, self._plan.longest.longest_ago)

    def due(self, cell: str) -> str | Trouble | None:
        """A day somebody is due, ISO 8601."""
        found = self._day(cell)
        if not isinstance(found, date):
            return found
        if abs(found.year - self._plan.today.year) > self._plan.longest.longest_ago:
            return Trouble(None, "too long ago" if found < self._plan.today else "in the future")
        return found.isoformat()

    def _day(self, cell: str) -> date | Trouble | None:
        if self.empty(cell):
            return None
        return read_day(cell, self._plan.dates, self._plan.serials)

    def _past(self, cell: str, years: int) -> str | Trouble | None:
        found = self._day(cell)
        if not isinstance(found, date):
            return found
        if found > self._plan.today:
            return Trouble(None, "in the future")
        if found.year < self._plan.today.year - years:
            return Trouble(None, "too long ago")
        return found.isoformat()

    def language(self, cell: str) -> str | Trouble:
        """A language tag; the list's own language where none is said."""
        if self.empty(cell):
            return self._plan.language
        known = self._plan.languages.get(plain(cell))
        return known or Trouble(self._plan.language, _UNKNOWN)

    def side(self, cell: str) -> str | Trouble | None:
        """An ear."""
        if self.empty(cell):
            return None
        word = plain(cell)
        found = next((side for side in Side if self._plan.says(side.value, word)), None)
        return found.value if found else Trouble(None, _UNKNOWN)

    def conditions(self, cell: str) -> str | Trouble:
        """Facts of the vocabulary, sorted, parted by spaces."""
        return self._facts(cell, self._plan.conditions)

    def needs(self, cell: str) -> str | Trouble:
        """Facts of the person, sorted, parted by spaces."""
        return self._facts(cell, self._plan.facts)

    def _facts(self, cell: str, known: Mapping[str, Fact]) -> str | Trouble:
        if self.empty(cell):
            return ""
        if whole := known.get(plain(cell)):
            return whole
        found = [known.get(plain(part)) for part in _PARTS.split(cell)]
        kept = " ".join(sorted({one for one in found if one}))
        return Trouble(kept, _UNKNOWN) if None in found else kept


class Promise(NamedTuple):
    """Condition, anchor, months, weeks and due of a recall; why it waits; what there is to say."""

    values: tuple[str, str | None, int, int, str | None]
    waits: str | None = None
    note: Note | None = None


NO_PROMISE = Promise(("", None, 0, 0, None))


@dataclass(frozen=True, slots=True)
class _Given:
    seen: str | None
    due: str | None
    conditions: str
    months: str
    weeks: str
    interval: str


class Promises:
    """Reads the recall a row promises; one with a condition that needs a day waits for one."""

    FIELDS: Mapping[str, str | None] = {
        "seen": None, "due": None, "condition": "", "months": "", "weeks": "", "interval": "",
    }  # fmt: skip

    def __init__(self, plan: ImportPlan) -> None:
        self._plan = plan
        self._empty: Callable[[str], bool] = Words(plan).empty

    def read(self, cells: tuple[str | None, ...]) -> Promise:
        """The promise in the fields together."""
        given = _Given(*cells)  # type: ignore[arg-type]
        span = self._span(given)
        if isinstance(span, Trouble):
            return self._undecided(given, Note(span.standing, span.said))
        if given.due:
            return self._told(given, span)
        if span == (0, 0):
            return self._undecided(given, None)
        if given.seen is None:
            return Promise(
                NO_PROMISE.values, note=Note(Standing.HOLD, "seen: no visit to count from")
            )
        return self._counted(given, given.seen, span)

    def _told(self, given: _Given, span: tuple[int, int]) -> Promise:
        anchor = given.seen or given.due
        if anchor and given.due and given.due < anchor:
            return self._undecided(given, Note(Standing.HOLD, "due: before the visit"))
        return Promise((self._condition(given), anchor, *span, given.due))

    def _counted(self, given: _Given, seen: str, span: tuple[int, int]) -> Promise:
        try:
            interval = Interval(months=span[0], weeks=span[1])
            found = due_day(date.fromisoformat(seen), interval, self._plan.clinic)
        except AftercareError:
            return self._undecided(given, Note(Standing.HOLD, "due: longer than the clinic allows"))
        return Promise((self._condition(given), seen, *span, found.on.isoformat()))

    def _undecided(self, given: _Given, note: Note | None) -> Promise:
        """No day can be told: what must not be left so waits on a person, due at once."""
        named = [one for one in self._plan.always if one in given.conditions.split()]
        if given.seen and (named or note):
            condition = named[0] if named else self._condition(given)
            said = f"condition: {condition.partition(':')[2]} seen with this and no interval"
            why = note.said if note else "no interval was recorded: a clinician says when"
            told = note or Note(Standing.READY, said.replace("condition: ", "recall: "))
            return Promise((condition, given.seen, 0, 0, given.seen), why, told)
        return Promise(NO_PROMISE.values, note=note)

    def _condition(self, given: _Given) -> str:
        """The condition the recall is for: the one that needs it most, or the first."""
        found = given.conditions.split()
        return next((one for one in self._plan.always if one in found), found[0] if found else "")

    def _span(self, given: _Given) -> tuple[int, int] | Trouble:
        if not self._empty(given.interval):
            span = _in_words(plain(given.interval))
        else:
            span = self._count(given.months), self._count(given.weeks)
        months, weeks = span or (None, None)
        if months is None or weeks is None:
            return Trouble(None, "interval: not a number of months or weeks")
        if months + weeks / _WEEKS_A_MONTH > self._plan.months_at_most:
            return Trouble(None, "interval: longer than the clinic allows")
        return months, weeks

    def _count(self, cell: str) -> int | None:
        if self._empty(cell):
            return 0
        found = _COUNT.fullmatch(cell)
        return int(found[1]) if found else None


def _in_words(said: str) -> tuple[int | None, int | None] | None:
    if found := _FRACTION.fullmatch(said):
        return (int(found[1]), 0) if found[2] == "12" else (0, int(found[1]))
    if not (found := _SPAN.fullmatch(said)):
        return None
    count, unit = int(found[1]), found[2][0]
    return (0, count) if unit == "w" else (count * (12 if unit == "y" else 1), 0)

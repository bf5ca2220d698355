"""Reminders out of `shared/recall.toml`: what is sent when, and whose turn it is in the end."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from datetime import time
from itertools import pairwise
from types import MappingProxyType
from typing import Annotated, get_args

from pydantic import BaseModel, ConfigDict, Field

from aftercare.errors import BadContent
from aftercare.library.settings import Text, Weekday, line_of, load
from aftercare.model import Channel, Fact, Moment
from aftercare.recall.hours import Hours
from aftercare.recall.routes import Means
from aftercare.recall.steps import OTHER, ReminderPlan, Step

PLACE = "shared/recall.toml"
_WEEKDAYS: tuple[str, ...] = get_args(Weekday)
# Read elsewhere; a table with any other name is a slip of the pen.
_OTHERS = frozenset({"catch_up", "skills", "risk", "retention"})
_ASKS = frozenset({Moment.INVITE, Moment.UNBOOKED, Moment.OVERDUE})
_TELLS = (Moment.BOOKED, Moment.CHANGED, Moment.CANCELLED, Moment.MISSED)
_DAY = Annotated[int, Field(ge=-366, le=732)]
_Name = Annotated[str, Field(pattern=r"^[a-z][a-z0-9]*(-[a-z0-9]+)*$", max_length=40)]
_Clock = Annotated[str, Field(pattern=r"^([01][0-9]|2[0-3]):[0-5][0-9]$")]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class _Reminders(_Strict):
    desk: Text
    answer_days: Annotated[int, Field(ge=1, le=90)]
    late_days: Annotated[int, Field(ge=0, le=60)]
    gap_days: Annotated[int, Field(ge=1, le=90)]
    household_a_day: Annotated[int, Field(ge=1, le=9)]
    opens: Annotated[_Clock, Field(alias="from")]
    closes: Annotated[_Clock, Field(alias="to")]
    quiet_days: Annotated[list[Weekday], Field(max_length=6)] = []


class _Step(_Strict):
    name: _Name
    days: _DAY
    until: _DAY | None = None
    moment: Annotated[Moment, Field(strict=False)] | None = None
    channels: list[Annotated[Channel, Field(strict=False)]] = []
    by: list[Annotated[Means, Field(strict=False)]] = []
    source: Text


_Steps = Annotated[list[_Step], Field(min_length=1)]


class _Tables(BaseModel):
    model_config = ConfigDict(extra="allow", strict=True)

    reminders: _Reminders
    sequence: dict[str, _Steps]
    appointment: _Steps
    event: _Steps


def parse_reminder_plan(raw: bytes, conditions: Collection[Fact]) -> ReminderPlan:
    """What the clinic has decided on reminders; ``conditions`` are facts a sequence may be for.

    Nothing about a patient but the condition they come back for can choose a sequence. Raises
    ``BadContent`` with the line of the first thing wrong.
    """
    found = load(PLACE, raw, _Tables)
    for loc, problem, remedy in _faults(found, conditions):
        raise BadContent(f"{PLACE}:{_line(raw, loc)}", problem, remedy)
    said = found.reminders
    return ReminderPlan(
        **said.model_dump(include={"desk", "answer_days", "late_days", "gap_days"}),
        household_a_day=said.household_a_day,
        hours=Hours(
            time.fromisoformat(said.opens),
            time.fromisoformat(said.closes),
            frozenset(_WEEKDAYS.index(day) for day in said.quiet_days),
        ),
        sequences=MappingProxyType(
            {_fact(name): tuple(map(_step, steps)) for name, steps in found.sequence.items()}
        ),
        appointment=tuple(map(_step, found.appointment)),
        events=MappingProxyType({one.moment: _step(one) for one in found.event if one.moment}),
    )


def _fact(name: str) -> Fact:
    return name if name == OTHER else f"condition:{name}"


def _step(one: _Step) -> Step:
    return Step(
        name=one.name,
        days=one.days,
        moment=one.moment,
        until=one.until,
        channels=tuple(one.channels),
        by=tuple(one.by),
        source=one.source,
    )


# --- what a schema cannot say -----------------------------------------------------------------

# Where: a path of keys and numbers; the problem; what to do.
_Loc = tuple[str | int, ...]
_Fault = tuple[_Loc, str, str]


def _faults(found: _Tables, conditions: Collection[Fact]) -> Iterator[_Fault]:
    for name in sorted(found.model_extra or {}):
        if name not in _OTHERS:
            yield (name,), f"nothing reads [{name[:40]}]", "mend the spelling or remove it"
    said = found.reminders
    if said.opens >= said.closes:
        yield ("reminders", "to"), "'to' must be later than 'from'", "mend one of them"
    yield from _of_sequences(found, conditions)
    yield from _of_messages(("appointment",), found.appointment, (Moment.BEFORE,))
    yield from _of_messages(("event",), found.event, _TELLS)
    told = [one.moment for one in found.event]
    for moment in _TELLS:
        if told.count(moment) != 1:
            yield ("event",), f"{told.count(moment)} steps for '{moment}'", "write exactly one"
    names = [one.name for one in (*found.appointment, *found.event)]
    for table in ("appointment", "event"):
        for number, one in enumerate(getattr(found, table)):
            if names.count(one.name) > 1:
                yield (table, number), f"the name '{one.name}' stands twice", "rename one"


def _of_sequences(found: _Tables, conditions: Collection[Fact]) -> Iterator[_Fault]:
    if OTHER not in found.sequence:
        yield ("sequence",), f"no [[sequence.{OTHER}]]", "say what happens to all without their own"
    taken = {one.name for one in (*found.appointment, *found.event)}
    for name, steps in found.sequence.items():
        if _fact(name) not in {*conditions, OTHER}:
            yield (
                ("sequence", name), f"no condition '{name[:40]}'",
                "a sequence is for a condition of shared/facts.toml, and for nothing else",
            )  # fmt: skip
        where: _Loc = ("sequence", name)
        *messages, last = steps
        if not last.by:
            yield (
                (*where, len(messages)), f"[[sequence.{name}]] ends with a message",
                "let the last step be by a person, so that nobody is lost",
            )  # fmt: skip
        yield from _of_person((*where, len(messages)), last)
        yield from _of_messages(where, messages, tuple(_ASKS))
        for number, one in enumerate(steps):
            if one.name in taken or [step.name for step in steps].count(one.name) > 1:
                yield (*where, number), f"the name '{one.name}' stands twice", "rename one"
        for number, (before, after) in enumerate(pairwise(steps), 1):
            if before.days >= after.days:
                yield (*where, number), f"'{after.name}' is not after '{before.name}'", "sort them"


def _of_person(where: _Loc, step: _Step) -> Iterator[_Fault]:
    if step.by == [Means.PHONE]:
        yield (
            where, f"'{step.name}' reaches nobody who cannot phone",
            "add letter, text or email to 'by'",
        )  # fmt: skip
    if step.by and (step.moment or step.channels or step.until is not None):
        yield where, f"'{step.name}' is by a person and a message too", "make it two steps"


def _of_messages(
    where: _Loc, steps: Sequence[_Step], moments: Collection[Moment]
) -> Iterator[_Fault]:
    for number, one in enumerate(steps):
        at = (*where, number)
        if one.moment not in moments:
            yield at, f"'{one.name}' has no moment of {', '.join(sorted(moments))}", "give it one"
        if not one.channels or len(set(one.channels)) != len(one.channels):
            yield at, f"'{one.name}' needs channels, each once", "write sms, email or print"
        if one.by:
            yield at, f"'{one.name}' is by a person in the middle", "only a last step is"
        if one.until is not None and one.until < one.days:
            yield at, f"'{one.name}' is over before its day", "let 'until' be 'days' or later"
        yield from _of_words(at, one)


def _of_words(at: _Loc, one: _Step) -> Iterator[_Fault]:
    """The words of a message must be true on every day it may be written."""
    if one.moment in (Moment.INVITE, Moment.UNBOOKED, Moment.BEFORE) and (
        one.until is None or one.until > 0
    ):
        yield at, f"'{one.name}' speaks of a day to come", "give it an 'until' of 0 or less"
    if one.moment is Moment.OVERDUE and one.days < 1:
        yield at, f"'{one.name}' speaks of a day gone by", "let 'days' be 1 or more"
    if one.moment in _TELLS and one.days < 0:
        yield at, f"'{one.name}' comes before what it tells", "let 'days' be 0 or more"


def _line(raw: bytes, loc: _Loc) -> int:
    """The line of a step: the head of its table, counted from the first of that name."""
    *path, number = loc
    if not isinstance(number, int):
        return line_of(raw, loc)
    head = f"[[{'.'.join(str(step) for step in path)}]]"
    lines = raw.decode("utf-8", "replace").splitlines()
    at = [n for n, line in enumerate(lines, 1) if line.replace(" ", "").startswith(head)]
    return at[number] if number < len(at) else 1

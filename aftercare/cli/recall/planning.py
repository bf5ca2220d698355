"""One catch-up from files and register to a folder with the plan, its page and its chart."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from contextlib import closing
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from aftercare.cli import DONE, FOUND, say_json
from aftercare.cli.bootstrap import Desk, open_desk
from aftercare.cli.recall.chart import chart, draw
from aftercare.cli.recall.plan_page import page, screen
from aftercare.cli.recall.plan_table import as_dict, as_table
from aftercare.edges.clinics import parse_clinics
from aftercare.edges.days import read_day
from aftercare.edges.folder import read_input, write_folder
from aftercare.edges.risks import PLACE, parse_risks
from aftercare.edges.table import TABLE_BYTES
from aftercare.edges.waiting import parse_plan, parse_waiting
from aftercare.errors import BadContent, BadInput
from aftercare.model import Fact
from aftercare.recall.catch_up import (
    LEAST_LOSS,
    Answer,
    Earlier,
    LeftOut,
    Listed,
    answer,
    day_after,
    due_by,
    from_register,
    in_reach,
    to_plan,
    with_earlier,
)
from aftercare.recall.risk import RiskOrder
from aftercare.word.formats import first_weekday

PLAN, TABLE, CHART, PAGE = "plan.json", "plan.csv", "backlog.svg", "catch-up.html"


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What was asked for, as it was written."""

    capacity: Path
    patients: Path | None
    previous: Path | None
    start: str | None
    due_by: str | None
    out: Path
    seconds: float
    home: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """The answer, and what is worth a person's look beside it."""

    answer: Answer
    left_out: tuple[LeftOut, ...]
    notes: tuple[str, ...]

    @property
    def clean(self) -> bool:
        """Whether everybody has a place in time, and nobody who was told is moved."""
        now = self.answer.measures[LEAST_LOSS]
        return not (now.without_place or now.past_limit or self.answer.told_and_moved)


def plan_catch_up(asked: Asked, *, as_json: bool) -> int:
    """Plan, write the folder, and show it. 1 when somebody needs a person's look."""
    desk = open_desk(asked.home)
    outcome = _outcome(asked, desk)
    found = as_dict(outcome.answer, outcome.left_out, outcome.notes)
    picture = draw(chart(outcome.answer.backlogs))
    files = {
        PLAN: json.dumps(found, indent=1) + "\n",
        TABLE: as_table(outcome.answer),
        CHART: picture,
        PAGE: page(outcome.answer, outcome.left_out, outcome.notes, picture, desk.library.clinic),
    }
    contents = {name: text.encode() for name, text in files.items()}
    write_folder(asked.out, contents, ours=set(files))
    if as_json:
        say_json(found)
    else:
        print("\n".join(screen(outcome.answer, outcome.left_out, outcome.notes)))
        print(f"\nWritten to {asked.out}: {', '.join(files)}")
    return DONE if outcome.clean else FOUND


def _outcome(asked: Asked, desk: Desk) -> Outcome:
    start = _day("--from", asked.start) or desk.today
    until = _day("--due-by", asked.due_by) or start
    risks = _risks(desk)
    raw = read_input(asked.capacity, TABLE_BYTES)
    clinics = parse_clinics(str(asked.capacity), raw, desk.library.clinic, risks.skills, start)
    earlier = _earlier(asked.previous)
    listed, left_out = _listed(asked, desk, risks, start, until, earlier)
    everybody = with_earlier(to_plan(listed, risks), earlier)
    near, far = in_reach(everybody, start, day_after(clinics.openings))
    people, later = due_by(near, until)
    found = answer(
        people,
        clinics.openings,
        risks,
        start=start,
        first_weekday=first_weekday(desk.library.clinic.territory),
        seconds=asked.seconds,
    )
    gone = len(earlier.keys() - {one.ref for one in everybody})
    notes = (*clinics.notes, *_notes(found, gone))
    return Outcome(answer=found, left_out=(*left_out, *far, *later), notes=notes)


def _notes(found: Answer, gone: int) -> Iterator[str]:
    if gone:
        yield f"{gone:,} of the earlier plan do not wait any more"
    if found.kept_waiting:
        yield (
            f"{len(found.kept_waiting):,} past their hard limit before the first clinic have no "
            "place, and people are seen before them who would else pass theirs: more clinics are "
            f'needed, or a clinician decides on limits = "weighed" in {PLACE}'
        )


def _day(option: str, words: str | None) -> date | None:
    if words is None:
        return None
    try:
        return read_day(words)
    except ValueError as error:
        raise BadInput(option, str(error), "write it like 2026-11-24") from None


def _conditions(desk: Desk) -> frozenset[Fact]:
    values = desk.library.facts["condition"].values
    return frozenset(f"condition:{name}" for name in values)


def _risks(desk: Desk) -> RiskOrder:
    if PLACE not in desk.files:
        raise BadContent(PLACE, "the file is missing", "'aftercare init' writes a complete folder")
    return parse_risks(desk.files[PLACE], _conditions(desk))


def _listed(
    asked: Asked,
    desk: Desk,
    risks: RiskOrder,
    start: date,
    until: date,
    earlier: Mapping[str, Earlier],
) -> tuple[tuple[Listed, ...], tuple[LeftOut, ...]]:
    if asked.patients is not None:
        raw = read_input(asked.patients, TABLE_BYTES)
        return parse_waiting(str(asked.patients), raw, _conditions(desk), start), ()
    # The database library is loaded only where a register is opened.
    from aftercare.cli.bootstrap import open_register

    with closing(open_register(asked.home)) as register:
        return from_register(
            register.open_recalls(), risks, start=start, until=until, earlier=earlier
        )


def _earlier(previous: Path | None) -> Mapping[str, Earlier]:
    if previous is None:
        return {}
    return parse_plan(str(previous), read_input(previous, TABLE_BYTES))

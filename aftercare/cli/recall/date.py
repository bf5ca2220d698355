"""``aftercare recall date``: the arithmetic of dates alone, without a clinic's folder."""

from __future__ import annotations

import re
from datetime import date, datetime, time, timedelta
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from aftercare.errors import BadInput
    from aftercare.recall.working_days import Closed

_DAY, _TIME = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}"), re.compile(r"[0-9]{2}:[0-9]{2}")


class Roll(StrEnum):
    """What becomes of a day that is closed."""

    NEXT = "next"
    PREVIOUS = "previous"
    NONE = "none"


class Fold(StrEnum):
    """Which of two moments that a clock shows alike."""

    FIRST = "first"
    SECOND = "second"


def date_(
    start: Annotated[str, typer.Option("--from", metavar="DATE", help="The day to count from.")],
    months: Annotated[
        int | None,
        typer.Option(
            "--months", metavar="N", help="Months on; the last day of a month that is too short."
        ),
    ] = None,
    weeks: Annotated[int | None, typer.Option("--weeks", metavar="N", help="Weeks on.")] = None,
    days: Annotated[int | None, typer.Option("--days", metavar="N", help="Days on.")] = None,
    working_days: Annotated[
        int | None,
        typer.Option(
            "--working-days",
            metavar="N",
            help="Days on that are no Saturday, no Sunday and no bank holiday of --region.",
        ),
    ] = None,
    roll: Annotated[
        Roll,
        typer.Option(
            "--roll", help="Move a closed day to the next or the previous open one, or leave it."
        ),
    ] = Roll.NONE,
    region: Annotated[
        str | None,
        typer.Option(
            "--region",
            metavar="GB-ENG",
            help="Whose bank holidays are closed days too; none are when it is left out.",
        ),
    ] = None,
    at: Annotated[
        str | None,
        typer.Option("--at", metavar="HH:MM", help="A time on that day, to be told in UTC."),
    ] = None,
    zone: Annotated[
        str | None,
        typer.Option("--zone", metavar="Europe/London", help="Whose clocks show that time."),
    ] = None,
    fold: Annotated[
        Fold | None,
        typer.Option("--fold", help="Which one is meant when that time comes twice."),
    ] = None,
    as_json: Annotated[
        bool, typer.Option("--json", help="Answer in JSON on standard output.")
    ] = False,
) -> None:
    """Count on from a day, or back with a negative number, and say which day that is.

    Exactly one of --months, --weeks, --days and --working-days is given. Nothing of a clinic is
    read: `aftercare recall due` knows its calendar. A time that no clock shows on that day is
    refused, and one that comes twice is asked.
    """
    from aftercare.recall.working_days import Roll as Rolling
    from aftercare.recall.working_days import closed_in, rolled

    counts = {"months": months, "weeks": weeks, "days": days, "working-days": working_days}
    unit, number = _only_one(counts)
    closed = closed_in(region)
    target = _counted(_day("--from", start), unit, number, closed)
    found, because = rolled(target, Rolling(roll), closed)
    moment = _moment(found, at, zone, fold)
    _say(found, moment, because, as_json=as_json)
    _warn(found, because, closed)


def _only_one(counts: dict[str, int | None]) -> tuple[str, int]:
    from aftercare.errors import BadInput

    given = [(unit, number) for unit, number in counts.items() if number is not None]
    if len(given) != 1:
        said = "nothing to count" if not given else f"{len(given)} things to count"
        raise BadInput(
            "recall date", said, f"give one of {', '.join(f'--{one}' for one in counts)}"
        )
    return given[0]


def _day(option: str, words: str) -> date:
    from aftercare.errors import BadInput

    try:
        if not _DAY.fullmatch(words):
            raise ValueError
        return date.fromisoformat(words)
    except ValueError:
        said = "no such day" if _DAY.fullmatch(words) else "not a day"
        raise BadInput(option, f"'{words[:40]}' is {said}", "write it like 2026-11-24") from None


def _counted(start: date, unit: str, number: int, closed: Closed) -> date:
    from aftercare.recall.dates import add_months
    from aftercare.recall.working_days import working_day

    try:
        if unit == "working-days":
            return working_day(start, number, closed)
        if unit == "months":
            return add_months(start, number)
        return start + timedelta(**{unit: number})
    except (OverflowError, ValueError):
        raise _beyond(unit) from None


def _beyond(unit: str) -> BadInput:
    from aftercare.errors import BadInput

    return BadInput(f"--{unit}", "beyond the ends of the calendar, years 1 to 9999", "count less")


def _moment(day: date, at: str | None, zone: str | None, fold: Fold | None) -> datetime | None:
    from aftercare.errors import BadInput
    from aftercare.recall import moments

    if at is None and zone is None and fold is None:
        return None
    if at is None or zone is None:
        lacking = "--at" if at is None else "--zone"
        raise BadInput(lacking, "a time needs both --at and --zone", f"add {lacking}")
    try:
        if not _TIME.fullmatch(at):
            raise ValueError
        shown = time.fromisoformat(at)
    except ValueError:
        raise BadInput("--at", f"'{at[:20]}' is not a time", "write it like 09:30") from None
    which = None if fold is None else moments.Fold[fold.name]
    try:
        return moments.utc_of(day, shown, zone, fold=which)
    except BadInput as refused:
        option = {"time": "--at", "zone": "--zone"}.get(refused.place, refused.place)
        remedy = refused.remedy
        if remedy.startswith("say which"):
            remedy = "add --fold first or --fold second"
        raise BadInput(option, refused.problem, remedy) from None


def _say(day: date, moment: datetime | None, because: str | None, *, as_json: bool) -> None:
    from aftercare.cli import say_json

    utc = None if moment is None else f"{moment:%Y-%m-%dT%H:%M:%SZ}"
    if as_json:
        say_json({"date": day.isoformat(), "utc": utc, "moved_because": because})
        return
    print(f"{day} {_weekday(day)}")
    if utc is not None:
        print(f"in UTC: {utc}")
    if because is not None:
        print(f"moved: {because}")


def _weekday(day: date) -> str:
    from aftercare.recall.dates import WEEKDAYS

    return WEEKDAYS[day.weekday()]


def _warn(day: date, because: str | None, closed: Closed) -> None:
    """A closed day that nobody asked to move is worth a word."""
    from aftercare.cli import tell

    why = closed(day) if because is None else None
    if why is not None:
        tell(f"note: {why}; --roll next or --roll previous moves it")

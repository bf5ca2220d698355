"""What is decided of a visit: ``aftercare recall book``, ``call-off``, ``missed`` and ``told``."""

from __future__ import annotations

import re
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated

import typer

from aftercare.cli.recall.date import Fold
from aftercare.cli.recall.deciding import (
    Because,
    By,
    Condition,
    Decide,
    Refs,
    carry_out,
    read_condition,
    read_words,
)
from aftercare.cli.recall.options import AsJson, Home

if TYPE_CHECKING:
    from datetime import date, datetime, time

    from aftercare.cli.bootstrap import RecallDesk
    from aftercare.recall.booking import Decision

_AT = re.compile(r"([0-9]{4}-[0-9]{2}-[0-9]{2})T([0-9]{2}:[0-9]{2})")


class Whose(StrEnum):
    """Whose wish it is."""

    CLINIC = "clinic"
    PATIENT = "patient"


Wished = Annotated[
    Whose,
    typer.Option(
        "--wish", help="Whose wish it is. Of the clinic's own the patient is told that it had to."
    ),
]
Known = Annotated[
    bool, typer.Option("--told", help="The patient knows already: no message tells them.")
]


def book(
    ref: Annotated[str, typer.Argument(metavar="REF", help="The clinic's reference.")],
    at: Annotated[
        str,
        typer.Option(
            "--at", metavar="YYYY-MM-DDTHH:MM", help="When, as the clinic's clocks show it."
        ),
    ],
    by: By,
    wish: Wished = Whose.CLINIC,
    told: Known = False,
    condition: Condition = None,
    because: Because = None,
    fold: Annotated[
        Fold | None,
        typer.Option("--fold", help="Which one is meant when that time comes twice."),
    ] = None,
    as_json: AsJson = False,
    home: Home = None,
) -> None:
    """Book a visit for a patient, or move the one that is booked.

    The next 'recall write' tells the patient, with a calendar file by e-mail, and reminds them
    before it. A recall that waited on somebody is followed by messages again, unless the patient
    may not be written to: then it waits on a named person, who tells them. Refused are times that
    are past or do not exist, days the clinic is closed, and moving a visit that is over. Past the
    hard limit of the condition --because is asked for.
    """
    from aftercare.recall.booking import Book, Wish

    def decide(desk: RecallDesk) -> Decide:
        asked = _asked(desk, by, condition, because)
        moment = _moment(at, fold, desk, asked)
        wished = Wish(wish.value)
        return Book(asked=asked, at=moment, wish=wished, told=told, risks=desk.risks).decide

    carry_out(home, [ref], by, decide, as_json=as_json)


def call_off(
    refs: Refs,
    by: By,
    wish: Wished = Whose.CLINIC,
    told: Known = False,
    condition: Condition = None,
    because: Because = None,
    as_json: AsJson = False,
    home: Home = None,
) -> None:
    """Call visits off, and leave the patients without one for now.

    When it is the clinic's wish, the next 'recall write' tells them and takes the visit out of
    their calendar; the day after, the recall is the desk's, to offer a new time. Whoever called
    it off themselves is reminded as before it was booked. Where no e-mail will tell a patient who
    has the visit in their calendar from one, a file that takes it out is written to out/calendar,
    to be sent with the clinic's answer.
    """
    from aftercare.recall.booking import CallOff, Wish

    def decide(desk: RecallDesk) -> Decide:
        asked = _asked(desk, by, condition, because)
        return CallOff(asked=asked, wish=Wish(wish.value), told=told).decide

    carry_out(home, refs, by, decide, as_json=as_json)


def missed(
    refs: Refs,
    by: By,
    condition: Condition = None,
    because: Because = None,
    as_json: AsJson = False,
    home: Home = None,
) -> None:
    """The patients did not come to the visit that was booked.

    The next 'recall write' asks them, without blame, to find a new time; when they do not
    answer, the recall is the desk's. Whoever came: 'recall done --seen'.
    """
    from aftercare.recall.booking import Missed

    def decide(desk: RecallDesk) -> Decide:
        return Missed(asked=_asked(desk, by, condition, because)).decide

    carry_out(home, refs, by, decide, as_json=as_json)


def told(
    refs: Refs,
    by: By,
    condition: Condition = None,
    because: Because = None,
    as_json: AsJson = False,
    home: Home = None,
) -> None:
    """Somebody has told the patients what became of their visit, where no message could."""
    from aftercare.recall.booking import Told

    def decide(desk: RecallDesk) -> Decide:
        return Told(asked=_asked(desk, by, condition, because)).decide

    carry_out(home, refs, by, decide, as_json=as_json)


def _asked(desk: RecallDesk, by: str, condition: str | None, because: str | None) -> Decision:
    from aftercare.cli.bootstrap import moment
    from aftercare.recall.booking import Decision

    return Decision(
        by=read_words("--by", by) or "",
        now=moment(),
        zone=desk.clinic.timezone,
        condition=read_condition(condition, desk),
        because=read_words("--because", because),
    )


def _moment(at: str, fold: Fold | None, desk: RecallDesk, asked: Decision) -> datetime:
    """The moment somebody named, if there is one and the clinic is open. Raises ``BadInput``."""
    from datetime import date, time

    from aftercare.errors import BadInput
    from aftercare.recall.moments import from_utc

    found = _AT.fullmatch(at)
    try:
        if found is None:
            raise ValueError
        day, clock = date.fromisoformat(found[1]), time.fromisoformat(found[2])
    except ValueError:
        raise BadInput(
            "--at", f"'{at[:40]}' is no day and time there is", "write it like 2026-11-24T09:30"
        ) from None
    moment = from_utc(_utc(day, clock, fold, desk), desk.clinic.timezone)
    if moment <= asked.now:
        shown = asked.shown(asked.now)
        raise BadInput("--at", f"{at} is past: it is {shown}", "name a later time")
    _check_open(day, desk)
    return moment


def _utc(day: date, clock: time, fold: Fold | None, desk: RecallDesk) -> datetime:
    from aftercare.errors import BadInput
    from aftercare.recall import moments

    which = None if fold is None else moments.Fold[fold.name]
    try:
        return moments.utc_of(day, clock, desk.clinic.timezone, fold=which)
    except BadInput as refused:
        remedy = refused.remedy
        if remedy.startswith("say which"):
            remedy = "add --fold first or --fold second"
        raise BadInput("--at", refused.problem, remedy) from None


def _check_open(day: date, desk: RecallDesk) -> None:
    from aftercare.errors import BadInput
    from aftercare.recall.dates import closure

    why = closure(day, desk.clinic)
    if why is not None:
        raise BadInput("--at", f"{why}", "name another day, or open it in shared/clinic.toml")

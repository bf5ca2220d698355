"""What people decide on the list: put off, done, moved away, died, opted out and in."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Annotated

import typer

from aftercare.cli.recall.deciding import (
    Because,
    By,
    Condition,
    Decide,
    Refs,
    carry_out,
    read_condition,
    read_day,
    read_words,
    who,
)
from aftercare.cli.recall.options import AsJson, Home
from aftercare.model import Channel

if TYPE_CHECKING:
    from datetime import date

    from aftercare.cli.bootstrap import RecallDesk
    from aftercare.model import Interval
    from aftercare.recall.people import What

Channels = Annotated[
    list[Channel] | None,
    typer.Option("--channel", help="This channel; may be repeated. Else all of them."),
]
Topics = Annotated[
    list[str] | None,
    typer.Option(
        "--topic", help="recall or appointment; may be repeated. Else both.", metavar="TOPIC"
    ),
]


def snooze(
    refs: Refs,
    until: Annotated[str, typer.Option("--until", metavar="DATE", help="Not before this day.")],
    by: By,
    because: Because = None,
    as_json: AsJson = False,
    home: Home = None,
) -> None:
    """Put recalls off: due on the first open day from --until on, and reminded anew.

    A recall that waited on somebody is scheduled again. Past the hard limit of the condition, or
    when a visit is booked, a reason is asked for. The limit is counted from what was agreed, so
    putting off again and again does not move it.
    """
    from aftercare.errors import BadInput
    from aftercare.recall.decide import PutOff

    def decide(desk: RecallDesk) -> Decide:
        day = read_day("--until", until)
        if day <= desk.today:
            raise BadInput("--until", f"{day} is not after today, {desk.today}", "name a later day")
        days = desk.planner.days
        why = read_words("--because", because)
        return PutOff(until=day, because=why, risks=desk.risks, days=days, today=desk.today).decide

    carry_out(home, refs, by, decide, as_json=as_json)


def hand_over(
    refs: Refs,
    to: Annotated[str, typer.Option("--to", metavar="NAME", help="On whom the recall waits.")],
    because: Annotated[str, typer.Option("--because", metavar="WHY", help="What is to be done.")],
    by: By,
    condition: Condition = None,
    as_json: AsJson = False,
    home: Home = None,
) -> None:
    """Put recalls on a named person. No reminder goes out by itself until they are put off again,
    are done, or are closed.
    """
    from aftercare.errors import BadInput
    from aftercare.recall.decide import HandOver

    def decide(desk: RecallDesk) -> Decide:
        who, why = read_words("--to", to), read_words("--because", because)
        if who is None or why is None:
            raise BadInput("recall hand-over", "no name or no reason", "say --to and --because")
        return HandOver(to=who, because=why, condition=read_condition(condition, desk)).decide

    carry_out(home, refs, by, decide, as_json=as_json)


def done(
    refs: Refs,
    by: By,
    seen: Annotated[
        str | None, typer.Option("--seen", metavar="DATE", help="The day of the visit.")
    ] = None,
    months: Annotated[
        int | None,
        typer.Option("--months", min=1, max=120, help="The clinician's figure for the next visit."),
    ] = None,
    weeks: Annotated[
        int | None, typer.Option("--weeks", min=1, max=520, help="The same in weeks.")
    ] = None,
    condition: Condition = None,
    waiting_on: Annotated[
        str | None,
        typer.Option(
            "--waiting-on", metavar="NAME", help="Who is to give a figure that is lacking; else "
            "the desk of shared/recall.toml.",
        ),
    ] = None,
    because: Because = None,
    as_json: AsJson = False,
    home: Home = None,
) -> None:  # fmt: skip
    """Close recalls: the patient was seen, or it is over without a visit and --because says why.

    With --seen the next recall is opened where the condition comes back for life ([recall.*] in
    shared/limits.toml), on the clinician's figure; without one it waits on a named person, and
    the same command with --months gives the figure later. A figure outside what is allowed asks
    for --because.
    """
    from aftercare.recall.decide import Over

    def decide(desk: RecallDesk) -> Decide:
        visit = _visit(seen, desk.today)
        why = read_words("--because", because)
        figure = _figure(months, weeks)
        _check_over(visit, why, figure)
        return Over(
            seen=visit,
            because=why,
            figure=figure,
            condition=read_condition(condition, desk),
            asked=read_words("--waiting-on", waiting_on) or desk.planner.plan.desk,
            by=by,
            today=desk.today,
            clinic=desk.clinic,
            months=desk.months,
        ).decide

    carry_out(home, refs, by, decide, as_json=as_json)


def moved(
    refs: Refs, by: By, because: Because = None, as_json: AsJson = False, home: Home = None
) -> None:
    """The patient has moved away: close everything open, and write to them no more."""
    from aftercare.recall.decide import MOVED
    from aftercare.recall.people import What

    carry_out(home, refs, by, _gone(What.MOVED, MOVED, because), as_json=as_json)


def deceased(
    refs: Refs, by: By, because: Because = None, as_json: AsJson = False, home: Home = None
) -> None:
    """The patient has died: close everything open, and write to nobody in their name."""
    from aftercare.recall.decide import DIED
    from aftercare.recall.people import What

    carry_out(home, refs, by, _gone(What.DECEASED, DIED, because), as_json=as_json)


def still_here(
    refs: Refs,
    because: Annotated[
        str, typer.Option("--because", metavar="WHY", help="How it is known, kept with the recall.")
    ],
    by: By,
    as_json: AsJson = False,
    home: Home = None,
) -> None:
    """Take back that a patient has died or moved away: it was said of the wrong one, or they came
    back. What was closed by it waits on who says so, and no message goes out before they have
    decided; whoever had not agreed to messages stays silent.
    """
    from aftercare.errors import BadInput
    from aftercare.recall.still_here import StillHere

    def decide(desk: RecallDesk) -> Decide:
        why = read_words("--because", because)
        if why is None:
            raise BadInput("--because", "no reason", "say how it is known")
        return StillHere(because=why, by=who(by), today=desk.today).decide

    carry_out(home, refs, by, decide, as_json=as_json)


def _gone(what: What, reason: str, because: str | None) -> Callable[[RecallDesk], Decide]:
    from aftercare.recall.decide import Gone

    why = read_words("--because", because)
    return lambda desk: Gone(what=what, reason=reason, because=why, today=desk.today).decide


def opt_out(
    refs: Refs,
    by: By,
    topic: Topics = None,
    channel: Channels = None,
    as_json: AsJson = False,
    home: Home = None,
) -> None:
    """The patient wants no messages, of these topics by these channels.

    The recall stays open: who can be written to by no channel is a person's turn at once.
    """
    from aftercare.recall.decide import OptOut

    wanted = OptOut(topics=_topics(topic), channels=tuple(dict.fromkeys(channel or Channel)))
    carry_out(home, refs, by, lambda desk: wanted.decide, as_json=as_json)


def opt_in(
    refs: Refs,
    by: By,
    topic: Topics = None,
    channel: Channels = None,
    consent: Annotated[
        str | None,
        typer.Option(
            "--consent", metavar="HOW", help="How and when the patient agreed to each --channel; "
            "kept with --by.",
        ),
    ] = None,
    as_json: AsJson = False,
    home: Home = None,
) -> None:  # fmt: skip
    """The patient wants messages again. Consent to a channel is given by --consent alone.

    Whoever was silent for want of consent, and for nothing else, may then be written to, and what
    waited for that is scheduled again. A list that has no consent does not take it back, one that
    says it was withdrawn does.
    """
    from aftercare.errors import BadInput
    from aftercare.recall.decide import Consent, OptIn

    how, topics = read_words("--consent", consent), _topics(topic)
    channels = tuple(dict.fromkeys(channel or Channel))
    if how is None:
        wanted = OptIn(topics=topics, channels=channels)
        carry_out(home, refs, by, lambda desk: wanted.decide, as_json=as_json)
        return
    if not channel:
        raise BadInput("--consent", "to what is not said", "add --channel, once for each")

    def decide(desk: RecallDesk) -> Decide:
        who = read_words("--by", by) or ""
        return Consent(topics=topics, channels=channels, how=how, by=who, today=desk.today).decide

    carry_out(home, refs, by, decide, as_json=as_json)


# --- reading what was asked -------------------------------------------------------------


def _visit(seen: str | None, today: date) -> date | None:
    from aftercare.errors import BadInput

    if seen is None:
        return None
    day = read_day("--seen", seen)
    if day > today:
        raise BadInput("--seen", f"{day} is after today, {today}", "say the day of the visit")
    return day


def _figure(months: int | None, weeks: int | None) -> Interval | None:
    from aftercare.model import Interval

    if months is None and weeks is None:
        return None
    return Interval(months=months or 0, weeks=weeks or 0)


def _check_over(seen: date | None, because: str | None, figure: Interval | None) -> None:
    from aftercare.errors import BadInput

    if seen is None and because is None:
        raise BadInput("recall done", "neither a visit nor a reason", "say --seen or --because")
    if seen is None and figure is not None:
        raise BadInput("--months", "a next visit is counted from one", "say --seen too")


def _topics(topics: list[str] | None) -> tuple[str, ...]:
    from aftercare.errors import BadInput
    from aftercare.recall.steps import APPOINTMENT, RECALL

    for one in topics or ():
        if one not in (RECALL, APPOINTMENT):
            raise BadInput("--topic", f"no topic '{one[:40]}'", f"{RECALL} or {APPOINTMENT}")
    return tuple(dict.fromkeys(topics or (RECALL, APPOINTMENT)))

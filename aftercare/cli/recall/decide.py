"""What people decide on the list: put off, done, moved away, died, opted out and in."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from aftercare.cli.recall.options import AsJson, Home
from aftercare.model import Channel

if TYPE_CHECKING:
    from datetime import date

    from aftercare.cli.bootstrap import RecallDesk
    from aftercare.model import Fact, Interval
    from aftercare.recall.decide import Decided, Known

Refs = Annotated[
    list[str],
    typer.Argument(metavar="REF...", help="The clinic's references; all of them or none."),
]
By = Annotated[str, typer.Option("--by", metavar="NAME", help="Who decides.")]
Because = Annotated[
    str | None, typer.Option("--because", metavar="WHY", help="The reason, kept with the recall.")
]
Condition = Annotated[
    str | None,
    typer.Option("--condition", metavar="NAME", help="Only recalls for this condition."),
]
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
Decide = Callable[["Known"], "Decided"]
_LONGEST = 200


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
        day = _day("--until", until)
        if day <= desk.today:
            raise BadInput("--until", f"{day} is not after today, {desk.today}", "name a later day")
        days = desk.planner.days
        why = _words("--because", because)
        return PutOff(until=day, because=why, risks=desk.risks, days=days).decide

    _carry_out(home, refs, by, decide, as_json=as_json)


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
        who, why = _words("--to", to), _words("--because", because)
        if who is None or why is None:
            raise BadInput("recall hand-over", "no name or no reason", "say --to and --because")
        return HandOver(to=who, because=why, condition=_condition(condition, desk)).decide

    _carry_out(home, refs, by, decide, as_json=as_json)


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
        why = _words("--because", because)
        figure = _figure(months, weeks)
        _check_over(visit, why, figure)
        return Over(
            seen=visit,
            because=why,
            figure=figure,
            condition=_condition(condition, desk),
            asked=_words("--waiting-on", waiting_on) or desk.planner.plan.desk,
            by=by,
            today=desk.today,
            clinic=desk.clinic,
            months=desk.months,
        ).decide

    _carry_out(home, refs, by, decide, as_json=as_json)


def moved(
    refs: Refs, by: By, because: Because = None, as_json: AsJson = False, home: Home = None
) -> None:
    """The patient has moved away: close everything open, and write to them no more."""
    from aftercare.recall.decide import MOVED, Gone
    from aftercare.recall.people import What

    def decide(desk: RecallDesk) -> Decide:
        why = _words("--because", because)
        return Gone(what=What.MOVED, reason=MOVED, because=why, today=desk.today).decide

    _carry_out(home, refs, by, decide, as_json=as_json)


def deceased(
    refs: Refs, by: By, because: Because = None, as_json: AsJson = False, home: Home = None
) -> None:
    """The patient has died: close everything open, and write to nobody in their name."""
    from aftercare.recall.decide import DIED, Gone
    from aftercare.recall.people import What

    def decide(desk: RecallDesk) -> Decide:
        why = _words("--because", because)
        return Gone(what=What.DECEASED, reason=DIED, because=why, today=desk.today).decide

    _carry_out(home, refs, by, decide, as_json=as_json)


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
    _carry_out(home, refs, by, lambda desk: wanted.decide, as_json=as_json)


def opt_in(
    refs: Refs,
    by: By,
    topic: Topics = None,
    channel: Channels = None,
    as_json: AsJson = False,
    home: Home = None,
) -> None:
    """The patient wants messages again. Consent to a channel is not given by this."""
    from aftercare.recall.decide import OptIn

    wanted = OptIn(topics=_topics(topic), channels=tuple(dict.fromkeys(channel or Channel)))
    _carry_out(home, refs, by, lambda desk: wanted.decide, as_json=as_json)


# --- one decision on all of them, or on none --------------------------------------------


def _carry_out(
    home: str | None,
    refs: Sequence[str],
    by: str,
    decide: Callable[[RecallDesk], Decide],
    *,
    as_json: bool,
) -> None:
    from contextlib import closing

    from aftercare.cli.bootstrap import moment, open_recall_desk, open_register
    from aftercare.cli.recall.options import nobody
    from aftercare.errors import BadInput
    from aftercare.recall.decide import Known
    from aftercare.recall.people import Deed

    who = _words("--by", by)
    if who is None:
        raise BadInput("--by", "nobody is named", "say who decides")
    desk = open_recall_desk(home)
    settle = decide(desk)
    wanted = tuple(dict.fromkeys(refs))
    with closing(open_register(home)) as register:
        people = {one.ref: one for one in register.people(wanted)}
        missing = [ref for ref in wanted if ref not in people]
        if missing:
            raise nobody(*missing)
        decided = [
            settle(Known(person=people[ref], recalls=register.recalls(ref))) for ref in wanted
        ]
        at = moment()
        changes = [
            (Deed(what=act.what, by=who, at=at, details=act.details), act.swaps)
            for one in decided
            for act in one.acts
        ]
        if changes:
            register.change_all(changes)
    _say(decided, as_json=as_json)


def _say(decided: Sequence[Decided], *, as_json: bool) -> None:
    from aftercare.cli import say_json
    from aftercare.cli.recall.options import wrapped

    if as_json:
        say_json(
            [
                {"ref": one.ref, "did": [act.what.value for act in one.acts], "said": one.said}
                for one in decided
            ]
        )
        return
    for one in decided:
        for said in one.said:
            print(wrapped(f"{one.ref}: {said}", ""))


# --- reading what was asked -------------------------------------------------------------


def _words(option: str, words: str | None) -> str | None:
    """What somebody wrote, on one line. Raises ``BadInput``."""
    from aftercare.errors import BadInput

    if words is None or not words.strip():
        return None
    said = " ".join(words.split())
    if len(said) > _LONGEST or not said.isprintable():
        told = "over 200 characters" if len(said) > _LONGEST else "characters that do not print"
        raise BadInput(option, told, "say it shorter and plainly")
    return said


def _day(option: str, words: str) -> date:
    from aftercare.cli.recall.options import day_of

    day = day_of(option, words)
    assert day is not None  # noqa: S101
    return day


def _visit(seen: str | None, today: date) -> date | None:
    from aftercare.errors import BadInput

    if seen is None:
        return None
    day = _day("--seen", seen)
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


def _condition(name: str | None, desk: RecallDesk) -> Fact | None:
    from aftercare.errors import BadInput

    if name is None:
        return None
    fact = f"condition:{name}"
    if fact not in desk.conditions:
        known = ", ".join(sorted(one.partition(":")[2] for one in desk.conditions))
        raise BadInput("--condition", f"no condition '{name[:40]}'", f"one of {known}")
    return fact


def _topics(topics: list[str] | None) -> tuple[str, ...]:
    from aftercare.errors import BadInput
    from aftercare.recall.steps import APPOINTMENT, RECALL

    for one in topics or ():
        if one not in (RECALL, APPOINTMENT):
            raise BadInput("--topic", f"no topic '{one[:40]}'", f"{RECALL} or {APPOINTMENT}")
    return tuple(dict.fromkeys(topics or (RECALL, APPOINTMENT)))

"""What every decision on the list shares: who is meant, who decides, and all or nothing of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from datetime import date

    from aftercare.cli.bootstrap import RecallDesk
    from aftercare.model import Fact
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
Decide = Callable[["Known"], "Decided"]
_LONGEST = 200


def carry_out(
    home: str | None,
    refs: Sequence[str],
    by: str,
    decide: Callable[[RecallDesk], Decide],
    *,
    as_json: bool,
) -> None:
    """Decide of all of them, or of none, and say what was done. Raises ``BadInput``.

    A visit that is off and of which no e-mail will tell has a calendar file written for it.
    """
    from contextlib import closing

    from aftercare.cli.bootstrap import moment, open_recall_desk, open_register
    from aftercare.cli.recall.calendars import take_out
    from aftercare.cli.recall.options import nobody
    from aftercare.recall.decide import Known
    from aftercare.recall.people import Deed

    name = who(by)
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
            (Deed(what=act.what, by=name, at=at, details=act.details), act.swaps)
            for one in decided
            for act in one.acts
        ]
        if changes:
            register.change_all(changes)
        out = register.place.beside.parent
        files = take_out(out, register, desk, decided, at)
    _say([_with_files(one, files.get(one.ref, ())) for one in decided], as_json=as_json)


def _with_files(decided: Decided, files: Iterable[Path]) -> Decided:
    from dataclasses import replace

    told = (f"in the patient's calendar still: send them {file} by e-mail" for file in files)
    return replace(decided, said=(*decided.said, *told))


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


def who(by: str) -> str:
    """Who decides, by name. Raises ``BadInput`` when nobody is named."""
    from aftercare.errors import BadInput

    name = read_words("--by", by)
    if name is None:
        raise BadInput("--by", "nobody is named", "say who decides")
    return name


def read_words(option: str, words: str | None) -> str | None:
    """What somebody wrote, on one line. Raises ``BadInput``."""
    from aftercare.errors import BadInput

    if words is None or not words.strip():
        return None
    said = " ".join(words.split())
    if len(said) > _LONGEST or not said.isprintable():
        told = "over 200 characters" if len(said) > _LONGEST else "characters that do not print"
        raise BadInput(option, told, "say it shorter and plainly")
    return said


def read_day(option: str, words: str) -> date:
    """The day an option that must be given names. Raises ``BadInput``."""
    from aftercare.cli.recall.options import day_of

    day = day_of(option, words)
    assert day is not None  # noqa: S101
    return day


def read_condition(name: str | None, desk: RecallDesk) -> Fact | None:
    """The condition somebody named. Raises ``BadInput``."""
    from aftercare.errors import BadInput

    if name is None:
        return None
    fact = f"condition:{name}"
    if fact not in desk.conditions:
        known = ", ".join(sorted(one.partition(":")[2] for one in desk.conditions))
        raise BadInput("--condition", f"no condition '{name[:40]}'", f"one of {known}")
    return fact

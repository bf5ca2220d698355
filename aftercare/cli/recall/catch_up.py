"""``aftercare recall catch-up``: whom to call first, with the clinics there are."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def catch_up(
    capacity: Annotated[
        Path,
        typer.Option(
            "--capacity",
            metavar="CLINICS.csv",
            help="The slots there are. Columns: when (2026-12-03, or the week 2026-W49), minutes, "
            "skill, slots (all of them, those given away too) and, if some slots may take "
            "several short visits, shared (yes or no).",
        ),
    ],
    patients: Annotated[
        Path | None,
        typer.Option(
            "--patients",
            metavar="FILE",
            help="Who waits, instead of the register: a table or JSON lines. Columns: ref, due "
            "and, if wanted, condition (joined by + if several), limit (the last day that is not "
            "too late, if due was put off; else counted from due), promised (a day or week they "
            "are booked for) and told (yes or no).",
        ),
    ] = None,
    previous: Annotated[
        Path | None,
        typer.Option(
            "--previous",
            metavar="plan.json",
            help="An earlier plan: as few days as possible change. Who was told a day keeps it "
            "while the slot is there. To change the days of all who were not told, leave this "
            "out and write who was told what into --patients.",
        ),
    ] = None,
    start: Annotated[
        str | None,
        typer.Option("--from", metavar="DATE", help="The first day to plan for; else today."),
    ] = None,
    due_by: Annotated[
        str | None,
        typer.Option(
            "--due-by",
            metavar="DATE",
            help="Plan for who is due by then; else by the first day. Nobody is seen before "
            "they are due.",
        ),
    ] = None,
    out: Annotated[
        Path, typer.Option("--out", metavar="DIR", help="Where the plan and its chart go.")
    ] = Path("out/catch-up"),
    seconds: Annotated[
        float,
        typer.Option(
            "--seconds",
            min=1,
            max=3600,
            help="How long to look for how shared slots are best divided, for each aim.",
        ),
    ] = 15.0,
    home: Annotated[
        str | None, typer.Option("--home", metavar="DIR", help="The clinic's folder.")
    ] = None,
    as_json: Annotated[
        bool, typer.Option("--json", help="Answer in JSON on standard output.")
    ] = False,
) -> None:
    """Plan who is seen when, so that least is lost, with the reason for each place.

    Nobody passes a hard limit that a slot could keep, if there is a plan in which nobody does. If
    there is none, or the clinic has limits weighed, to pass one counts as some weeks past it. Then
    least is kept of, in this order: people told a day and left without any; days past the hard
    limit, of those past it already too; people moved; overdue days. Days count times the weight of
    the condition. Above all that, nobody told a day is moved while the slot is there. A later aim
    never costs an earlier one anything, and where it makes no difference the longer overdue goes
    first. Weights, limits and the rest are in shared/recall.toml, proposals until a clinician has
    decided on each. A slot in a week (ISO 8601, from Monday) counts as its last open day; who has
    no place counts as if seen on the day after the last clinic. Invitations and the backlog are
    told by weeks that begin as they do where the clinic is.

    Nobody is told or booked by this; the plan is for a person to read. Ends with 1 when anybody
    has no place, is past the limit, or was told a day and is moved.
    """
    from aftercare.cli.recall.planning import Asked, plan_catch_up

    asked = Asked(
        capacity=capacity,
        patients=patients,
        previous=previous,
        start=start,
        due_by=due_by,
        out=out,
        seconds=seconds,
        home=home,
    )
    raise typer.Exit(plan_catch_up(asked, as_json=as_json))

"""``aftercare recall due``: the list of a day."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from typing import TYPE_CHECKING, Annotated, Any

import typer

from aftercare.cli.recall.options import AsJson, Home

if TYPE_CHECKING:
    from aftercare.recall.day_list import Called


def due(
    on: Annotated[
        str | None, typer.Option("--on", metavar="DATE", help="The day; else today.")
    ] = None,
    within: Annotated[
        int,
        typer.Option("--within", metavar="N", min=0, max=3660, help="And the N days after it."),
    ] = 0,
    overdue: Annotated[
        bool, typer.Option("--overdue", help="And everybody due before it and still open.")
    ] = False,
    as_json: AsJson = False,
    home: Home = None,
) -> None:
    """Who is due on a day, in the order of risk, with the reason for each place.

    First who is past the hard limit, then whose overdue day counts most, then who has been due
    longest: shared/recall.toml has the figures, proposals until a clinician has decided on each.
    A patient with several recalls comes once. Who waits on somebody is listed too, and how many
    were due before the day is always told.
    """
    from contextlib import closing
    from datetime import timedelta

    from aftercare.cli.bootstrap import open_recall_desk, open_register
    from aftercare.cli.recall.options import day_of
    from aftercare.errors import BadInput
    from aftercare.recall.day_list import day_list

    desk = open_recall_desk(home)
    day = day_of("--on", on) or desk.today
    try:
        last = day + timedelta(days=within)
    except OverflowError:
        raise BadInput("--within", "beyond the last year of the calendar", "ask less") from None
    with closing(open_register(home)) as register:
        found = register.open_due(None if overdue else day, last)
        listed = day_list(found, desk.risks, desk.planner, day)
        before = None if overdue else register.count_open_before(day)
    if as_json:
        _say(listed, day, last, before)
    else:
        print("\n".join(_screen(listed, day, last, before)))


def _say(listed: Sequence[Called], day: date, last: date, before: int | None) -> None:
    from aftercare.cli import say_json

    people = [_row(one, day) for one in listed]
    say_json({"on": f"{day}", "to": f"{last}", "people": people, "due_before": before})


def _row(one: Called, day: date) -> dict[str, Any]:
    return {
        "ref": one.person.ref,
        "name": f"{one.person.first_name} {one.person.last_name}".strip(),
        "mobile": one.person.mobile if one.how else None,
        "due": f"{one.due}",
        "overdue_days": one.overdue(day),
        "limit": f"{one.limit}",
        "past_limit": one.past_limit(day),
        "condition": one.stake.condition,
        "weight": one.stake.weight,
        "why": one.why(day),
        "now": one.now,
        "how": [means.value for means in one.how],
        "recalls": [
            {
                "id": recall.id,
                "condition": recall.condition,
                "due": f"{recall.due}",
                "state": recall.state.value,
                "waiting_on": recall.waiting_on,
                "because": recall.because,
                "booked": recall.booked and recall.booked.isoformat(),
                "told": recall.told,
            }
            for recall in one.recalls
        ],
    }


def _screen(listed: Sequence[Called], day: date, last: date, before: int | None) -> Iterator[str]:
    from aftercare.cli.recall.options import wrapped

    count = f"{len(listed):,} patient{'' if len(listed) == 1 else 's'}"
    yield f"Due {_span(day, last, before)}: {count}"
    for number, one in enumerate(listed, 1):
        name = f"{one.person.first_name} {one.person.last_name}"
        yield wrapped(f"{number:,}. {one.person.ref} {name}", "")
        yield wrapped(one.why(day), "     ")
        by = f"; by {', '.join(means.value for means in one.how)}" if one.how else ""
        phone = f" {one.person.mobile}" if "phone" in one.how else ""
        yield wrapped(f"{one.now}{by}{phone}", "     ")
    if before:
        yield f"Open and due before: {before:,}; '--overdue' lists them too"


def _span(day: date, last: date, before: int | None) -> str:
    if before is None:
        return f"by {last}"
    return f"on {day}" if last == day else f"from {day} to {last}"

"""``aftercare recall report``: how the recalls stand, as numbers, a page and a chart."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from aftercare.cli.recall.options import AsJson, Home

if TYPE_CHECKING:
    from aftercare.model import Clinic
    from aftercare.recall.report import Report, Tally

NUMBERS, PAGE, CHART = "report.json", "report.html", "open.svg"


def report(
    on: Annotated[
        str | None, typer.Option("--on", metavar="DATE", help="Count as of this day; else today.")
    ] = None,
    out: Annotated[
        Path, typer.Option("--out", metavar="DIR", help="Where the page and its chart go.")
    ] = Path("out/report"),
    as_json: AsJson = False,
    home: Home = None,
) -> None:
    """Count how the recalls stand: due, overdue by how long, reached, came, lost; by condition.

    Every patient and every recall is counted once, so that the numbers add up. Lost is whoever
    is past the hard limit of shared/recall.toml with no visit booked. --on moves the day that
    overdue is counted to; the register itself is as it is now. No name is in the report.
    """
    from contextlib import closing

    from aftercare.cli import say_json
    from aftercare.cli.bootstrap import open_recall_desk, open_register
    from aftercare.cli.recall.options import day_of
    from aftercare.cli.recall.standing_chart import draw, picture
    from aftercare.edges.folder import write_folder
    from aftercare.recall.report import report as count

    desk = open_recall_desk(home)
    day = day_of("--on", on) or desk.today
    with closing(open_register(home)) as register:
        found = count(register.courses(), desk.risks, day)
    chart = draw(picture(found))
    files = {
        NUMBERS: json.dumps(as_dict(found), indent=1) + "\n",
        CHART: chart,
        PAGE: page(found, chart, desk.clinic),
    }
    write_folder(out, {name: text.encode() for name, text in files.items()}, ours=set(files))
    if as_json:
        say_json(as_dict(found))
    else:
        print("\n".join(_screen(found)))
        print(f"\nWritten to {out}: {', '.join(files)}")


def as_dict(found: Report) -> dict[str, Any]:
    """The whole report as JSON values."""
    from aftercare.recall.report import Place

    return {
        "on": f"{found.on}",
        "patients": {
            "total": found.patients.total(),
            "places": {place.value: found.patients[place] for place in Place},
        },
        "recalls": _tally(found.everything),
        "conditions": {name: _tally(one) for name, one in found.conditions.items()},
    }


def _tally(one: Tally) -> dict[str, Any]:
    from aftercare.recall.report import DUE, OPEN, Place

    return {
        "total": one.total,
        "open": one.of(OPEN),
        "due": one.of(DUE),
        "came": one.places[Place.CAME],
        "reached": one.reached.total(),
        "lost": one.lost.total(),
        "places": {place.value: one.places[place] for place in Place if place is not Place.NONE},
    }


# --- on a screen ------------------------------------------------------------------------


def _screen(found: Report) -> Iterator[str]:
    from aftercare.recall.report import Place

    yield headline(found)
    yield ""
    for place in Place:
        yield f"  {place.value:34}{found.patients[place]:>10,}"
    yield f"  {'all patients':34}{found.patients.total():>10,}"
    yield ""
    heads = ("recalls", "later", "due", "waiting", "booked", "came", "ended", "reached", "lost")
    yield f"{'':14}" + "".join(f"{one:>{_width(one)}}" for one in heads)
    rows = {**found.conditions, "all": found.everything}
    for name, tally in rows.items():
        cells = zip(heads, _cells(tally), strict=True)
        yield f"{name[:14]:14}" + "".join(f"{count:>{_width(head)}}" for head, count in cells)


def _width(head: str) -> int:
    return 8 if len(head) > 6 else 7


def _cells(one: Tally) -> tuple[int, ...]:
    from aftercare.recall.report import DUE, Place

    at = one.places
    return (
        one.total, at[Place.LATER], one.of(DUE), at[Place.WAITING], at[Place.BOOKED],
        at[Place.CAME], at[Place.ENDED], one.reached.total(), one.lost.total(),
    )  # fmt: skip


def headline(found: Report) -> str:
    """The report in one sentence."""
    from aftercare.recall.report import DUE, OPEN

    whole = found.everything
    return (
        f"On {found.on}: {found.patients.total():,} patients; of {whole.of(OPEN):,} open recalls "
        f"{whole.of(DUE):,} are due,\n{whole.reached.total():,} were reached and "
        f"{whole.lost.total():,} are past the hard limit with no visit booked."
    )


# --- as a page --------------------------------------------------------------------------


def page(found: Report, chart: str, clinic: Clinic) -> str:
    """The report as one HTML page that loads nothing."""
    from jinja2 import Environment, PackageLoader, StrictUndefined
    from markupsafe import Markup

    from aftercare.recall.report import Place

    shelf = Environment(
        loader=PackageLoader("aftercare.cli.recall"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
    )
    columns = {"all": found.everything, **found.conditions}
    return shelf.get_template("report.html.j2").render(
        clinic=clinic.name,
        on=found.on,
        headline=headline(found),
        patients=[(place.value, found.patients[place]) for place in Place],
        all_patients=found.patients.total(),
        names=list(columns),
        places=[
            (place.value, [one.places[place] for one in columns.values()])
            for place in Place
            if place is not Place.NONE
        ],
        totals=[one.total for one in columns.values()],
        among=[
            ("of the open ones, reached", [one.reached.total() for one in columns.values()]),
            ("of the open ones, lost", [one.lost.total() for one in columns.values()]),
        ],
        # Drawn by this package from numbers and its own words; escaped already.
        picture=Markup(chart),  # noqa: S704
    )

"""The chart of a recall report as SVG: which share of the open recalls is where, by condition.

Bars are told apart by place and number, never by colour alone; what is past its hard limit is
hatched, so that it shows on paper too.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from aftercare.recall.report import OPEN, Place, Report, Tally

WIDTH, MARGIN, LABELS, NUMBERS, GAP = 760, 24, 206, 150, 30
ROW, BAR, HEAD = 22, 14, 28
_LONGEST = WIDTH - 2 * MARGIN - LABELS - NUMBERS


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """One place: its words, how long the bar is, and how much of it is past the limit."""

    label: str
    y: int
    length: float
    lost: float
    number: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """One condition's bars under its heading."""

    heading: str
    y: int
    bars: tuple[Bar, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """All that is drawn. ``told`` is the same in words, for who does not see it."""

    width: int
    height: int
    left: int
    title: str
    told: str
    panels: tuple[Panel, ...]
    row: int = ROW
    bar: int = BAR


def picture(found: Report) -> Picture:
    """The bars of everything, and of each condition that has something open."""
    tallies = {"all conditions": found.everything, **found.conditions}
    shown = {name: one for name, one in tallies.items() if one.of(OPEN)}
    # One scale for all, so that a longer bar is a larger share wherever it stands.
    shares = [one.places[place] / one.of(OPEN) for one in shown.values() for place in OPEN]
    scale = _LONGEST / max(shares, default=1)
    panels, y = [], 92
    for name, tally in shown.items():
        panels.append(_panel(name, tally, y, scale))
        y += HEAD + len(OPEN) * ROW + GAP
    return Picture(
        width=WIDTH,
        height=y,
        left=MARGIN + LABELS,
        title=f"Open recalls on {found.on}",
        told=_told(shown, found.on),
        panels=tuple(panels),
    )


def _panel(name: str, tally: Tally, y: int, scale: float) -> Panel:
    whole = tally.of(OPEN)
    bars = tuple(
        _bar(place, tally, scale / whole, y + HEAD + number * ROW)
        for number, place in enumerate(OPEN)
    )
    return Panel(heading=f"{name}: {whole:,} open", y=y, bars=bars)


def _bar(place: Place, tally: Tally, each: float, y: int) -> Bar:
    count, lost = tally.places[place], tally.lost[place]
    return Bar(
        label=place.value,
        y=y,
        length=round(each * count, 1),
        lost=round(each * lost, 1),
        number=f"{count:,}" + (f", {lost:,} past limit" if lost else ""),
    )


def _told(shown: dict[str, Tally], on: date) -> str:
    parts = []
    for name, tally in shown.items():
        places = ", ".join(
            f"{tally.places[place]:,} {place.value}" for place in OPEN if tally.places[place]
        )
        parts.append(f"{name}: {places}; {tally.lost.total():,} past the hard limit")
    return f"On {on}. " + ". ".join(parts) + "." if parts else f"On {on} no recall is open."


def draw(shown: Picture) -> str:
    """The picture as an SVG document."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    shelf = Environment(
        loader=PackageLoader("aftercare.cli.recall"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
    )
    return shelf.get_template("standing.svg.j2").render(picture=shown)

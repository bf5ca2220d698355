"""A chart of backlogs over weeks as SVG: what is left at the end of each week under each plan."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil, floor, log10

from aftercare.recall.catch_up import Backlog

WIDTH, PANEL, TOP, LEFT, RIGHT, GAP = 820, 170, 64, 64, 150, 64
# Told apart by dash and label as well as by colour; contrast with white is 4.5 to 1 or more.
_STYLES = (("#0b5394", ""), ("#9c4a00", "9 5"), ("#4a4a4a", "2 4"))
_TICKS, _LINE = 4, 16


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One plan's line: its points, where it ends, and where its name stands beside that."""

    name: str
    colour: str
    dash: str
    points: str
    end_y: float
    label_y: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """One set of axes: its heading, ticks as (place, words), and lines."""

    heading: str
    top: int
    bottom: int
    ys: tuple[tuple[float, str], ...]
    xs: tuple[tuple[float, str], ...]
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """All that the picture needs. ``told`` is the same in words, for who does not see it."""

    width: int
    height: int
    left: int
    right: int
    title: str
    told: str
    panels: tuple[Panel, ...]


def chart(backlogs: Mapping[str, Sequence[Backlog]]) -> Chart:
    """The backlogs of some plans over the same weeks, by name."""
    measured: tuple[tuple[str, Callable[[Backlog], int]], ...] = (
        ("People due and not seen, at the end of each week", lambda one: one.waiting),
        ("Their weights, added up", lambda one: one.weight),
        ("Those past their hard limit", lambda one: one.past_limit),
    )
    panels = tuple(
        _panel(heading, TOP + number * (PANEL + GAP), backlogs, value)
        for number, (heading, value) in enumerate(measured)
    )
    return Chart(
        width=WIDTH,
        height=panels[-1].bottom + 48,
        left=LEFT,
        right=WIDTH - RIGHT,
        title="Backlog over the weeks of the plan",
        told=" ".join(_told(name, weeks) for name, weeks in backlogs.items()),
        panels=panels,
    )


def _told(name: str, weeks: Sequence[Backlog]) -> str:
    first, last = weeks[0], weeks[-1]
    return (
        f"{name.capitalize()}: from {first.waiting:,} waiting, {first.past_limit:,} of them past "
        f"their limit, to {last.waiting:,} and {last.past_limit:,} on {last.day}."
    )


def _panel(
    heading: str,
    top: int,
    backlogs: Mapping[str, Sequence[Backlog]],
    value: Callable[[Backlog], int],
) -> Panel:
    days = [one.day for one in next(iter(backlogs.values()))]
    ticks = steps(max((value(one) for weeks in backlogs.values() for one in weeks), default=0))
    most = ticks[-1]

    def down(count: float) -> float:
        return round(top + PANEL * (1 - count / most), 1)

    xs = [_across(number, len(days)) for number in range(len(days))]
    ends = [down(value(weeks[-1])) for weeks in backlogs.values()]
    labels = apart(ends, top + PANEL)
    lines = tuple(
        Line(
            name=name,
            colour=_STYLES[at % len(_STYLES)][0],
            dash=_STYLES[at % len(_STYLES)][1],
            points=" ".join(f"{x},{down(value(one))}" for x, one in zip(xs, weeks, strict=True)),
            end_y=ends[at],
            label_y=labels[at],
        )
        for at, (name, weeks) in enumerate(backlogs.items())
    )
    same = len({line.points for line in lines}) == 1 < len(lines)
    return Panel(
        heading=f"{heading}: the same under each plan" if same else heading,
        top=top,
        bottom=top + PANEL,
        ys=tuple((down(one), f"{one:,}") for one in ticks),
        xs=_weeks(days, xs),
        lines=lines,
    )


def _across(number: int, of: int) -> float:
    return round(LEFT + (WIDTH - LEFT - RIGHT) * number / max(1, of - 1), 1)


def _weeks(days: Sequence[date], xs: Sequence[float]) -> tuple[tuple[float, str], ...]:
    """A date under every so many weeks, as many as there is room for."""
    every = max(1, ceil(len(days) / 8))
    return tuple(
        (x, f"{day.day} {day:%b %Y}")
        for number, (x, day) in enumerate(zip(xs, days, strict=True))
        if number % every == 0
    )


def steps(most: int) -> tuple[int, ...]:
    """Round numbers from nothing to ``most`` or just above it."""
    rough = max(1, most) / _TICKS
    power = 10 ** max(0, floor(log10(rough)))
    step = next(one * power for one in (1, 2, 5, 10) if one * power >= rough)
    return tuple(range(0, max(1, most) + step, step))


def apart(wanted: Sequence[float], lowest: float) -> list[float]:
    """Heights near those wanted, none below the ``lowest``, at which no words cover others."""
    order = sorted(range(len(wanted)), key=lambda at: wanted[at])
    groups: list[list[int]] = []
    for at in order:
        groups.append([at])
        while len(groups) > 1 and _meet(groups[-2], groups[-1], wanted, lowest):
            last = groups.pop()
            groups[-1] += last
    placed = dict[int, float]()
    for group in groups:
        first = _first(group, wanted, lowest)
        placed |= {at: round(first + _LINE * number, 1) for number, at in enumerate(group)}
    return [placed[at] for at in range(len(wanted))]


def _first(group: Sequence[int], wanted: Sequence[float], lowest: float) -> float:
    """Where the uppermost of a group stands, with the group's middle where it is wanted."""
    tall = _LINE * (len(group) - 1)
    return min(sum(wanted[at] for at in group) / len(group) - tall / 2, lowest - tall)


def _meet(
    upper: Sequence[int], lower: Sequence[int], wanted: Sequence[float], lowest: float
) -> bool:
    below = _first(upper, wanted, lowest) + _LINE * len(upper)
    return below > _first(lower, wanted, lowest)


def draw(shown: Chart) -> str:
    """The chart as an SVG document."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    shelf = Environment(
        loader=PackageLoader("aftercare.cli.recall"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
    )
    return shelf.get_template("backlog.svg.j2").render(chart=shown)

"""The plan that loses least, with its proof.

Of all plans it is among those that, in this order, keep least: people told a date and moved
although their slot is still there, people who pass their hard limit, people told a date and left
without any, people moved, and risk-weighted overdue days. A later aim never costs an earlier one
anything. Where it makes no difference, the longer overdue goes first.

Overdue days are weighted by the condition's weight and counted on the day of the visit; who has no
place is counted as if seen on the day after the last clinic. People alike in all that counts
are planned together, so that the size of the problem follows the number of days and conditions.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import NamedTuple

import numpy as np

from aftercare.recall.catch_up.network import OUT, Flow, Network, Whole, least
from aftercare.recall.catch_up.shared_slots import Division, divide, patterns
from aftercare.recall.catch_up.ties import longer_overdue_first
from aftercare.recall.catch_up.values import Aim, Opening, Plan, Proof, Seat, Span, Waiting


class Kind(NamedTuple):
    """What a visit weighs and needs, and how many of the days counted are before it is due."""

    weight: int
    minutes: int
    skills: tuple[str, ...]
    too_soon: int


class Alike(NamedTuple):
    """All that counts of somebody: two people with the same may change places."""

    kind: Kind
    in_time: int  # how many of the days counted are within the limit
    told: bool  # a day


class Open(NamedTuple):
    """A node for people of a kind who may be seen on a day, or on any earlier one."""

    kind: Kind
    day: int  # its number among the days counted


class Promised(NamedTuple):
    """A node for people alike with the same promise."""

    alike: Alike
    when: Span


Node = Open | Alike | Promised


@dataclass(frozen=True, slots=True, eq=False)
class _Problem:
    """The network, who stands at each node at first, and the costs of each aim on each arc."""

    network: Network
    who: tuple[tuple[Waiting, ...], ...]
    costs: Mapping[Aim, Whole]


def best(people: Iterable[Waiting], openings: Sequence[Opening], *, seconds: float = 15.0) -> Plan:
    """The plan that loses least. ``seconds`` bounds the search for how to divide shared slots.

    Everybody is in it, with a seat or without. Raises ``BadInput`` when shared slots can be
    divided in too many ways.
    """
    everybody = tuple(people)
    beyond = day_after(openings)
    if not everybody:
        return Plan(people=(), seats=(), places={}, beyond=beyond)
    seats, divisions = _seats(everybody, openings)
    bounds: dict[Aim, int] = {}
    if divisions:
        seats, bounds = _divided(everybody, seats, divisions, beyond, seconds)
    problem = _problem(everybody, seats, beyond)
    aims = [aim for aim in Aim if problem.costs[aim].any()]
    flow = least(problem.network, [problem.costs[aim] for aim in aims])
    places = dict(_places(problem, flow, seats))
    plan = longer_overdue_first(Plan(people=everybody, seats=seats, places=places, beyond=beyond))
    found = dict(zip(aims, zip(flow.values, flow.bounds, strict=True), strict=True))
    return replace(plan, proofs=tuple(_proofs(plan, found, bounds)))


def day_after(openings: Sequence[Opening]) -> date:
    """The day on which those without a place are counted."""
    return max(opening.when.last for opening in openings) + timedelta(days=1)


# --- seats ------------------------------------------------------------------------------


def _seats(
    people: Sequence[Waiting], openings: Sequence[Opening]
) -> tuple[tuple[Seat, ...], tuple[Division, ...]]:
    """A seat for each opening, or for each length of visit where its slots may be shared."""
    lengths = sorted({one.stake.minutes for one in people})
    seats: list[Seat] = []
    divisions = []
    for number, opening in enumerate(openings):
        ways = patterns(opening.minutes, lengths) if opening.shared else ()
        # A slot too short for anybody is there all the same, and its day is counted.
        ways = tuple(filter(None, ways)) or ((opening.minutes,),)
        at = {}
        for length in sorted({length for way in ways for length in way}):
            at[length] = len(seats)
            room = opening.slots * ways[0].count(length)
            seats.append(_seat(number, opening, length, room))
        if len(ways) > 1:
            divisions.append(Division(opening.slots, at, ways))
    return tuple(seats), tuple(divisions)


def _seat(number: int, opening: Opening, minutes: int, room: int) -> Seat:
    return Seat(
        opening=number,
        when=opening.when,
        day=opening.day,
        minutes=minutes,
        skills=opening.skills,
        room=room,
    )


def _divided(
    people: Sequence[Waiting],
    seats: tuple[Seat, ...],
    divisions: Sequence[Division],
    beyond: date,
    seconds: float,
) -> tuple[tuple[Seat, ...], dict[Aim, int]]:
    """The seats as the best division has them, and the bound of each aim."""
    problem = _problem(people, seats, beyond)
    aims = [aim for aim in Aim if problem.costs[aim].any()]
    costs = [problem.costs[aim] for aim in aims]
    found = divide(problem.network, divisions, costs, seconds=seconds)
    pairs = zip(seats, found.room.tolist(), strict=True)
    roomy = tuple(replace(seat, room=room) for seat, room in pairs)
    return roomy, dict(zip(aims, found.bounds, strict=True))


# --- the network ------------------------------------------------------------------------


class _Arc(NamedTuple):
    """One arc and what a person on it costs of each aim."""

    head: int
    past: int = 0
    left: int = 0
    moved: int = 0
    told_moved: int = 0
    days: int = 0


class _Calendar:
    """The seats by day. ``days`` are all days counted, in order; the last is ``beyond``."""

    def __init__(self, seats: tuple[Seat, ...], beyond: date) -> None:
        self.seats = seats
        self.days = tuple(sorted({seat.day for seat in seats} | {beyond}))
        self.last = len(self.days) - 2  # the last day with a seat
        self.at = [bisect_left(self.days, seat.day) for seat in seats]
        self._suiting: dict[tuple[int, tuple[str, ...]], dict[int, list[int]]] = {}

    def since(self, day: int) -> int:
        """Days from the first day counted."""
        return (self.days[day] - self.days[0]).days

    def alike(self, one: Waiting) -> Alike:
        """All that counts of somebody."""
        kind = Kind(
            weight=one.stake.weight,
            minutes=one.stake.minutes,
            skills=tuple(sorted(one.stake.skills)),
            too_soon=bisect_left(self.days, one.due),
        )
        return Alike(kind, bisect_right(self.days, one.limit), one.told)

    def suiting(self, kind: Kind) -> Mapping[int, list[int]]:
        """The seats in which such a visit can be, by day."""
        needs = (kind.minutes, kind.skills)
        if needs not in self._suiting:
            by_day: dict[int, list[int]] = defaultdict(list)
            for number, seat in enumerate(self.seats):
                if kind.minutes <= seat.minutes and seat.skills.issuperset(kind.skills):
                    by_day[self.at[number]].append(number)
            self._suiting[needs] = dict(by_day)
        return self._suiting[needs]

    def opens(self, kind: Kind) -> int:
        """The first day on which such a visit can be and is not too soon; past the last if none."""
        days = (day for day in self.suiting(kind) if day >= kind.too_soon)
        return min(days, default=self.last + 1)


def _problem(people: Sequence[Waiting], seats: tuple[Seat, ...], beyond: date) -> _Problem:
    calendar = _Calendar(seats, beyond)
    alike: dict[Alike, list[Waiting]] = defaultdict(list)
    promised: dict[Promised, list[Waiting]] = defaultdict(list)
    for one in sorted(people, key=in_line):
        # Who has a promise may have to join those alike who have none.
        here = alike[calendar.alike(one)]
        if one.promised is None:
            here.append(one)
        else:
            promised[Promised(calendar.alike(one), one.promised)].append(one)
    kinds = dict.fromkeys(one.kind for one in alike)
    chains = [
        Open(kind, day) for kind in kinds for day in range(calendar.opens(kind), calendar.last + 1)
    ]
    nodes: list[Node] = [*chains, *alike, *promised]
    who = [*([] for _ in chains), *alike.values(), *promised.values()]
    number = {node: at + len(seats) for at, node in enumerate(nodes)}
    arcs = [tuple(_arcs(node, calendar, number)) for node in nodes]
    return _assembled([seat.room for seat in seats], who, arcs)


def in_line(one: Waiting) -> tuple[date, int, str]:
    """The order among people who are alike: the longest overdue first."""
    return one.due, one.listed, one.ref


def _arcs(node: Node, calendar: _Calendar, number: Mapping[Node, int]) -> Iterator[_Arc]:
    if isinstance(node, Open):
        return _from_day(node, calendar, number)
    if isinstance(node, Promised):
        return _from_promise(node, calendar, number)
    return _from_alike(node, calendar, number)


def _from_day(node: Open, calendar: _Calendar, number: Mapping[Node, int]) -> Iterator[_Arc]:
    """To the day before, or to a seat of the day."""
    earlier = Open(node.kind, node.day - 1)
    if earlier in number:
        yield _Arc(number[earlier])
    days = node.kind.weight * calendar.since(node.day)
    for seat in calendar.suiting(node.kind).get(node.day, ()):
        yield _Arc(seat, days=days)


def _from_alike(node: Alike, calendar: _Calendar, number: Mapping[Node, int]) -> Iterator[_Arc]:
    """To the last day in time, to the last day of all if that is too late, or to no place.

    Who is past the limit on the very first day is so in every plan, and does not count.
    """
    kind, in_time = node.kind, node.in_time
    opens, last = calendar.opens(kind), calendar.last
    if opens < in_time <= last:
        yield _Arc(number[Open(kind, in_time - 1)])
    if opens <= last:
        yield _Arc(number[Open(kind, last)], past=int(0 < in_time <= last))
    never = int(0 < in_time <= last + 1)
    days = kind.weight * calendar.since(last + 1)
    yield _Arc(OUT, past=never, left=int(node.told), days=days)


def _from_promise(
    node: Promised, calendar: _Calendar, number: Mapping[Node, int]
) -> Iterator[_Arc]:
    """To the seats that keep the promise, and to where those alike stand who have none."""
    alike = node.alike
    # A day somebody was told stands, though it be before they are due.
    soonest = 0 if alike.told else alike.kind.too_soon
    for day, seats in calendar.suiting(alike.kind).items():
        for seat in seats if day >= soonest else ():
            if calendar.seats[seat].when.meets(node.when):
                past = int(0 < alike.in_time <= day)
                yield _Arc(seat, past=past, days=alike.kind.weight * calendar.since(day))
    yield _Arc(number[alike], moved=1, told_moved=int(alike.told))


def _assembled(
    room: Sequence[int],
    who: Sequence[Sequence[Waiting]],
    arcs: Sequence[tuple[_Arc, ...]],
) -> _Problem:
    columns = np.array([arc for out in arcs for arc in out], np.int64).T
    head, past, left, moved, told_moved, days = columns
    network = Network(
        supply=np.array([len(people) for people in who], np.int64),
        room=np.array(room, np.int64),
        tail=np.repeat(np.arange(len(arcs)), [len(out) for out in arcs]),
        head=head,
    )
    costs = {
        Aim.TOLD_MOVED: told_moved,
        Aim.PAST_LIMIT: past,
        Aim.TOLD_LEFT: left,
        Aim.MOVED: moved,
        Aim.RISK_DAYS: days,
    }
    return _Problem(network, tuple(map(tuple, who)), costs)


# --- people back from numbers -----------------------------------------------------------


def _places(
    problem: _Problem, flow: Flow, seats: Sequence[Seat]
) -> Iterator[tuple[str, Seat | None]]:
    """A seat or none for each, by reference. The longer overdue go on to the earlier days."""
    network = problem.network
    standing = [list(people) for people in problem.who]
    first = np.searchsorted(network.tail, np.arange(len(problem.who) + 1))
    # Backwards, because nodes lead to earlier ones.
    for node in reversed(range(len(standing))):
        arcs = range(first[node], first[node + 1])
        line = iter(sorted(standing[node], key=in_line))
        for arc in sorted(arcs, key=lambda arc: _earliest(int(network.head[arc]), seats)):
            going = [next(line) for _ in range(int(flow.people[arc]))]
            head = int(network.head[arc])
            if head >= len(seats):
                standing[head - len(seats)].extend(going)
                continue
            yield from ((one.ref, None if head == OUT else seats[head]) for one in going)


def _earliest(head: int, seats: Sequence[Seat]) -> tuple[int, int, date, int, int]:
    """The order of arcs for the longer overdue: to earlier days, then seats that can do least.

    A node's way to an earlier day has a lower number than its way to a later one.
    """
    if head == OUT:
        return 2, 0, date.max, 0, 0
    if head >= len(seats):
        return 0, head, date.max, 0, 0
    seat = seats[head]
    return 1, 0, seat.day, len(seat.skills), seat.minutes


_OF_PROMISES = frozenset({Aim.TOLD_MOVED, Aim.TOLD_LEFT, Aim.MOVED})


def _proofs(
    plan: Plan, found: Mapping[Aim, tuple[int, int]], divided: Mapping[Aim, int]
) -> Iterator[Proof]:
    """What was reached and what is proved, in whole people and days of the plan itself.

    Where slots were ``divided``, the bounds are the integer programme's.
    """
    promises = any(one.promised for one in plan.people)
    for aim in Aim:
        if aim in _OF_PROMISES and not promises:
            continue
        value, bound = found.get(aim, (0, 0))
        bound = divided.get(aim, bound)
        shift = risk_days(plan) - value if aim is Aim.RISK_DAYS else 0
        yield Proof(aim=aim, value=value + shift, bound=bound + shift)


def risk_days(plan: Plan) -> int:
    """Overdue days of everybody, each times the weight of the condition."""
    return sum(one.stake.weight * one.overdue(plan.day(one)) for one in plan.people)

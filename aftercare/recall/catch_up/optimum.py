"""The plan that loses least, with its proof.

Of all plans it is among those that, in this order, keep least: people told a date and moved
although their slot is still there, people who pass their hard limit, people told a date and left
without any, people moved, risk-weighted overdue days, and squares of overdue days. A later aim
never costs an earlier one anything.

Overdue days are weighted by the condition's weight and counted on the day of the visit; who has no
place is counted as if seen on the day after the last clinic. People alike in all that counts
are planned together, so that the size of the problem follows the number of weeks and conditions.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import NamedTuple

import numpy as np

from aftercare.recall.catch_up.network import (
    OUT,
    Face,
    Flow,
    Network,
    Whole,
    anywhere,
    least,
)
from aftercare.recall.catch_up.shared_slots import Division, divide, patterns
from aftercare.recall.catch_up.values import Aim, Opening, Plan, Proof, Seat, Span, Waiting


class Alike(NamedTuple):
    """All that counts of somebody: two people with the same may change places."""

    weight: int
    minutes: int
    skills: tuple[str, ...]
    in_time: int  # how many of the days counted are within the limit
    too_soon: int  # how many of them are before the due day
    due: int  # days from the first day to the due day
    told: bool  # a day


Node = tuple[Alike, Span | None]


@dataclass(frozen=True, slots=True, eq=False)
class _Problem:
    """The network, who stands at each node, and the costs of each aim on each arc."""

    network: Network
    who: Mapping[Node, tuple[Waiting, ...]]
    costs: Mapping[Aim, Whole]


@dataclass(frozen=True, slots=True, eq=False)
class _Solved:
    """Everybody's seat or none, and of each aim what was reached and what is the bound."""

    places: Mapping[str, Seat | None]
    found: Mapping[Aim, tuple[int, int]]


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
    solved = _solved(everybody, seats, beyond)
    plan = Plan(people=everybody, seats=seats, places=solved.places, beyond=beyond)
    proofs = _proofs(plan, solved.found, bounds if divisions else None)
    return replace(plan, proofs=tuple(proofs))


def _solved(people: Sequence[Waiting], seats: tuple[Seat, ...], beyond: date) -> _Solved:
    """All aims but the last over few nodes, then the last over as many as there are due days."""
    coarse = _problem(people, seats, beyond, fine=False)
    aims = [aim for aim in Aim if aim is not Aim.EVENNESS and coarse.costs[aim].any()]
    flow = least(coarse.network, [coarse.costs[aim] for aim in aims], anywhere(coarse.network))
    found: dict[Aim, tuple[int, int]] = dict(
        zip(aims, zip(flow.values, flow.bounds, strict=True), strict=True)
    )
    fine = _problem(people, seats, beyond)
    # Alike but for the due day, so what a cheapest flow may use is the same for all of them.
    face = Face(flow.face.arcs[_parents(fine, coarse)], flow.face.full)
    last = least(fine.network, [fine.costs[Aim.EVENNESS]], face)
    found[Aim.EVENNESS] = (last.values[0], last.bounds[0])
    return _Solved(dict(_places(fine, last, seats)), found)


def _parents(fine: _Problem, coarse: _Problem) -> Whole:
    """Of each arc of the fine problem, the number of the same arc in the coarse one."""
    number = {node: at for at, node in enumerate(coarse.who)}
    first = np.searchsorted(coarse.network.tail, np.arange(len(number) + 1))
    at = [number[alike._replace(due=0), when] for alike, when in fine.who]
    return np.concatenate([np.arange(first[one], first[one + 1]) for one in at])


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
    """The seats as the best division has them, and the bound of each aim but the last."""
    problem = _problem(people, seats, beyond, fine=False)
    aims = [aim for aim in Aim if aim is not Aim.EVENNESS and problem.costs[aim].any()]
    costs = [problem.costs[aim] for aim in aims]
    found = divide(problem.network, divisions, costs, seconds=seconds)
    pairs = zip(seats, found.room.tolist(), strict=True)
    roomy = tuple(replace(seat, room=room) for seat, room in pairs)
    return roomy, dict(zip(aims, found.bounds, strict=True))


# --- the network ------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, eq=False)
class _Calendar:
    """The seats as columns. ``days`` are all days counted, in order; the last is ``beyond``."""

    seats: tuple[Seat, ...]
    days: tuple[date, ...]
    at: Whole  # of each seat, and of no seat: its day's number in days
    since: Whole  # the same in days from the first

    @classmethod
    def of(cls, seats: tuple[Seat, ...], beyond: date) -> _Calendar:
        days = tuple(sorted({seat.day for seat in seats} | {beyond}))
        counted = [*(seat.day for seat in seats), beyond]
        at = np.array([bisect_left(days, day) for day in counted], np.int64)
        since = np.array([(day - days[0]).days for day in counted], np.int64)
        return cls(seats, days, at, since)

    def alike(self, one: Waiting, *, fine: bool) -> Alike:
        """All that counts of somebody."""
        return Alike(
            weight=one.stake.weight,
            minutes=one.stake.minutes,
            skills=tuple(sorted(one.stake.skills)),
            in_time=bisect_right(self.days, one.limit),
            too_soon=bisect_left(self.days, one.due),
            due=(one.due - self.days[0]).days if fine else 0,
            told=one.told,
        )


class _Arcs(NamedTuple):
    """Arcs out of one node: where to, on which column of the calendar, and whether moved."""

    head: Whole
    column: Whole
    moved: int = 0


def _problem(
    people: Sequence[Waiting], seats: tuple[Seat, ...], beyond: date, *, fine: bool = True
) -> _Problem:
    calendar = _Calendar.of(seats, beyond)
    who: dict[Node, list[Waiting]] = defaultdict(list)
    promised: dict[Node, list[Waiting]] = defaultdict(list)
    for one in sorted(people, key=in_line):
        alike = calendar.alike(one, fine=fine)
        # Who has a promise may have to join those alike who have none.
        here = who[alike, None]
        (here if one.promised is None else promised[alike, one.promised]).append(one)
    number = {alike: at for at, (alike, _) in enumerate(who)}
    suits = _suits(calendar, number)
    who.update(promised)
    out: list[tuple[int, Alike, _Arcs]] = []
    for at, (alike, when) in enumerate(who):
        suiting = suits[_needs(alike)]
        if when is None:
            out.append((at, alike, _pool_arcs(calendar, alike, suiting)))
        else:
            kept = _promised_arcs(calendar, alike, when, suiting, number[alike])
            out.extend((at, alike, arcs) for arcs in kept)
    return _assembled(calendar, {node: tuple(line) for node, line in who.items()}, out)


def in_line(one: Waiting) -> tuple[date, int, str]:
    """The order among people who are alike: the longest overdue first."""
    return one.due, one.listed, one.ref


def _needs(alike: Alike) -> tuple[int, tuple[str, ...]]:
    return alike.minutes, alike.skills


def _suits(calendar: _Calendar, pools: Iterable[Alike]) -> dict[tuple[int, tuple[str, ...]], Whole]:
    """The seats in which each kind of visit can be."""
    return {
        (minutes, skills): np.array(
            [
                number
                for number, seat in enumerate(calendar.seats)
                if minutes <= seat.minutes and seat.skills.issuperset(skills)
            ],
            np.int64,
        )
        for minutes, skills in {_needs(alike) for alike in pools}
    }


def _pool_arcs(calendar: _Calendar, alike: Alike, suiting: Whole) -> _Arcs:
    """To every seat that suits and is not too soon, and to no seat."""
    soon_enough = suiting[calendar.at[suiting] >= alike.too_soon]
    column = np.append(soon_enough, len(calendar.seats))
    return _Arcs(np.append(soon_enough, OUT), column)


def _promised_arcs(
    calendar: _Calendar, alike: Alike, when: Span, suiting: Whole, pool: int
) -> Iterator[_Arcs]:
    """To the seats that keep the promise, and to where those alike stand who have none."""
    # A day somebody was told stands, though it be before they are due.
    soonest = 0 if alike.told else alike.too_soon
    soon_enough = suiting[calendar.at[suiting] >= soonest].tolist()
    keep = [seat for seat in soon_enough if calendar.seats[seat].when.meets(when)]
    if keep:
        yield _Arcs(np.array(keep, np.int64), np.array(keep, np.int64))
    # What a move costs besides is on the arcs out of the pool.
    away = np.array([len(calendar.seats) + pool], np.int64)
    yield _Arcs(away, np.array([OUT], np.int64), moved=1)


def _assembled(
    calendar: _Calendar,
    who: Mapping[Node, tuple[Waiting, ...]],
    out: Sequence[tuple[int, Alike, _Arcs]],
) -> _Problem:
    sizes = [len(arcs.head) for _, _, arcs in out]

    def spread(values: Iterable[int]) -> Whole:
        return np.repeat(np.array(list(values), np.int64), sizes)

    column = np.concatenate([arcs.column for _, _, arcs in out])
    head = np.concatenate([arcs.head for _, _, arcs in out])
    counts = (column >= 0).astype(np.int64)
    at, since = calendar.at[column], calendar.since[column]
    moved = spread(arcs.moved for _, _, arcs in out)
    told = spread(alike.told for _, alike, _ in out)
    in_time = spread(alike.in_time for _, alike, _ in out)
    waited = since - spread(alike.due for _, alike, _ in out)
    costs = {
        Aim.TOLD_MOVED: moved * told,
        # Who is past the limit on the very first day is so in every plan.
        Aim.PAST_LIMIT: counts * ((in_time > 0) & (at >= in_time)),
        Aim.TOLD_LEFT: told * (head == OUT),
        Aim.MOVED: moved,
        Aim.RISK_DAYS: counts * since * spread(alike.weight for _, alike, _ in out),
        Aim.EVENNESS: counts * waited * waited,
    }
    network = Network(
        supply=np.array([len(people) for people in who.values()], np.int64),
        room=np.array([seat.room for seat in calendar.seats], np.int64),
        tail=spread(at for at, _, _ in out),
        head=head,
    )
    return _Problem(network, who, costs)


# --- people back from numbers -----------------------------------------------------------


def _places(
    problem: _Problem, flow: Flow, seats: Sequence[Seat]
) -> Iterator[tuple[str, Seat | None]]:
    """A seat or none for each, by reference. Those with a promise leave their node first."""
    network = problem.network
    standing = [list(people) for people in problem.who.values()]
    first = np.searchsorted(network.tail, np.arange(len(problem.who) + 1))
    # Backwards, because those who leave a promise join those alike, who are before them.
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


def _earliest(head: int, seats: Sequence[Seat]) -> tuple[int, date, int, int]:
    """The order of seats among people alike: by day, then the seat that can do least."""
    if head == OUT or head >= len(seats):
        return 1, date.max, 0, head
    seat = seats[head]
    return 0, seat.day, len(seat.skills), seat.minutes


_OF_PROMISES = frozenset({Aim.TOLD_MOVED, Aim.TOLD_LEFT, Aim.MOVED})


def _proofs(
    plan: Plan, found: Mapping[Aim, tuple[int, int]], bounds: Mapping[Aim, int] | None
) -> Iterator[Proof]:
    """What was reached and what is proved, in whole people and days of the plan itself.

    With divided slots the proof is the integer programme's; the last aim is then best only
    among plans that divide them so, and has none.
    """
    promises = any(one.promised for one in plan.people)
    for aim in Aim:
        if aim in _OF_PROMISES and not promises:
            continue
        if aim is Aim.EVENNESS and bounds is not None:
            continue
        value, bound = found.get(aim, (0, 0))
        bound = bound if bounds is None else bounds.get(aim, bound)
        shift = risk_days(plan) - value if aim is Aim.RISK_DAYS else 0
        yield Proof(aim=aim, value=value + shift, bound=bound + shift)


def risk_days(plan: Plan) -> int:
    """Overdue days of everybody, each times the weight of the condition."""
    return sum(one.stake.weight * one.overdue(plan.day(one)) for one in plan.people)

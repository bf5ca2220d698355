"""The plan that loses least, with its proof.

Of all plans it is among those that, in this order,

1. move fewest people who were told a day and whose slot is still there;
2. have nobody pass a hard limit whom some slot could keep within it, if there is such a plan and
   limits are to be held;
3. leave fewest people who were told a day without any;
4. have fewest risk-weighted days past the hard limit. Every further day of who was past it before
   the first clinic counts, so that none of them is left for last; to pass it counts as some weeks;
5. move fewest people;
6. have fewest risk-weighted overdue days.

A later aim never costs an earlier one anything. Where it makes no difference, the longer overdue
goes first. The second holds whole or falls away: kept to the fewest who pass, a plan would leave
those already past the limit for last.

Days are weighted by the condition and counted on the day of the visit; who has no place is
counted as if seen on the day after the last clinic. People alike in all that counts are planned
together, so that the size of the problem follows the number of days and conditions. With visits
that each take a slot, any cost of lateness is a flow (Lawler 1964, Management Science 11:280, from
memory).
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import NamedTuple

import numpy as np

from aftercare.recall.catch_up.network import OUT, Cost, Flow, Network, least
from aftercare.recall.catch_up.shared_slots import Division, divide, patterns
from aftercare.recall.catch_up.ties import longer_overdue_first
from aftercare.recall.catch_up.values import Aim, Opening, Plan, Proof, Seat, Span, Waiting
from aftercare.recall.risk import Limits


class Kind(NamedTuple):
    """What a visit weighs and needs, and how many of the days counted are before it is due."""

    weight: int
    minutes: int
    skills: tuple[str, ...]
    too_soon: int


class Alike(NamedTuple):
    """All that counts of somebody: two people with the same may change places."""

    kind: Kind
    limit: int  # days from the first day counted; PAST before it, and none after ``beyond``
    told: bool  # a day


PAST = -1

# The value and the bound of each aim that tells plans apart.
Found = Mapping[Aim, tuple[int, int]]


class Open(NamedTuple):
    """A node for people of a kind who may be seen on a day, or on any earlier one."""

    kind: Kind
    day: int  # its number among the days counted


@dataclass(frozen=True, slots=True)
class Late:  # no tuple, which would be equal to an Open one
    """A node for people of a kind past their limit, who may be seen on a day or on a later one."""

    kind: Kind
    day: int


class Promised(NamedTuple):
    """A node for people alike with the same promise."""

    alike: Alike
    when: Span
    due: int  # days from the first day counted; none before it


Node = Open | Late | Alike | Promised


@dataclass(frozen=True, slots=True, eq=False)
class _Problem:
    """The network, who stands at each node at first, and the costs of each aim on each arc.

    ``waits`` is the head from which on arcs lead away from the earlier days.
    """

    network: Network
    who: tuple[tuple[Waiting, ...], ...]
    costs: Mapping[Aim, Cost]
    waits: int


def best(
    people: Iterable[Waiting],
    openings: Sequence[Opening],
    *,
    limits: Limits = Limits.HELD,
    passing_weeks: int = 0,
    seconds: float = 15.0,
) -> Plan:
    """The plan that loses least. ``seconds`` bounds the search for how to divide shared slots.

    To pass the limit during the plan counts as ``passing_weeks`` past it, and then every day; it
    decides only where ``limits`` are weighed or cannot all be held. Everybody is in it, with a
    seat or without. Raises ``BadInput`` when shared slots can be divided in too many ways.
    """
    everybody = tuple(people)
    beyond = day_after(openings)
    if not everybody:
        return Plan(people=(), seats=(), places={}, beyond=beyond)
    seats, divisions = _seats(everybody, openings)
    divided: Found = {}
    if divisions:
        problem = _problem(everybody, seats, beyond, passing_weeks)
        seats, divided = _divided(problem, seats, divisions, limits, seconds)
    problem = _problem(everybody, seats, beyond, passing_weeks)
    aims = _aims(problem, limits)
    flow = least(problem.network, [problem.costs[aim] for aim in aims])
    places = dict(_places(problem, flow, seats))
    plan = Plan(
        people=everybody, seats=seats, places=places, beyond=beyond, passing_weeks=passing_weeks
    )
    plan = longer_overdue_first(plan)
    found = dict(zip(aims, zip(flow.values, flow.bounds, strict=True), strict=True))
    return replace(plan, proofs=tuple(_proofs(plan, _with_divided(found, divided), limits)))


def _aims(problem: _Problem, limits: Limits) -> list[Aim]:
    """The aims that tell plans apart."""
    weighed = {Aim.PASSED} if limits is Limits.WEIGHED else set()
    return [aim for aim in Aim if aim not in weighed and problem.costs[aim].of.any()]


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
    problem: _Problem,
    seats: tuple[Seat, ...],
    divisions: Sequence[Division],
    limits: Limits,
    seconds: float,
) -> tuple[tuple[Seat, ...], Found]:
    """The seats as the best division has them, and what was found of each aim."""
    aims = _aims(problem, limits)
    costs = [problem.costs[aim] for aim in aims]
    found = divide(problem.network, divisions, costs, seconds=seconds)
    pairs = zip(seats, found.room.tolist(), strict=True)
    roomy = tuple(replace(seat, room=room) for seat, room in pairs)
    return roomy, dict(zip(aims, zip(found.values, found.bounds, strict=True), strict=True))


# --- the network ------------------------------------------------------------------------


class _Arc(NamedTuple):
    """One arc and what a person on it costs of each aim."""

    head: int
    passed: int = 0
    past: int = 0
    left: int = 0
    moved: int = 0
    told_moved: int = 0
    days: int = 0


class _Calendar:
    """The seats by day. ``days`` are all days counted, in order; the last is ``beyond``."""

    def __init__(self, seats: tuple[Seat, ...], beyond: date, passing_weeks: int) -> None:
        self.seats = seats
        self.passing = 7 * passing_weeks
        self.days = tuple(sorted({seat.day for seat in seats} | {beyond}))
        self.at = [bisect_left(self.days, seat.day) for seat in seats]
        self._suiting: dict[tuple[int, tuple[str, ...]], dict[int, list[int]]] = {}
        self._days: dict[Kind, range] = {}

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
        left = (one.limit - self.days[0]).days
        return Alike(kind, max(PAST, min(left, self.since(-1))), one.told)

    def promised(self, one: Waiting, when: Span) -> Promised:
        """All that counts of somebody who has a promise."""
        return Promised(self.alike(one), when, max(0, (one.due - self.days[0]).days))

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

    def days_for(self, kind: Kind) -> range:
        """From the first day on which such a visit can be and is not too soon to the last."""
        if kind not in self._days:
            days = [day for day in self.suiting(kind) if day >= kind.too_soon]
            self._days[kind] = range(min(days), max(days) + 1) if days else range(0)
        return self._days[kind]

    def in_time(self, alike: Alike) -> int:
        """How many of the days counted are within the limit."""
        return bisect_right(self.days, alike.limit, key=lambda day: (day - self.days[0]).days)

    def lateness(self, alike: Alike, day: int) -> tuple[int, int]:
        """Whether somebody on a day has passed a limit a slot could keep, and the days past it.

        The days are weighted, from the first day counted on, with what it counts to pass it.
        """
        days = self.since(day) - max(alike.limit, 0)
        if self.since(day) <= alike.limit:
            return 0, 0
        passed = int(self._some_in_time(alike))
        return passed, alike.kind.weight * (days + passed * self.passing)

    def _some_in_time(self, alike: Alike) -> bool:
        days = self.days_for(alike.kind)
        return bool(days) and days.start < self.in_time(alike)


def _problem(
    people: Sequence[Waiting], seats: tuple[Seat, ...], beyond: date, passing_weeks: int
) -> _Problem:
    calendar = _Calendar(seats, beyond, passing_weeks)
    alike: dict[Alike, list[Waiting]] = defaultdict(list)
    promised: dict[Promised, list[Waiting]] = defaultdict(list)
    for one in sorted(people, key=in_line):
        # Who has a promise may have to join those alike who have none.
        here = alike[calendar.alike(one)]
        if one.promised is None:
            here.append(one)
        else:
            promised[calendar.promised(one, one.promised)].append(one)
    kinds = {one.kind: calendar.days_for(one.kind) for one in alike}
    early = [Open(kind, day) for kind, days in kinds.items() for day in days]
    late = [Late(kind, day) for kind, days in kinds.items() for day in reversed(days)]
    nodes: list[Node] = [*early, *late, *alike, *promised]
    who = [*([] for _ in (*early, *late)), *alike.values(), *promised.values()]
    number = {node: at + len(seats) for at, node in enumerate(nodes)}
    arcs = [tuple(_arcs(node, calendar, number)) for node in nodes]
    return _assembled([seat.room for seat in seats], who, arcs, len(seats) + len(early))


def in_line(one: Waiting) -> tuple[date, int, str]:
    """The order among people who are alike: the longest overdue first."""
    return one.due, one.listed, one.ref


def _arcs(node: Node, calendar: _Calendar, number: Mapping[Node, int]) -> Iterator[_Arc]:
    if isinstance(node, Open):
        return _from_day(node, calendar, number)
    if isinstance(node, Late):
        return _from_late(node, calendar, number)
    if isinstance(node, Promised):
        return _from_promise(node, calendar, number)
    return _from_alike(node, calendar, number)


def _from_day(node: Open, calendar: _Calendar, number: Mapping[Node, int]) -> Iterator[_Arc]:
    """To the day before, or to a seat of the day."""
    earlier = Open(node.kind, node.day - 1)
    if earlier in number:
        yield _Arc(number[earlier])
    yield from _to_seats(node, calendar)


def _from_late(node: Late, calendar: _Calendar, number: Mapping[Node, int]) -> Iterator[_Arc]:
    """To the next day, each of whose days counts, or to a seat of the day."""
    later = Late(node.kind, node.day + 1)
    if later in number:
        more = calendar.since(later.day) - calendar.since(node.day)
        yield _Arc(number[later], past=node.kind.weight * more)
    yield from _to_seats(node, calendar)


def _to_seats(node: Open | Late, calendar: _Calendar) -> Iterator[_Arc]:
    days = node.kind.weight * calendar.since(node.day)
    for seat in calendar.suiting(node.kind).get(node.day, ()):
        yield _Arc(seat, days=days)


def _from_alike(node: Alike, calendar: _Calendar, number: Mapping[Node, int]) -> Iterator[_Arc]:
    """To the last day in time, to the first that is late, or to no place."""
    kind, in_time = node.kind, calendar.in_time(node)
    days_for, never = calendar.days_for(kind), len(calendar.days) - 1
    if days_for.start < min(in_time, days_for.stop):
        yield _Arc(number[Open(kind, min(in_time, days_for.stop) - 1)])
    late = max(days_for.start, in_time)
    if late < days_for.stop:
        passed, past = calendar.lateness(node, late)
        yield _Arc(number[Late(kind, late)], passed=passed, past=past)
    passed, past = calendar.lateness(node, never)
    days = kind.weight * calendar.since(never)
    yield _Arc(OUT, passed=passed, past=past, left=int(node.told), days=days)


def _from_promise(
    node: Promised, calendar: _Calendar, number: Mapping[Node, int]
) -> Iterator[_Arc]:
    """To the seats that keep the promise, and to where those alike stand who have none."""
    alike = node.alike
    # A day somebody was told stands, though it be before they are due, or past their limit.
    soonest = 0 if alike.told else alike.kind.too_soon
    for day, seats in calendar.suiting(alike.kind).items():
        for seat in seats if day >= soonest else ():
            if calendar.seats[seat].when.meets(node.when):
                passed, past = calendar.lateness(alike, day)
                days = alike.kind.weight * max(node.due, calendar.since(day))
                yield _Arc(seat, passed=0 if alike.told else passed, past=past, days=days)
    yield _Arc(number[alike], moved=1, told_moved=int(alike.told))


def _assembled(
    room: Sequence[int],
    who: Sequence[Sequence[Waiting]],
    arcs: Sequence[tuple[_Arc, ...]],
    waits: int,
) -> _Problem:
    columns = np.array([arc for out in arcs for arc in out], np.int64).T
    head, passed, past, left, moved, told_moved, days = columns
    network = Network(
        supply=np.array([len(people) for people in who], np.int64),
        room=np.array(room, np.int64),
        tail=np.repeat(np.arange(len(arcs)), [len(out) for out in arcs]),
        head=head,
    )
    costs = {
        Aim.TOLD_MOVED: Cost(told_moved),
        Aim.PASSED: Cost(passed, only_at_nothing=True),
        Aim.TOLD_LEFT: Cost(left),
        Aim.PAST_DAYS: Cost(past),
        Aim.MOVED: Cost(moved),
        Aim.RISK_DAYS: Cost(days),
    }
    return _Problem(network, tuple(map(tuple, who)), costs, waits)


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
        for arc in sorted(arcs, key=lambda arc: _earliest(problem, int(network.head[arc]), seats)):
            going = [next(line) for _ in range(int(flow.people[arc]))]
            head = int(network.head[arc])
            if head >= len(seats):
                standing[head - len(seats)].extend(going)
                continue
            yield from ((one.ref, None if head == OUT else seats[head]) for one in going)


def _earliest(problem: _Problem, head: int, seats: Sequence[Seat]) -> tuple[int, date, int, int]:
    """The order of arcs for the longer overdue: to earlier days, then seats that can do least."""
    if head == OUT:
        return 3, date.max, 0, 0
    if head >= len(seats):
        return (2 if head >= problem.waits else 0), date.max, head, 0
    seat = seats[head]
    return 1, seat.day, len(seat.skills), seat.minutes


_OF_PROMISES = frozenset({Aim.TOLD_MOVED, Aim.TOLD_LEFT, Aim.MOVED})


def _with_divided(found: Found, divided: Found) -> Found:
    """What was found once slots were ``divided``, with the bounds of every way to divide them.

    Of a limit that binds nobody, the fewest who pass may be those of another division.
    """
    together = dict(found)
    for aim, (value, bound) in divided.items():
        now, _ = found.get(aim, (0, 0))
        together[aim] = (min(now, value) if aim is Aim.PASSED else now), bound
    return together


def _proofs(plan: Plan, found: Found, limits: Limits) -> Iterator[Proof]:
    """What was reached and what is proved, in whole people and days of the plan itself."""
    untold = set() if any(one.promised for one in plan.people) else set(_OF_PROMISES)
    if limits is Limits.WEIGHED:
        untold.add(Aim.PASSED)
    for aim in (aim for aim in Aim if aim not in untold):
        value, bound = found.get(aim, (0, 0))
        shift = risk_days(plan) - value if aim is Aim.RISK_DAYS else 0
        yield Proof(aim=aim, value=value + shift, bound=bound + shift)


def past_days(plan: Plan, first: date) -> int:
    """Days past the hard limit from the ``first`` on, each times the weight of the condition."""
    return sum(
        one.stake.weight * max(0, (plan.day(one) - max(one.limit, first)).days)
        for one in plan.people
    )


def risk_days(plan: Plan) -> int:
    """Overdue days of everybody, each times the weight of the condition."""
    return sum(one.stake.weight * one.overdue(plan.day(one)) for one in plan.people)

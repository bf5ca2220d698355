"""Slots that may take several short visits: how to divide them, as an integer programme.

How a slot can be divided is a short list of patterns. How many slots are divided by which is
chosen together with who comes, so that no plan with other divisions is better (the way of Gilmore
and Gomory 1961, Operations Research 9:849, with every pattern written out). Once the
divisions are fixed the rest is a network again.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import ceil
from typing import Any

import numpy as np

from aftercare.errors import BadInput
from aftercare.recall.catch_up.network import Cost, Network, Whole, programme, quiet_solver

# Minutes left over by lengths that differ little can be divided in more ways than it is worth.
MOST_PATTERNS = 300
# Bounds are whole numbers, reckoned in floating point.
_SLACK = 1e-6

Pattern = tuple[int, ...]


def patterns(minutes: int, lengths: Sequence[int]) -> tuple[Pattern, ...]:
    """Every way to fill ``minutes`` with visits of these lengths so that no other fits in.

    Longest first in each. Raises ``BadInput`` when there are too many to choose from.
    """
    found: list[Pattern] = []
    for one in _filled(minutes, sorted(set(lengths), reverse=True)):
        found.append(one)
        if len(found) > MOST_PATTERNS:
            raise BadInput(
                "capacity",
                f"a shared slot of {minutes} minutes can be divided in more than "
                f"{MOST_PATTERNS} ways",
                "write shorter slots",
            )
    return tuple(found)


def _filled(minutes: int, lengths: Sequence[int]) -> Iterator[Pattern]:
    fitting = [length for length in lengths if length <= minutes]
    if not fitting:
        yield ()
    for at, longest in enumerate(fitting):
        # The shortest length is always tried again, so what is left is too short for any.
        yield from ((longest, *rest) for rest in _filled(minutes - longest, fitting[at:]))


@dataclass(frozen=True, slots=True, eq=False)
class Division:
    """How one opening's slots may be divided. ``seats`` is a seat's number for each length."""

    slots: int
    seats: Mapping[int, int]
    patterns: tuple[Pattern, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Divided:
    """Room of each seat as chosen; value and bound of each cost, under the ones before it."""

    room: Whole
    values: tuple[int, ...]
    bounds: tuple[int, ...]


def divide(
    network: Network, divisions: Sequence[Division], costs: Sequence[Cost], *, seconds: float
) -> Divided:
    """Divisions with the least of the first cost, then of the second, and so on.

    ``seconds`` is how long each may take; what was not proved by then has a lower bound. The room
    in ``network`` of a seat that stands in a division is not looked at.
    """
    highs = quiet_solver()
    highs.setOptionValue("mip_rel_gap", 0.0)
    free = Network(network.supply, _roomy(network, divisions), network.tail, network.head)
    none_full = np.zeros(len(free.room), bool)
    highs.passModel(programme(free, np.zeros(len(free.tail), np.int64), none_full))
    columns = _add_divisions(highs, free, divisions)
    values, bounds = [], []
    for number, whole in enumerate(costs):
        cost = whole.of
        highs.setOptionValue("time_limit", highs.getRunTime() + seconds)
        every = np.arange(len(cost), dtype=np.int32)
        highs.changeColsCost(len(cost), every, cost.astype(float))
        highs.run()
        value, bound = _outcome(highs)
        values.append(value)
        bounds.append(bound)
        if number + 1 < len(costs) and whole.binds(value):
            used = np.flatnonzero(cost).astype(np.int32)
            highs.addRow(0.0, float(value), len(used), used, cost[used].astype(float))
    return Divided(_room(highs, network, divisions, columns), tuple(values), tuple(bounds))


def _roomy(network: Network, divisions: Sequence[Division]) -> Whole:
    """The most room each seat can have, whatever the division."""
    room = network.room.copy()
    for division in divisions:
        for length, seat in division.seats.items():
            most = max(one.count(length) for one in division.patterns)
            room[seat] = division.slots * most
    return room


def _add_divisions(
    highs: Any, network: Network, divisions: Sequence[Division]
) -> list[tuple[int, Pattern, Division]]:
    """A whole-number column for each pattern of each opening: how many slots are divided so."""
    import highspy

    columns = []
    nodes, at = len(network.supply), len(network.tail)
    for division in divisions:
        first = at
        for pattern in division.patterns:
            rows = [nodes + seat for length, seat in division.seats.items() if length in pattern]
            give = [-pattern.count(m) for m, seat in division.seats.items() if m in pattern]
            highs.addCol(0.0, 0.0, float(division.slots), len(rows), rows, give)
            highs.changeColIntegrality(at, highspy.HighsVarType.kInteger)
            columns.append((at, pattern, division))
            at += 1
        every = list(range(first, at))
        slots = float(division.slots)
        highs.addRow(slots, slots, len(every), every, [1.0] * len(every))
        for seat in division.seats.values():
            highs.changeRowBounds(nodes + seat, -highspy.kHighsInf, 0.0)
    return columns


def _outcome(highs: Any) -> tuple[int, int]:
    """The value found and the bound, both whole: costs and people are."""
    import highspy

    if highs.getInfo().primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        raise BadInput(
            "capacity", "no way to divide the shared slots was found in time",
            "give it longer with --seconds, or write fewer kinds of slots",
        )  # fmt: skip
    info = highs.getInfo()
    value = round(info.objective_function_value)
    bound = ceil(info.mip_dual_bound - _SLACK - 1e-9 * abs(info.mip_dual_bound))
    return value, min(bound, value)


def _room(
    highs: Any,
    network: Network,
    divisions: Sequence[Division],
    columns: Sequence[tuple[int, Pattern, Division]],
) -> Whole:
    room = network.room.copy()
    for division in divisions:
        for seat in division.seats.values():
            room[seat] = 0
    chosen = np.rint(np.array(highs.getSolution().col_value)).astype(np.int64)
    for column, pattern, division in columns:
        for length in pattern:
            room[division.seats[length]] += int(chosen[column])
    return room

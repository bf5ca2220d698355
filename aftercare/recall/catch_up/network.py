"""Flows at least cost, proved in whole numbers.

People flow from nodes to seats. With whole numbers of people and room, a linear programme over
such a network has a whole-number optimum at a corner (Dantzig 1951 on the transportation problem;
Hoffman and Kruskal 1956 on why), and whole-number prices that prove it. HiGHS finds the corner
(Huangfu and Hall 2018, Mathematical Programming Computation 10:119); what it says is then checked
here without rounding.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

Whole = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]
OUT = -1


@dataclass(frozen=True, slots=True, eq=False)
class Network:
    """Nodes with people, seats with room, and arcs from a node to a seat, a node or out.

    ``head`` of an arc is a seat's number, or the number of seats plus that of a node, or
    ``OUT``. Arcs are sorted by tail. A node that is a head stands before all that lead to it.
    """

    supply: Whole
    room: Whole
    tail: Whole
    head: Whole

    @property
    def to_seat(self) -> Flags:
        """Which arcs end in a seat."""
        return (self.head >= 0) & (self.head < len(self.room))

    @property
    def to_node(self) -> Flags:
        """Which arcs end in a node."""
        return self.head >= len(self.room)


class Cost(NamedTuple):
    """What a person costs on each arc. Some costs bind ``only_at_nothing``: if a flow is free of
    them it is to be, and else they are found and let go.
    """

    of: Whole
    only_at_nothing: bool = False

    def binds(self, value: int) -> bool:
        """Whether flows with more than the least found are out of the question."""
        return value == 0 or not self.only_at_nothing


@dataclass(frozen=True, slots=True, eq=False)
class Flow:
    """People on each arc, and of each cost its total and the bound that was proved."""

    people: Whole
    values: tuple[int, ...]
    bounds: tuple[int, ...]


def least(network: Network, costs: Sequence[Cost]) -> Flow:
    """The flow with the least of the first cost, among those the least of the second, and so on.

    After each cost only arcs and full seats stay that some cheapest flow could use (complementary
    slackness), so the network stays one. Raises ``ArithmeticError`` if nobody's flow is whole.
    """
    arcs = np.ones(len(network.tail), bool)
    full = np.zeros(len(network.room), bool)
    flow = np.zeros(len(network.tail), np.int64)
    values, bounds = [], []
    for whole in costs:
        cost, kept = whole.of, np.flatnonzero(arcs)
        part = Network(network.supply, network.room, network.tail[kept], network.head[kept])
        people, prices = _corner(part, cost[kept], full)
        flow[:] = 0
        flow[kept] = people
        node_prices, seat_prices = _proved(part, cost[kept], prices, full)
        values.append(int(people @ cost[kept]))
        bounds.append(int(network.supply @ node_prices + network.room @ seat_prices))
        if not whole.binds(values[-1]):
            continue
        spare = _reduced(part, cost[kept], node_prices, seat_prices)
        arcs[kept] = (spare == 0) | (people > 0)
        full |= (seat_prices < 0) & (_filled(part, people) == network.room)
    return Flow(flow, tuple(values), tuple(bounds))


def _corner(network: Network, cost: Whole, full: Flags) -> tuple[Whole, Whole]:
    """A cheapest flow and the price of each seat."""
    highs = quiet_solver()
    highs.passModel(programme(network, cost, full))
    highs.run()
    solution = highs.getSolution()
    people = np.rint(np.array(solution.col_value)).astype(np.int64)
    prices = np.rint(np.array(solution.row_dual)[len(network.supply) :]).astype(np.int64)
    _check(network, people)
    return people, prices


def quiet_solver() -> Any:
    """HiGHS on one core, saying nothing; the same question gets the same answer."""
    import highspy

    highs = highspy.Highs()  # type: ignore[no-untyped-call]  # it has no types of its own
    highs.setOptionValue("output_flag", False)
    highs.setOptionValue("threads", 1)
    return highs


def programme(network: Network, cost: Whole, full: Flags) -> Any:
    """The network as a linear programme: a row for each node, then one for each seat."""
    import highspy

    nodes, seats, arcs = len(network.supply), len(network.room), len(network.tail)
    start, index, value = _columns(network)
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = arcs, nodes + seats
    lp.col_cost_ = cost.astype(float)
    lp.col_lower_ = np.zeros(arcs)
    lp.col_upper_ = np.full(arcs, highspy.kHighsInf)
    least_room = np.where(full, network.room, 0)
    lp.row_lower_ = np.concatenate([network.supply, least_room]).astype(float)
    lp.row_upper_ = np.concatenate([network.supply, network.room]).astype(float)
    lp.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    lp.a_matrix_.start_ = start.astype(np.int32)
    lp.a_matrix_.index_ = index.astype(np.int32)
    lp.a_matrix_.value_ = value.astype(float)
    return lp


def _columns(network: Network) -> tuple[Whole, Whole, Whole]:
    """Each arc leaves its tail's row, and enters its head's: a node's less, a seat's more."""
    nodes, seats = len(network.supply), len(network.room)
    ends = network.head != OUT
    start = np.concatenate([[0], np.cumsum(1 + ends)])
    index = np.empty(start[-1], np.int64)
    value = np.ones(start[-1], np.int64)
    second = start[:-1][ends] + 1
    head = network.head[ends]
    index[start[:-1]] = network.tail
    index[second] = np.where(head < seats, nodes + head, head - seats)
    value[second] = np.where(head < seats, 1, -1)
    return start, index, value


def _check(network: Network, people: Whole) -> None:
    """Nobody is lost, nobody is made up, and no seat holds more than there is room for."""
    out = np.bincount(network.tail, people, len(network.supply))
    onward = network.to_node
    came = np.bincount(
        network.head[onward] - len(network.room), people[onward], len(network.supply)
    )
    kept = np.array_equal(out, network.supply + came)
    fits = bool((_filled(network, people) <= network.room).all())
    if not (kept and fits and bool((people >= 0).all())):
        raise ArithmeticError("the solver's flow is not one of whole people")


def _filled(network: Network, people: Whole) -> Whole:
    seated = network.to_seat
    count = np.bincount(network.head[seated], people[seated], len(network.room))
    return count.astype(np.int64)


def _proved(network: Network, cost: Whole, prices: Whole, full: Flags) -> tuple[Whole, Whole]:
    """Prices no arc undercuts, whatever the solver said; so their total is a bound.

    A seat that has to be full may have a price of either sign, any other none above nothing.
    """
    seat_prices = np.where(full, prices, np.minimum(prices, 0))
    first = np.searchsorted(network.tail, np.arange(len(network.supply)))
    node_prices, before = np.zeros(len(network.supply), np.int64), None
    # Nodes lead to nodes, so a price is known once those it leads to are: no way goes in circles.
    while before is None or not np.array_equal(node_prices, before):
        before = node_prices
        net = _beyond(network, cost, node_prices, seat_prices)
        node_prices = np.minimum.reduceat(net, first)
    return node_prices, seat_prices


def _reduced(network: Network, cost: Whole, node_prices: Whole, seat_prices: Whole) -> Whole:
    """What each arc costs more than the prices at its ends."""
    return _beyond(network, cost, node_prices, seat_prices) - node_prices[network.tail]


def _beyond(network: Network, cost: Whole, node_prices: Whole, seat_prices: Whole) -> Whole:
    """What each arc costs with all that comes after it."""
    net = cost.copy()
    seated, onward = network.to_seat, network.to_node
    net[seated] -= seat_prices[network.head[seated]]
    net[onward] += node_prices[network.head[onward] - len(network.room)]
    return net

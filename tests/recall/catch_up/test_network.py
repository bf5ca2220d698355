"""Flows at least cost: a later cost never undoes an earlier one, and bounds hold."""

from __future__ import annotations

import numpy as np
import pytest

from aftercare.recall.catch_up.network import OUT, Cost, Network, least


def test_a_seat_the_first_cost_needs_full_stays_full() -> None:
    """Two people and one seat: the first cost wants it taken, the second empty."""
    network = Network(
        supply=np.array([2]), room=np.array([1]), tail=np.array([0, 0]), head=np.array([0, OUT])
    )

    flow = least(network, [Cost(np.array([0, 1])), Cost(np.array([5, 0]))])

    assert flow.people.tolist() == [1, 1]
    assert flow.values == flow.bounds == (1, 5)


@pytest.mark.parametrize(("people", "values"), [(1, (0, 5)), (2, (1, 0))])
def test_a_cost_that_binds_at_nothing_is_let_go_where_it_cannot_be_nothing(
    people: int, values: tuple[int, int]
) -> None:
    """A seat for one: with two people somebody stays out, and then all may."""
    network = Network(
        supply=np.array([people]),
        room=np.array([1]),
        tail=np.array([0, 0]),
        head=np.array([0, OUT]),
    )

    flow = least(network, [Cost(np.array([0, 1]), only_at_nothing=True), Cost(np.array([5, 0]))])

    assert flow.values == flow.bounds == values


def test_people_flow_through_nodes_and_the_bound_follows_them() -> None:
    """Node 2 leads to 1, and 1 to 0, which has the only seat; somebody has to stay out."""
    network = Network(
        supply=np.array([0, 1, 1]),
        room=np.array([1]),
        tail=np.array([0, 1, 1, 2, 2]),
        head=np.array([0, 1, OUT, 2, OUT]),
    )

    flow = least(network, [Cost(np.array([0, 0, 7, 0, 3]))])

    assert flow.values == flow.bounds == (3,)
    assert flow.people.tolist() == [1, 1, 0, 0, 1]

"""Households counted in a few bytes each: right, like a Counter, and small."""

from __future__ import annotations

from collections import Counter
from itertools import islice

from hypothesis import given
from hypothesis import strategies as st

from aftercare.sending.households import Households

MANY = 20_000


@given(st.lists(st.sampled_from("abcd") | st.text(max_size=3)), st.integers(1, 4))
def test_it_counts_as_a_counter_does_up_to_the_most(households: list[str], most: int) -> None:
    counted, expected = Households(), Counter(households)
    for one in households:
        counted.add(one)

    for one in {*households, "never"}:
        assert counted.count(one, most) == min(most, expected[one])


def test_many_take_few_bytes_and_none_is_lost() -> None:
    counted = Households()
    for number in range(MANY):
        counted.add(f"h{number}")

    assert all(counted.count(f"h{number}", 2) == 1 for number in range(MANY))
    assert not any(counted.count(f"g{number}", 2) for number in range(MANY))
    assert len(counted._places) * counted._places.itemsize <= 32 * MANY
    assert len(list(islice(filter(None, counted._places), MANY + 1))) == MANY

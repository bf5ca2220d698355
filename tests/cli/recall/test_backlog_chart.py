"""The chart of backlogs: each line can be told from the others, and its name from other names."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from aftercare.cli.recall.chart import apart, chart
from aftercare.recall.catch_up import Backlog

LOWEST, LINE = 200.0, 16


@given(wanted=st.lists(st.integers(0, 200), min_size=1, max_size=5))
def test_names_stand_clear_of_each_other_and_above_the_axis(wanted: list[int]) -> None:
    placed = apart(wanted, LOWEST)

    assert max(placed) <= LOWEST
    # Rounded to a tenth.
    assert all(upper + LINE <= lower + 0.1 for upper, lower in pairwise(sorted(placed)))
    for one, other in pairwise(sorted(range(len(wanted)), key=lambda at: (wanted[at], at))):
        assert placed[one] < placed[other]


def test_names_with_room_stand_where_their_lines_end_and_others_around_them() -> None:
    assert apart([10, 90, 50], LOWEST) == [10, 90, 50]
    assert apart([50, 50, 50], LOWEST) == [34, 50, 66]


def weeks(*counts: int) -> Sequence[Backlog]:
    first = date(2026, 11, 29)
    return tuple(
        Backlog(day=first + timedelta(weeks=at), waiting=count, weight=8 * count, past_limit=0)
        for at, count in enumerate(counts)
    )


def test_lines_that_cover_each_other_are_told() -> None:
    apart_ = chart({"this plan": weeks(9, 4, 0), "oldest first": weeks(9, 5, 0)})
    headings = [panel.heading for panel in apart_.panels]

    assert [one.endswith(": the same under each plan") for one in headings] == [False, False, True]

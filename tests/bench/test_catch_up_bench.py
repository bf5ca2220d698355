"""How long a year of clinics for 20,000 overdue people takes to plan, and how near the optimum.

The answers are asserted. The time that counts is that of the processor, on one core: a machine
shared with others would stretch the time on the wall, which is printed beside it.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from time import perf_counter, process_time

import pytest
from made_up_waiting import START, many_openings, many_waiting

from aftercare.recall.catch_up import (
    Opening,
    Plan,
    Span,
    Waiting,
    best,
    by_custom,
    measures,
    reasons,
    soonest_day,
)
from aftercare.recall.catch_up.usual import Custom

pytestmark = pytest.mark.bench
PEOPLE, WEEKS, LIMIT, PASSING = 20_000, 52, 60.0, 4
# Within 1% of the bound, as was asked for; without shared slots the plan is exact.
GAP = 0.01


def timed(people: Sequence[Waiting], openings: Sequence[Opening], said: str) -> tuple[Plan, float]:
    begun, wall = process_time(), perf_counter()
    plan = best(people, openings, passing_weeks=PASSING)
    took, wall = process_time() - begun, perf_counter() - wall
    gaps = {proof.aim: proof.gap for proof in plan.proofs}
    print(
        f"\n{said}: {len(people):,} people, {took:.1f} s ({took / LIMIT:.2f} of the limit; on "
        f"the wall {wall:.1f} s), largest gap {max(gaps.values()):.4%}; "
        f"load {os.getloadavg()[0]:.1f}"
    )
    assert max(gaps.values()) <= GAP
    return plan, took


@pytest.mark.parametrize("slots", [40, 96])
def test_a_year_for_20_000_is_planned_exactly(slots: int) -> None:
    people, openings = many_waiting(PEOPLE), many_openings(WEEKS, slots)
    assert len({(one.stake, one.due) for one in people}) > 3_000

    plan, took = timed(people, openings, f"{4 * slots} slots a week")

    assert all(proof.exact for proof in plan.proofs)
    assert took < LIMIT
    begun = process_time()
    told = list(reasons(plan, soonest_day(openings)))
    print(f"reasons: {process_time() - begun:.1f} s")
    assert len(told) == PEOPLE
    ours = measures(plan, openings, START)
    for custom in Custom:
        theirs = measures(by_custom(people, openings, custom), openings, START)
        share = ours.risk_days / theirs.risk_days
        past = ours.past_days / theirs.past_days
        print(f"against {custom}: days past the limit {past:.3f}, risk-weighted days {share:.3f}, "
              f"people past it {ours.past_limit:,} to {theirs.past_limit:,}")  # fmt: skip
        assert (ours.past_days, ours.risk_days) < (theirs.past_days, theirs.risk_days)
    passed = ours.past_limit - ours.past_already
    print(f"pass their limit: {passed:,}; limits are {'held' if plan.holds_limits else 'weighed'}")
    assert (passed > 0) == (not plan.holds_limits)


def test_a_year_with_shared_slots_is_within_one_in_a_hundred_of_the_bound() -> None:
    people, openings = many_waiting(PEOPLE), many_openings(WEEKS, 40, shared=True)

    plan, took = timed(people, openings, "160 slots a week and 40 shared")

    assert measures(plan, openings, START).planned > 40 * 5 * WEEKS
    assert took < LIMIT


def test_a_year_of_single_days_takes_no_longer() -> None:
    weeks = many_openings(WEEKS, 8)
    days = [
        replace(one, when=Span.day(day), day=day)
        for one in weeks
        for day in (one.when.first + timedelta(days=number) for number in range(5))
    ]
    assert len({one.day for one in days}) == 5 * WEEKS

    plan, took = timed(many_waiting(PEOPLE), days, f"{len(days):,} rows of clinics")

    assert all(proof.exact for proof in plan.proofs)
    assert took < LIMIT


def test_planning_a_year_again_after_more_cancellations_moves_those_who_must() -> None:
    people, openings = many_waiting(PEOPLE), many_openings(WEEKS, 40)
    before = best(people, openings, passing_weeks=PASSING)
    promised = [
        replace(one, promised=seat and seat.when, told=seat is not None and at % 4 == 0)
        for at, (one, seat) in enumerate((one, before.places[one.ref]) for one in people)
    ]
    gone = {openings[at].when for at in range(0, 200, 40)}
    left = [one for one in openings if one.when not in gone]

    plan, took = timed(promised, left, f"again without {len(gone)} of {WEEKS} weeks")

    displaced = {one.ref for one in promised if one.promised in gone}
    moved = {one.ref for one in plan.people if plan.moved(one)}
    assert displaced <= moved
    told = {one.ref for one in promised if one.told}
    assert told & moved == told & displaced
    print(f"moved {len(moved):,}, of whom {len(displaced):,} had lost their slot")
    assert took < LIMIT


def test_it_grows_no_faster_than_the_people() -> None:
    """Time per person does not rise: people alike are planned together."""
    each = []
    for number in (2_500, 20_000):
        people, openings = many_waiting(number), many_openings(WEEKS, number // 500)
        _, took = timed(people, openings, "growth")
        each.append(took / number)
    assert each[1] < 2 * each[0]

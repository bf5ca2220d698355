"""Everybody's place has a reason."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st
from made_up_waiting import START, many_openings, many_waiting, opening, waiting, week

from aftercare.recall.catch_up import (
    Aim,
    Before,
    Opening,
    Proof,
    Waiting,
    best,
    reasons,
    soonest_day,
)


def said_of(ref: str, people: list[Waiting], openings: list[Opening]) -> str:
    plan = best(people, openings)
    return {one.ref: one.said for one in reasons(plan, soonest_day(openings))}[ref]


@settings(max_examples=25, deadline=None)
@given(
    number=st.integers(5, 70), seed=st.integers(0, 999), weeks=st.integers(1, 9),
    slots=st.integers(1, 3), shared=st.booleans(),
)  # fmt: skip
def test_in_a_new_plan_nobody_comes_before_another_without_a_cause(
    number: int, seed: int, weeks: int, slots: int, shared: bool
) -> None:
    """Were there none, the two could change places and less would be lost."""
    people = many_waiting(number, seed=seed, longest=500)
    openings = many_openings(weeks, slots, shared=shared and number < 25)
    plan = best(people, openings)

    told = list(reasons(plan, soonest_day(openings)))

    assert sorted(one.ref for one in told) == sorted(one.ref for one in people)
    causes = {ahead.why for one in told for ahead in one.ahead}
    assert not causes & {Before.TOLD, Before.KEPT, Before.CHANGE, Before.TIE}


def test_a_count_of_those_before_is_the_count() -> None:
    people = many_waiting(60)
    openings = many_openings(6, 2)
    plan = best(people, openings)
    by_ref = {one.ref: one for one in people}

    for reason in reasons(plan, soonest_day(openings)):
        me = by_ref[reason.ref]
        before = [
            one
            for one in people
            if (seat := plan.places[one.ref])
            and seat.day < plan.day(me)
            and seat.suits(me.stake)
            and seat.day >= me.due
        ]
        assert sum(ahead.people for ahead in reason.ahead) == len(before)
        assert {ahead.such_as for ahead in reason.ahead} <= {one.ref for one in before}


def test_a_reason_names_weight_due_day_limit_and_who_comes_before() -> None:
    people = [
        waiting("heavy", weight=5, over=10),
        waiting("older", weight=2, over=100),
        waiting("hurried", weight=1, over=1, left=17),
        waiting("me", weight=2, over=20, left=40),
    ]

    said = said_of("me", people, [opening(at) for at in range(4)])

    assert said == (
        "Seen 2026-W52: weight 2 a day for made-up; due 2026-11-10, 44 days over on 2026-12-24; "
        "limit 2027-01-09, kept with 16 days to spare. Seen earlier in a slot that suits: "
        "1 have a greater weight (heavy); 1 have the same weight and have been due as long or "
        "longer (older); 1 would else pass their hard limit (hurried)."
    )


def test_who_needs_the_longer_slot_is_told_apart() -> None:
    people = [waiting("long", weight=1, minutes=30), waiting("me", weight=2, minutes=20)]
    # The last clinic serves neither; it puts off the day on which having no place is counted.
    openings = [opening(0, minutes=30), opening(1, minutes=20), opening(20, minutes=15)]

    said = said_of("me", people, openings)

    assert said.startswith("Seen 2026-W50")
    assert "1 could not use the later slot instead (long)" in said


def test_a_greater_weight_is_no_reason_before_who_is_past_the_limit() -> None:
    people = [waiting("long", weight=9, left=60, minutes=30), waiting("me", weight=1, left=-99)]
    openings = [opening(0, minutes=30), opening(1, minutes=20), opening(20, minutes=15)]

    said = said_of("me", people, openings)

    assert "limit 2026-08-23, passed before the first clinic, and every further day counts" in said
    assert "suits: 1 could not use the later slot instead (long)." in said


def test_who_is_past_the_limit_comes_before_the_heavier_who_has_time() -> None:
    people = [waiting("past", weight=1, left=-99), waiting("me", weight=9, left=60)]

    said = said_of("me", people, [opening(0), opening(1)])

    assert "1 are past their hard limit, and lose more there by waiting (past)" in said


def test_who_would_pass_the_limit_comes_before_who_is_past_where_limits_hold() -> None:
    people = [waiting("past", weight=9, left=-99), waiting("near", weight=1, left=4)]

    said = said_of("past", people, [opening(0), opening(1)])

    assert "1 would else pass their hard limit (near)" in said


def test_to_pass_by_little_is_no_reason_before_who_loses_more_where_limits_are_weighed() -> None:
    people = [
        waiting("long", left=9, minutes=30),
        waiting("me", weight=3, left=-99),
        *(waiting(f"short{at}", left=5, minutes=15) for at in range(2)),
    ]
    # The last clinic serves only the short; it puts off the day on which no place is counted.
    openings = [opening(0, minutes=30), opening(1)]
    openings += [opening(at, minutes=15) for at in (0, 1, 20)]

    assert not best(people, openings).holds_limits
    assert "suits: 1 could not use the later slot instead (long)." in said_of(
        "me", people, openings
    )


def test_who_could_come_in_no_slot_in_time_is_told_so() -> None:
    people = [waiting("late", left=5), waiting("told", left=5, promised=week(1), told=True)]
    openings = [opening(0, minutes=15), opening(1, 2)]

    assert "passed by 5 days: no slot that suits is in time" in said_of("late", people, openings)
    openings = [opening(0), opening(1, 2)]
    assert "passed by 5 days: it is the day they were told" in said_of("told", people, openings)


def test_who_was_told_and_is_moved_past_the_limit_is_not_said_to_keep_the_day() -> None:
    people = [
        waiting(f"w{weight}", weight=weight, left=5, promised=week(0), told=True)
        for weight in (9, 1)
    ]

    said = said_of("w1", people, [opening(0), opening(1)])

    assert "passed by 5 days: no plan loses less past the limits" in said


def test_what_is_not_proved_is_not_said_to_be() -> None:
    people, openings = [waiting(f"p{at}", left=5) for at in range(2)], [opening(0), opening(1)]
    plan = best(people, openings)
    near = Proof(aim=Aim.PAST_DAYS, value=5, bound=4)

    told = list(reasons(replace(plan, proofs=(near,)), START))

    assert "passed by 5 days: no plan that was found loses less past the limits" in told[-1].said


def test_who_is_seen_before_one_is_due_does_not_come_before() -> None:
    people = [waiting("now", weight=9), waiting("me", over=-9)]

    said = said_of("me", people, [opening(0), opening(2)])

    assert "Nobody is seen earlier in a slot that suits." in said


def test_a_limit_that_is_passed_is_said_and_so_is_no_place() -> None:
    openings = [opening(1)]
    people = [
        waiting("a", weight=2, left=12),
        waiting("b", weight=1, left=12),
        waiting("c", left=-9),
    ]

    assert "no place" not in said_of("a", people, openings)
    passed = said_of("b", people, openings)
    assert passed.startswith("No place in this plan: ")
    assert "passed by 2 days: no plan loses less past the limits" in passed
    assert "passed before the first clinic" in said_of("c", people, openings)


def test_who_was_told_and_is_moved_is_told_so() -> None:
    told = waiting("told", promised=week(1), told=True)
    other = replace(told, ref="other")

    assert "Was told 2026-W50; no slot that suits is left then." in said_of(
        "told", [told], [opening(0)]
    )
    said = said_of("told", [told, other], [opening(1), opening(2)]) + said_of(
        "other", [told, other], [opening(1), opening(2)]
    )
    assert said.count("fewer slots then than people who were told") == 1
    kept = waiting("kept", promised=week(0))
    me = waiting("me", weight=9)
    assert "1 keep the day of the earlier plan (kept)" in said_of(
        "me", [kept, me], [opening(0), opening(1)]
    )
    assert START.isoformat() in said_of("me", [me], [opening(0)])

"""The plan that loses least, against brute force and textbook results."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date, timedelta
from heapq import heappop, heappush
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_up_waiting import START, many_openings, many_waiting, opening, waiting, week

from aftercare.recall.catch_up import (
    Aim,
    Custom,
    Opening,
    Plan,
    Span,
    Waiting,
    backlog,
    best,
    by_custom,
    invitations,
    measures,
)
from aftercare.recall.catch_up.optimum import day_after
from aftercare.recall.risk import Limits, RiskOrder

MONDAY = 0
RISKS = RiskOrder(
    lines={}, skills={}, limits=Limits.HELD, passing_weeks=4, invite_weeks=2, share_who_come=1.0
)

Choice = tuple[int | None, ...]
MINUTES, SKILL = (15, 20, 30), ("general", "cavity")

people_waiting = st.lists(
    st.builds(
        dict,
        weight=st.integers(1, 4),
        over=st.integers(-20, 60),
        left=st.integers(-20, 30),
        minutes=st.sampled_from(MINUTES),
        skill=st.sampled_from(SKILL),
        promised=st.sampled_from([None, None, week(0), week(1), week(2)]),
        told=st.booleans(),
    ),
    min_size=1,
    max_size=5,
).map(
    lambda rows: [
        waiting(f"p{at}", listed=at, **{**row, "told": row["told"] and row["promised"] is not None})
        for at, row in enumerate(rows)
    ]
)
nobody_promised = people_waiting.map(
    lambda people: [replace(one, promised=None, told=False) for one in people]
)


weeks_counted = st.sampled_from([0, 1, 2, 26])
OF_PROMISES = Aim.TOLD_MOVED, Aim.TOLD_LEFT, Aim.MOVED


def clinics(*, shared: bool) -> st.SearchStrategy[list[Opening]]:
    one = st.builds(
        opening,
        st.integers(0, 3),
        st.integers(1, 2),
        minutes=st.sampled_from((15, 20, 30, 45)),
        skill=st.sampled_from(SKILL),
        shared=st.just(value=True) if shared else st.just(value=False),
    )
    return st.lists(one, min_size=1, max_size=3 if shared else 4)


# --- brute force ------------------------------------------------------------------------


def brute(
    people: Sequence[Waiting], openings: Sequence[Opening], passing_weeks: int
) -> tuple[int, ...]:
    """The least of the aims in order, over every way to send everybody to a clinic or nowhere."""
    every = [losses(people, openings, one, passing_weeks) for one in choices(people, openings)]
    told = min(one[0] for one in every)
    stay = [one for one in every if one[0] == told]
    fewest = min(one[1] for one in stay)
    # That some pass decides nothing, as soon as nothing can prevent it.
    return fewest, told, *min(one[2:] for one in stay if fewest or not one[1])


def choices(people: Sequence[Waiting], openings: Sequence[Opening]) -> Iterator[Choice]:
    for choice in product([None, *range(len(openings))], repeat=len(people)):
        visits: dict[int, list[int]] = {}
        allowed = True
        for one, at in zip(people, choice, strict=True):
            if at is not None:
                allowed &= may_be(one, openings[at])
                visits.setdefault(at, []).append(one.stake.minutes)
        if allowed and all(fit(openings[at], lengths) for at, lengths in visits.items()):
            yield choice


def may_be(one: Waiting, clinic: Opening) -> bool:
    kept = one.told and one.promised is not None and clinic.when.meets(one.promised)
    return one.stake.skills <= clinic.skills and (one.due <= clinic.day or kept)


def fit(clinic: Opening, lengths: list[int]) -> bool:
    """Whether visits of these lengths fit into the slots, each tried in each."""
    if not clinic.shared:
        return len(lengths) <= clinic.slots and all(one <= clinic.minutes for one in lengths)
    return any(
        all(
            sum(m for m, slot in zip(lengths, slots, strict=True) if slot == n) <= clinic.minutes
            for n in range(clinic.slots)
        )
        for slots in product(range(clinic.slots), repeat=len(lengths))
    )


def losses(
    people: Sequence[Waiting], openings: Sequence[Opening], choice: Choice, passing_weeks: int
) -> tuple[int, ...]:
    days = [day_after(openings) if at is None else openings[at].day for at in choice]
    kept = [
        at is not None and one.promised is not None and openings[at].when.meets(one.promised)
        for one, at in zip(people, choice, strict=True)
    ]
    return counted(people, openings, days, kept, [at is None for at in choice], passing_weeks)


def reached(plan: Plan, openings: Sequence[Opening]) -> tuple[int, ...]:
    """The same of a plan, counted from its places and not from its proofs."""
    days = [plan.day(one) for one in plan.people]
    kept = [one.promised is not None and not plan.moved(one) for one in plan.people]
    out = [plan.places[one.ref] is None for one in plan.people]
    return counted(plan.people, openings, days, kept, out, plan.passing_weeks)


def counted(
    people: Sequence[Waiting],
    openings: Sequence[Opening],
    days: Sequence[date],
    kept: Sequence[bool],
    out: Sequence[bool],
    passing_weeks: int,
) -> tuple[int, ...]:
    """Told and moved, passed, told and left, days past with what passing counts, moved, risk."""
    first = min(one.day for one in openings)
    told = passed = left = past = moved = risk = 0
    for one, day, stays, never in zip(people, days, kept, out, strict=True):
        away = one.promised is not None and not stays
        told += away and one.told
        left += never and one.told
        moved += away
        late = max(0, (day - max(one.limit, first)).days)
        could = any(
            clinic.day <= one.limit and one.due <= clinic.day and seats(one, clinic)
            for clinic in openings
        )
        passing = one.limit >= first and late > 0 and could
        passed += passing and not (stays and one.told)
        past += one.stake.weight * (late + 7 * passing_weeks * passing)
        risk += one.stake.weight * max(0, (day - one.due).days)
    return told, passed, left, past, moved, risk


def seats(one: Waiting, clinic: Opening) -> bool:
    """Whether a visit can be at a clinic at all."""
    return one.stake.skills <= clinic.skills and one.stake.minutes <= clinic.minutes


def proved(plan: Plan) -> dict[Aim, int]:
    """What a plan came to by its own proofs, each exact."""
    assert all(proof.exact for proof in plan.proofs)
    return {proof.aim: proof.value for proof in plan.proofs}


@settings(max_examples=150, deadline=None)
@given(people=people_waiting, openings=clinics(shared=False), passing_weeks=weeks_counted)
def test_no_way_to_send_people_to_clinics_loses_less(
    people: list[Waiting], openings: list[Opening], passing_weeks: int
) -> None:
    plan = best(people, openings, passing_weeks=passing_weeks)

    fewest, *least = brute(people, openings, passing_weeks)
    told, passed, *rest = reached(plan, openings)
    assert [told, *rest] == least
    assert (plan.holds_limits, passed == 0 or fewest > 0) == (fewest == 0, True)
    found = proved(plan)
    assert found[Aim.PASSED] == fewest
    assert (found[Aim.PAST_DAYS], found[Aim.RISK_DAYS]) == (least[2], least[4])
    if any(one.promised for one in people):
        assert [found[one] for one in OF_PROMISES] == [least[0], least[1], least[3]]


@settings(max_examples=60, deadline=None)
@given(people=nobody_promised, openings=clinics(shared=True), passing_weeks=weeks_counted)
def test_no_way_to_share_slots_loses_less(
    people: list[Waiting], openings: list[Opening], passing_weeks: int
) -> None:
    plan = best(people, openings, passing_weeks=passing_weeks)

    fewest, *least = brute(people, openings, passing_weeks)
    told, passed, *rest = reached(plan, openings)
    assert [told, *rest] == least
    assert proved(plan)[Aim.PASSED] == fewest
    assert passed == 0 or fewest > 0
    for at, clinic in enumerate(openings):
        here = [one for one in people if (s := plan.places[one.ref]) and s.opening == at]
        assert fit(clinic, [one.stake.minutes for one in here])


def test_proofs_say_what_was_reached() -> None:
    people = many_waiting(60)
    plan = best(people, many_openings(6, 2))

    found, told = proved(plan), measures(plan, many_openings(6, 2), START)
    assert set(found) == {Aim.PASSED, Aim.PAST_DAYS, Aim.RISK_DAYS}
    assert found[Aim.RISK_DAYS] == told.risk_days
    assert found[Aim.PAST_DAYS] == told.past_days


# --- textbook results, reached through the same code --------------------------------------

one_server = st.lists(
    st.tuples(st.integers(1, 9), st.integers(1, 70)), min_size=1, max_size=9
)  # weight, days to the due day of scheduling theory, which is our limit


def a_slot_a_week(number: int) -> list[Opening]:
    return [opening(at) for at in range(number)]


@settings(max_examples=60, deadline=None)
@given(jobs=one_server)
def test_earliest_due_date_tells_how_late_the_latest_must_be(jobs: list[tuple[int, int]]) -> None:
    """Jackson 1955: by earliest due date, the greatest lateness is as small as it can be.

    So nobody need pass a limit put off by that lateness, and somebody must with a day less.
    """
    slots = a_slot_a_week(len(jobs))
    late = max(
        (slot.day - START).days - left
        for slot, left in zip(slots, sorted(left for _, left in jobs), strict=True)
    )

    def past(put_off: int) -> int:
        people = [
            waiting(f"p{at}", weight=weight, left=left + put_off)
            for at, (weight, left) in enumerate(jobs)
        ]
        return measures(best(people, slots), slots, START).past_limit

    assert past(late) == 0
    assert past(late - 1) > 0


@settings(max_examples=60, deadline=None)
@given(jobs=one_server)
def test_equal_visits_go_by_weight(jobs: list[tuple[int, int]]) -> None:
    """Smith 1956: the greatest weight for the time goes first; with equal times, the heaviest."""
    slots = a_slot_a_week(len(jobs))
    people = [waiting(f"p{at}", weight=weight) for at, (weight, _) in enumerate(jobs)]

    plan = best(people, slots)

    in_turn = sorted((weight for weight, _ in jobs), reverse=True)
    least = sum(w * (slot.day - START).days for w, slot in zip(in_turn, slots, strict=True))
    assert reached(plan, slots)[-1] == least
    order = sorted(people, key=plan.day)
    assert [one.stake.weight for one in order] == in_turn


@settings(max_examples=60, deadline=None)
@given(jobs=one_server)
def test_no_fewer_can_be_late(jobs: list[tuple[int, int]]) -> None:
    """Moore 1968: add jobs by due date; when one would be late, give up the longest so far.

    With equal times any of them will do. Limits already passed are left out, as plans count them.
    """
    slots = a_slot_a_week(len(jobs))
    kept: list[int] = []
    lefts = sorted(left for _, left in jobs)
    for left in lefts:
        heappush(kept, left)
        if left < (slots[len(kept) - 1].day - START).days:
            heappop(kept)
    hopeless = sum(left < (slots[0].day - START).days for left in lefts)

    people = [waiting(f"p{at}", left=left) for at, left in enumerate(lefts)]

    assert proved(best(people, slots))[Aim.PASSED] == len(jobs) - len(kept) - hopeless


@settings(max_examples=60, deadline=None)
@given(jobs=one_server)
def test_alike_in_weight_the_nearest_limit_goes_first(jobs: list[tuple[int, int]]) -> None:
    """Emmons 1969 (Operations Research 17:701, from memory): with equal times, and so with slots,
    going by due date makes the sum of lateness least.

    Nobody here is past the limit at first, so that to hold the limits never costs lateness.
    """
    slots = a_slot_a_week(len(jobs))
    lefts = sorted(left + 2 for _, left in jobs)
    late = sum(
        max(0, (slot.day - START).days - left) for slot, left in zip(slots, lefts, strict=True)
    )

    people = [waiting(f"p{at}", weight=3, left=left) for at, left in enumerate(lefts)]

    assert proved(best(people, slots))[Aim.PAST_DAYS] == 3 * late


def years_past(*others: Waiting) -> list[Waiting]:
    """Somebody two years past the limit, and others who are within theirs."""
    return [waiting("past", weight=4, over=1100, left=-740), *others]


def test_who_is_years_past_the_limit_is_not_left_for_last() -> None:
    """To keep the fewest passing theirs, nobody would ever be seen for whom it is too late."""
    within = [waiting(f"w{at}", weight=4, over=20, left=10) for at in range(6)]
    people, slots = years_past(*within), a_slot_a_week(4)
    plan = best(people, slots)

    assert not plan.holds_limits
    assert plan.places["past"] == min(plan.seats, key=lambda seat: seat.day)


def test_who_is_past_the_limit_is_seen_before_who_has_time() -> None:
    within = [waiting(f"w{at}", weight=9, over=200, left=28) for at in range(3)]
    people = years_past(*within)
    plan = best(people, a_slot_a_week(4))

    assert plan.holds_limits
    assert plan.day(people[0]) < min(plan.day(one) for one in within)


@pytest.mark.parametrize(("limits", "first"), [(Limits.HELD, "within"), (Limits.WEIGHED, "past")])
def test_limits_are_held_or_weighed_as_the_clinic_decides(limits: Limits, first: str) -> None:
    people = years_past(waiting("within", weight=4, over=20, left=5))

    plan = best(people, a_slot_a_week(2), limits=limits)

    assert min(people, key=plan.day).ref == first
    assert {proof.aim for proof in plan.proofs if proof.aim is Aim.PASSED} == (
        {Aim.PASSED} if limits is Limits.HELD else set()
    )


@pytest.mark.parametrize(("weeks", "passing"), [(0, 2), (4, 1)])
def test_what_it_counts_to_pass_a_limit_keeps_more_within_theirs(weeks: int, passing: int) -> None:
    """Two slots, one in time for one of two, and somebody past the limit already."""
    people = years_past(*(waiting(f"w{at}", weight=4, over=20, left=5) for at in range(2)))

    plan = best(people, a_slot_a_week(2), passing_weeks=weeks)

    assert not plan.holds_limits
    assert sum(plan.day(one) > one.limit for one in people[1:]) == passing


def test_the_fewest_who_could_pass_are_told_though_slots_are_divided_for_others() -> None:
    """Cut in three, the slot would keep three of four in time; in two, it loses less."""
    past = [waiting(f"past{at}", weight=9, over=900, left=-500, minutes=30) for at in range(2)]
    within = [waiting(f"w{at}", weight=1, left=5) for at in range(4)]

    plan = best([*past, *within], [opening(0, minutes=60, shared=True)])

    assert [plan.places[one.ref] is not None for one in past] == [True, True]
    assert proved(plan)[Aim.PASSED] == 1


def test_a_limit_no_slot_can_keep_lets_the_others_hold() -> None:
    hopeless = waiting("hopeless", weight=9, left=5, minutes=30)
    within = waiting("within", weight=1, left=5)
    openings = [opening(0), opening(1, minutes=30)]

    plan = best([*years_past(), hopeless, within], openings)

    assert plan.holds_limits
    assert plan.places["within"].when == week(0)
    assert plan.places["hopeless"].when == week(1)


def test_a_day_told_past_the_limit_lets_the_others_hold() -> None:
    told = waiting("told", left=5, promised=week(1), told=True)
    within = waiting("within", left=5)

    plan = best([*years_past(), told, within], [opening(0), opening(1), opening(2)])

    assert plan.holds_limits
    assert {ref: seat.when for ref, seat in plan.places.items() if seat} == {
        "told": week(1), "within": week(0), "past": week(2),
    }  # fmt: skip


def test_the_limit_comes_before_the_weight() -> None:
    light = waiting("light", weight=1, over=30, left=3)
    heavy = waiting("heavy", weight=100, over=30, left=30)

    plan = best([heavy, light], a_slot_a_week(2))

    assert plan.day(light) < plan.day(heavy) <= heavy.limit


def test_who_is_alike_goes_by_how_long_they_are_overdue() -> None:
    people = [waiting(f"p{over}", over=over) for over in (3, 400, 12, 0, 90)]

    plan = best(people, a_slot_a_week(5))

    assert [one.ref for one in sorted(people, key=plan.day)] == ["p400", "p90", "p12", "p3", "p0"]


def test_where_it_makes_no_difference_the_longer_overdue_goes_first() -> None:
    people = [
        waiting("new", over=1, minutes=15),
        waiting("old", over=400, minutes=20),
        waiting("older", over=500, minutes=30),
    ]
    openings = [opening(0, minutes=20), opening(1, minutes=20), opening(2, minutes=30)]

    plan = best(people, openings)

    # The longest visit fits last alone.
    assert [one.ref for one in sorted(people, key=plan.day)] == ["old", "new", "older"]


@pytest.mark.parametrize(("told", "at"), [(True, 0), (False, 2)])
def test_only_a_day_that_was_told_stands_before_one_is_due(told: bool, at: int) -> None:
    early = waiting("early", over=-11, promised=week(0), told=told)

    plan = best([early], a_slot_a_week(3))

    assert plan.places["early"].when == week(at)


# --- laws ---------------------------------------------------------------------------------


@settings(max_examples=80, deadline=None)
@given(people=people_waiting, openings=clinics(shared=False))
def test_nobody_is_lost_and_nothing_is_overbooked(
    people: list[Waiting], openings: list[Opening]
) -> None:
    for plan in (best(people, openings), *(by_custom(people, openings, one) for one in Custom)):
        assert sorted(plan.places) == sorted(one.ref for one in people)
        taken = Counter(seat.opening for seat in plan.places.values() if seat)
        assert all(openings[at].slots >= number for at, number in taken.items())
        for one in people:
            seat = plan.places[one.ref]
            if seat is not None:
                assert one.stake.minutes <= openings[seat.opening].minutes
                assert one.stake.skills <= openings[seat.opening].skills
                assert may_be(one, openings[seat.opening])


@settings(max_examples=60, deadline=None)
@given(people=nobody_promised, openings=clinics(shared=False), more=clinics(shared=False))
def test_more_clinics_never_lose_more(
    people: list[Waiting], openings: list[Opening], more: list[Opening]
) -> None:
    # A clinic after the last would put off the day on which people without a place are counted.
    last = max(one.when for one in openings)
    first = min(one.day for one in openings)
    more = [one for one in more if one.when <= last and one.day >= first]

    few, many = (
        best(people, clinics, limits=Limits.WEIGHED) for clinics in (openings, [*openings, *more])
    )

    few_lose, many_lose = reached(few, openings), reached(many, openings)
    assert (many_lose[3], many_lose[-1]) <= (few_lose[3], few_lose[-1])


@settings(max_examples=60, deadline=None)
@given(people=nobody_promised, openings=clinics(shared=False))
def test_no_custom_does_better(people: list[Waiting], openings: list[Opening]) -> None:
    plan = best(people, openings, passing_weeks=2)
    ours = reached(plan, openings)
    for custom in Custom:
        other = replace(by_custom(people, openings, custom), passing_weeks=2)
        theirs = reached(other, openings)
        assert proved(plan)[Aim.PASSED] <= theirs[1]
        if not (plan.holds_limits and theirs[1]):
            assert (ours[3], ours[-1]) <= (theirs[3], theirs[-1])


@settings(max_examples=40, deadline=None)
@given(people=nobody_promised, openings=clinics(shared=False), turn=st.randoms())
def test_the_order_of_the_list_changes_nothing(
    people: list[Waiting], openings: list[Opening], turn: object
) -> None:
    again = list(people)
    turn.shuffle(again)  # type: ignore[attr-defined]
    assert dict(best(again, openings).places) == dict(best(people, openings).places)


def test_customs_are_what_they_say() -> None:
    people = [
        waiting("last", over=900, listed=2),
        waiting("first", over=10, listed=0),
        waiting("mid", over=50, listed=1),
    ]
    oldest, come = (by_custom(people, a_slot_a_week(3), one) for one in Custom)

    assert [o.ref for o in sorted(people, key=oldest.day)] == ["last", "mid", "first"]
    assert [o.ref for o in sorted(people, key=come.day)] == ["first", "mid", "last"]


@pytest.mark.parametrize("custom", list(Custom))
def test_under_a_custom_too_a_day_that_was_told_is_kept(custom: Custom) -> None:
    people = [
        waiting("first", over=900, listed=0),
        waiting("told", over=9, listed=1, promised=week(0), told=True),
    ]
    places = by_custom(people, a_slot_a_week(2), custom).places

    assert {ref: seat.when for ref, seat in places.items() if seat} == {
        "told": week(0), "first": week(1),
    }  # fmt: skip


# --- clinics cancelled again ----------------------------------------------------------------


def with_promises(plan: Plan, told: int) -> list[Waiting]:
    """The same people, each promised the day of the plan, the first ``told`` of them told."""
    planned = 0
    people = []
    for one in plan.people:
        seat = plan.places[one.ref]
        planned += seat is not None
        people.append(
            replace(one, promised=seat and seat.when, told=seat is not None and planned <= told)
        )
    return people


def test_planning_again_with_the_same_clinics_moves_nobody() -> None:
    openings = many_openings(6, 2)
    people = with_promises(best(many_waiting(80), openings), 10)

    again = best(people, openings)

    assert [one.ref for one in people if again.moved(one)] == []


def test_only_those_whose_slot_is_gone_move_if_that_costs_no_limit() -> None:
    openings = [opening(at, 2) for at in range(6)]
    people = [waiting(f"p{at}", weight=1 + at % 3, over=at) for at in range(8)]
    before = best(people, openings)
    gone = [one for one in openings if one.when != week(1)]

    again = best(with_promises(before, 8), gone)

    moved = {one.ref for one in again.people if again.moved(one)}
    assert moved == {one.ref for one in people if before.places[one.ref].when == week(1)}
    assert len(moved) == 2


def test_who_was_told_stays_even_where_somebody_else_passes_the_limit() -> None:
    told = waiting("told", promised=week(0), told=True)
    urgent = waiting("urgent", weight=9, over=100, left=5)

    plan = best([told, urgent], a_slot_a_week(3))
    assert plan.places["told"].when == week(0)
    assert plan.day(urgent) > urgent.limit

    plan = best([replace(told, told=False), urgent], a_slot_a_week(3))
    assert plan.places["urgent"].when == week(0)


def test_of_people_alike_the_longer_overdue_keeps_the_day_both_were_told() -> None:
    older, newer = (waiting(f"p{over}", over=over, promised=week(1), told=True) for over in (90, 5))

    plan = best([newer, older], [opening(1), opening(2)])

    assert plan.places[older.ref].when == week(1)
    assert plan.places[newer.ref].when == week(2)


def test_to_come_before_one_is_due_saves_nothing() -> None:
    told = waiting("told", weight=9, over=-30, promised=week(0), told=True)
    now = waiting("now", weight=1, over=5)
    monday = replace(opening(0), when=Span.day(START), day=START)

    plan = best([told, now], [monday, opening(0)])

    assert plan.day(now) < plan.day(told)
    assert proved(plan)[Aim.RISK_DAYS] == 5


# --- figures ------------------------------------------------------------------------------


def test_the_backlog_begins_with_everybody_due_and_ends_with_those_without_a_place() -> None:
    people, openings = many_waiting(60), many_openings(6, 2)
    plan = best(people, openings)
    weeks = backlog(plan, START, MONDAY)

    assert weeks[0].day == START - timedelta(days=1)
    assert weeks[0].waiting == sum(one.due < START for one in people)
    assert weeks[-1].waiting == measures(plan, openings, START).without_place
    assert [one.day.weekday() for one in weeks] == [6] * len(weeks)
    assert [a.waiting for a in weeks] == sorted((a.waiting for a in weeks), reverse=True)


@pytest.mark.parametrize("first_weekday", range(7))
def test_weeks_are_told_from_whichever_day_begins_one(first_weekday: int) -> None:
    people, openings = many_waiting(60), many_openings(6, 2)
    plan = best(people, openings)
    weeks = backlog(plan, START, first_weekday)
    invited = invitations(plan, START, RISKS, first_weekday)

    ends = [one.day for one in weeks[1:]]
    assert [end.weekday() for end in ends] == [(first_weekday + 6) % 7] * len(ends)
    assert START <= ends[0] < START + timedelta(days=7)
    assert plan.beyond <= ends[-1] + timedelta(days=1) < plan.beyond + timedelta(days=7)
    assert {one.first.weekday() for one in invited} == {first_weekday}
    assert START - timedelta(days=7) < invited[0].first <= START
    assert sum(one.planned for one in invited) == measures(plan, openings, START).planned
    # The last is invited so many weeks before, in the week that holds that day.
    last = max(s.day for s in plan.places.values() if s) - timedelta(weeks=RISKS.invite_weeks)
    assert invited[-1].first <= max(last, START) < invited[-1].first + timedelta(days=7)


@pytest.mark.parametrize(("over", "median"), [([0, 0, 0], 10), ([0] * 7, None)])
def test_the_median_wait_counts_those_without_a_place_last(
    over: list[int], median: int | None
) -> None:
    people = [waiting(f"p{at}", over=one) for at, one in enumerate(over)]
    openings = a_slot_a_week(3)
    assert measures(best(people, openings), openings, START).median_wait == median


def test_no_people_make_an_empty_plan() -> None:
    plan = best([], a_slot_a_week(2))
    assert (dict(plan.places), plan.proofs) == ({}, ())
    assert measures(plan, a_slot_a_week(2), START).median_wait is None

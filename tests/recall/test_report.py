"""The report: numbers that add up to the whole, whatever the register holds."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_up import HOME
from made_up_recalls import CONDITIONS, a_recall, recalls

from aftercare.edges.risks import PLACE as RISKS
from aftercare.edges.risks import parse_risks
from aftercare.recall.people import RecallState
from aftercare.recall.port import Course
from aftercare.recall.report import OPEN, Place, place_of, report

ON = date(2027, 3, 10)
ORDER = parse_risks((HOME / RISKS).read_bytes(), CONDITIONS)


@st.composite
def courses(draw: st.DrawFn) -> list[Course]:
    """Patients with none, one or several recalls each."""
    found = []
    for number in range(draw(st.integers(0, 6))):
        theirs = draw(st.lists(recalls(), max_size=3))
        found += [Course(number, _whole(one), draw(st.booleans())) for one in theirs]
        found += [] if theirs else [Course(number, None, False)]
    return found


def _whole(recall):  # type: ignore[no-untyped-def]
    """With the day it was closed, as the register asks."""
    closed = recall.state is RecallState.CLOSED
    return replace(recall, closed=date(2027, 1, 1) if closed else None)


@given(courses())
def test_every_patient_and_every_recall_is_counted_once(given: list[Course]) -> None:
    found = report(given, ORDER, ON)
    everything = found.everything

    assert found.patients.total() == len({one.patient for one in given})
    assert everything.total == sum(one.recall is not None for one in given)
    assert everything.total == sum(one.total for one in found.conditions.values())
    for place in Place:
        assert everything.places[place] == sum(
            one.places[place] for one in found.conditions.values()
        )
    # Counted again, the plain way.
    assert everything.places == Counter(
        place_of(one.recall, ON) for one in given if one.recall is not None
    )
    open_ = everything.of(OPEN)
    assert open_ == sum(
        one.recall is not None and one.recall.state is not RecallState.CLOSED for one in given
    )
    for some in (everything.reached, everything.lost):
        assert all(some[place] <= everything.places[place] for place in Place)
        assert 0 <= some.total() <= open_
    assert everything.lost[Place.BOOKED] == 0


@pytest.mark.parametrize(
    ("late", "place"),
    [
        (-1, Place.LATER), (0, Place.TO_4), (28, Place.TO_4), (29, Place.TO_13),
        (91, Place.TO_13), (92, Place.TO_26), (182, Place.TO_26), (183, Place.TO_52),
        (364, Place.TO_52), (365, Place.OVER_52), (4 * 365, Place.OVER_52),
    ],
)  # fmt: skip
def test_the_bands_meet_without_a_gap(late: int, place: Place) -> None:
    assert place_of(a_recall(due=ON - timedelta(days=late)), ON) is place


def test_a_patient_is_where_the_most_pressing_open_recall_is() -> None:
    later = a_recall(due=ON + timedelta(days=9))
    booked = a_recall(due=ON, booked=datetime(2027, 3, 11, tzinfo=UTC))
    waiting = a_recall(state=RecallState.WAITING, waiting_on="Sam Field", because="rang")
    late = a_recall(due=ON - timedelta(days=200))
    came = a_recall(state=RecallState.CLOSED, because="came: early", closed=date(2026, 1, 1))
    died = a_recall(state=RecallState.CLOSED, because="died", closed=date(2026, 5, 1))

    def place(*theirs):  # type: ignore[no-untyped-def]
        (found,) = report([Course(1, one, False) for one in theirs], ORDER, ON).patients
        return found

    assert place(came, later) is Place.LATER
    assert place(later, booked) is Place.BOOKED
    assert place(booked, waiting) is Place.WAITING
    assert place(waiting, late) is Place.TO_52
    assert place(died, came) is Place.ENDED
    assert place(came) is Place.CAME


def test_lost_is_past_the_hard_limit_without_a_visit() -> None:
    # Wax may wait 52 weeks, an open cavity 26.
    due = ON - timedelta(weeks=27)
    wax = a_recall(due=due, anchor=date(2025, 1, 1))
    wax = replace(wax, anchor=due - timedelta(days=181))
    cavity = replace(wax, condition="condition:open-cavity")
    booked = replace(cavity, booked=datetime(2027, 3, 11, tzinfo=UTC))
    waiting = replace(cavity, state=RecallState.WAITING, waiting_on="Sam", because="rang")

    found = report(
        [Course(n, one, False) for n, one in enumerate((wax, cavity, booked, waiting))], ORDER, ON
    )

    assert found.conditions["wax"].lost.total() == 0
    assert found.conditions["open-cavity"].lost == Counter(
        {Place.TO_52: 1, Place.WAITING: 1, Place.BOOKED: 0}
    )

"""Who waits, out of the register: everybody due is planned for or named."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from made_up_waiting import START, week

from aftercare.errors import BadInput
from aftercare.model import Interval
from aftercare.recall.catch_up import (
    Earlier,
    Listed,
    Span,
    due_by,
    from_register,
    in_reach,
    to_plan,
    with_earlier,
)
from aftercare.recall.people import Person, Recall, RecallState, Standing
from aftercare.recall.risk import Limits, Risk, RiskOrder

CAVITY, WAX = "condition:open-cavity", "condition:wax"
BOOKED = datetime(2026, 12, 9, 9, 30, tzinfo=ZoneInfo("Europe/London"))


def line(condition: str, weight: int, limit_weeks: int, minutes: int, skill: str) -> Risk:
    return Risk(
        condition=condition, weight=weight, limit_weeks=limit_weeks, minutes=minutes, skill=skill,
        source="made up",
    )  # fmt: skip


RISKS = RiskOrder(
    lines={
        CAVITY: line(CAVITY, 8, 26, 30, "cavity"),
        "other": line("other", 1, 52, 20, "general"),
    },
    skills={},
    limits=Limits.HELD,
    passing_weeks=0,
    invite_weeks=3,
    share_who_come=1.0,
)


def pair(
    ref: str, number: int = 1, *, standing: Standing = Standing.READY, **more: object
) -> tuple[Recall, Person]:
    person = Person(ref=ref, first_name="Maud", last_name="Orrin", language="en", standing=standing)
    values = {"due": date(2026, 11, 2), "condition": WAX, **more}
    recall = Recall(
        person=ref,
        id=number,
        anchor=date(2026, 5, 4),
        interval=Interval(months=6),
        **values,  # type: ignore[arg-type]
    )
    return recall, person


def test_everybody_due_is_listed_or_left_out_by_name() -> None:
    waits = {"state": RecallState.WAITING, "waiting_on": "B. Example"}
    rows = [
        pair("second", 2),
        pair("first", 1),
        pair("silent", 3, standing=Standing.SILENT),
        pair("held", 4, standing=Standing.HOLD),
        pair("asked", 5, **waits),
        pair("later", 6, due=date(2027, 2, 1)),
        pair("booked", 7, due=date(2027, 2, 1), booked=BOOKED, told=True, **waits),
        pair("came?", 8, booked=BOOKED - timedelta(days=10), told=True),
    ]

    listed, left_out = from_register(rows, RISKS, start=START, until=START, earlier=())

    assert [one.ref for one in listed] == ["first", "second", "booked"]
    assert {one.ref: one.because for one in left_out} == {
        "silent": "may not be contacted",
        "held": "on hold until a person decides",
        "asked": "waits on B. Example",
        "came?": "booked for 2026-11-29, and nobody has said whether they came",
    }
    booked = listed[-1]
    assert (booked.promised, booked.told) == (Span.day(date(2026, 12, 9)), True)


def test_putting_off_moves_no_limit() -> None:
    """The limit is counted from the day that was agreed, as on the list of a day."""
    rows = [
        pair("as-agreed", 1, due=date(2026, 11, 4)),
        pair("put-off", 2, due=date(2026, 11, 30)),
        pair("cavity", 3, due=date(2026, 11, 30), condition=CAVITY),
    ]

    listed, _ = from_register(rows, RISKS, start=START, until=START, earlier=())

    # Six months from 4 May, and then the 52 or 26 weeks of RISKS.
    assert [one.limit for one in to_plan(listed, RISKS)] == [
        date(2027, 11, 3), date(2027, 11, 3), date(2027, 5, 5),
    ]  # fmt: skip
    assert [one.due for one in to_plan(listed, RISKS)] == [one.due for one, _ in rows]


def test_whose_day_is_past_or_beyond_the_plan() -> None:
    rows = [
        Listed(ref="planned", conditions=(), due=START, promised=week(-2)),
        Listed(ref="told", conditions=(), due=START, promised=week(-2), told=True),
        Listed(ref="now", conditions=(), due=START, promised=week(0), told=True),
        Listed(ref="last", conditions=(), due=START, promised=week(4), told=True),
        Listed(ref="far", conditions=(), due=START, promised=week(5), told=True),
        Listed(ref="far-planned", conditions=(), due=START, promised=week(5)),
    ]

    people, left_out = in_reach(to_plan(rows, RISKS), START, week(5).first)

    assert {one.ref: one.promised for one in people} == {
        "planned": None, "now": week(0), "last": week(4), "far-planned": week(5),
    }  # fmt: skip
    assert {one.ref: one.because for one in left_out} == {
        "told": "was told 2026-W47, and nobody has said whether they came",
        "far": "was told 2027-W01, which is after the last clinic of this plan",
    }


def test_somebody_due_for_two_things_comes_once_by_the_nearer_limit() -> None:
    rows = [
        Listed(ref="a", conditions=(WAX,), due=date(2026, 1, 5)),
        Listed(ref="b", conditions=(), due=date(2026, 1, 5)),
        Listed(ref="a", conditions=(CAVITY,), due=date(2026, 3, 2), promised=week(1), told=True),
    ]

    a, b = to_plan(rows, RISKS)

    assert (a.ref, a.listed, b.ref, b.listed) == ("a", 0, "b", 1)
    assert (a.stake.weight, a.stake.minutes, a.stake.skills) == (8, 30, {"cavity", "general"})
    assert a.due == date(2026, 1, 5)
    # Wax may wait 52 weeks from 5 January, the cavity 26 from 2 March.
    assert a.limit == date(2026, 8, 31)
    assert (a.promised, a.told) == (week(1), True)


def test_what_is_newer_than_the_earlier_plan_counts() -> None:
    rows = [
        Listed(ref="plan", conditions=(), due=START),
        Listed(ref="rebooked", conditions=(), due=START, promised=week(4), told=True),
        Listed(ref="same", conditions=(), due=START, promised=Span.day(week(1).first)),
        Listed(ref="new", conditions=(), due=START),
    ]
    earlier = {ref: Earlier(when=week(1), told=True) for ref in ("plan", "rebooked", "same")}

    known = {one.ref: one for one in with_earlier(to_plan(rows, RISKS), earlier)}

    assert (known["plan"].promised, known["plan"].told) == (week(1), True)
    assert (known["rebooked"].promised, known["rebooked"].told) == (week(4), True)
    assert (known["same"].promised, known["same"].told) == (Span.day(week(1).first), True)
    assert (known["new"].promised, known["new"].told) == (None, False)


def test_a_day_nobody_knows_is_asked_for() -> None:
    rows = [Listed(ref="a", conditions=(), due=START, told=True)]
    with pytest.raises(BadInput, match="'a' was told a day, and it is not known which"):
        with_earlier(to_plan(rows, RISKS), {})


def test_who_is_not_due_is_named_unless_a_day_was_told() -> None:
    later = date(2027, 3, 1)
    rows = [
        Listed(ref="due", conditions=(), due=START),
        Listed(ref="later", conditions=(), due=later),
        Listed(ref="told", conditions=(), due=later, promised=week(1), told=True),
    ]

    people, left_out = due_by(to_plan(rows, RISKS), START)

    assert [one.ref for one in people] == ["due", "told"]
    assert [(one.ref, one.because) for one in left_out] == [("later", "not due before 2027-03-01")]

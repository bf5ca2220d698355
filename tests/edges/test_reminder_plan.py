"""Reminders in `shared/recall.toml`: what the reader refuses, with its line."""

from __future__ import annotations

import pytest
from made_up import HOME
from made_up_recalls import CONDITIONS

from aftercare.edges.reminder_plan import PLACE, parse_reminder_plan
from aftercare.errors import BadContent
from aftercare.model import Moment
from aftercare.recall.steps import OTHER

SHIPPED = (HOME / PLACE).read_text("utf-8")


def refused(*changes: tuple[str, str]) -> BadContent:
    text = SHIPPED
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    with pytest.raises(BadContent) as caught:
        parse_reminder_plan(text.encode(), CONDITIONS)
    return caught.value


def line_of(words: str) -> int:
    return SHIPPED[: SHIPPED.index(words)].count("\n") + 1


def test_the_shipped_plan_ends_every_sequence_with_a_person() -> None:
    plan = parse_reminder_plan(SHIPPED.encode(), CONDITIONS)

    assert set(plan.sequences) == {OTHER, "condition:open-cavity"}
    assert all(steps[-1].by for steps in plan.sequences.values())
    assert set(plan.events) == {
        Moment.BOOKED, Moment.CHANGED, Moment.CANCELLED, Moment.MISSED,
    }  # fmt: skip
    assert plan.sequence(None) == plan.sequence("condition:wax") == plan.sequences[OTHER]
    assert all(step.source for steps in plan.sequences.values() for step in steps)


@pytest.mark.parametrize(
    ("group", "fact"),
    [("age", "child"), ("need", "deaf"), ("caution", "diabetes"), ("status", "discharged")],
)
def test_nothing_but_a_condition_can_have_a_sequence(group: str, fact: str) -> None:
    """No protected characteristic chooses how soon or how often somebody is written to."""
    for name in (f'"{group}:{fact}"', fact, group):
        told = refused(("[[sequence.open-cavity]]", f"[[sequence.{name}]]"))
        assert "no condition" in told.problem


@pytest.mark.parametrize(
    ("changes", "problem"),
    [
        ([('by = ["phone", "letter", "text"]', 'by = ["phone"]')], "nobody who cannot phone"),
        (
            [('days = 28\nby = ["phone", "letter", "text"]', 'days = 28\nmoment = "overdue"\n'
              'channels = ["sms"]')],
            "ends with a message",
        ),
        ([("days = -42\nuntil = -15", "days = -42\nuntil = 3")], "a day to come"),
        ([("days = -42\nuntil = -15", "days = -42")], "a day to come"),
        ([("days = -42\nuntil = -15", "days = -42\nuntil = -50")], "over before its day"),
        ([("days = -42\nuntil = -15", "days = -10\nuntil = -5")], "is not after 'invite'"),
        ([("days = 7\n", "days = 0\n")], "a day gone by"),
        ([('name = "unbooked"', 'name = "invite"')], "stands twice"),
        ([('name = "booked"', 'name = "invite"')], "stands twice"),
        ([('name = "booked"', 'name = "cancelled"')], "stands twice"),
        ([('moment = "invite"', 'moment = "booked"')], "has no moment of"),
        ([('moment = "missed"', 'moment = "changed"')], "steps for"),
        ([('channels = ["sms", "email", "print"]', "channels = []")], "needs channels"),
        ([('channels = ["sms", "email", "print"]', 'channels = ["sms", "sms"]')], "each once"),
        ([('to = "20:00"', 'to = "07:00"')], "later than 'from'"),
        ([('to = "20:00"', 'to = "24:00"')], "reminders.to"),
        ([("household_a_day = 1", "household_a_day = 0")], "household_a_day"),
        ([("\n[reminders]", "\n[remainders]")], "reminders"),
        ([("[retention]", "[retension]")], "nothing reads [retension]"),
        ([('name = "invite"\nmoment', 'name = "invite"\nsex = "f"\nmoment')], "sex"),
        ([("[[sequence.other]]", "[[sequence.wax]]")] * 4, "no [[sequence.other]]"),
        ([('desk = "the recall desk"', 'desk = ""')], "desk"),
    ],
)  # fmt: skip
def test_a_plan_that_would_lose_or_mislead_somebody_is_refused(
    changes: list[tuple[str, str]], problem: str
) -> None:
    told = refused(*changes)

    assert problem in told.problem
    assert told.place.startswith(f"{PLACE}:")
    assert told.remedy


def test_a_fault_is_told_on_the_line_of_its_step() -> None:
    told = refused(("days = 7\n", "days = 0\n"))

    overdue = line_of('[[sequence.other]]\nname = "overdue"')
    assert told.place == f"{PLACE}:{overdue}"

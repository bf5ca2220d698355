"""May it leave now? Every refusal has its reason, and each check is asked at the last moment."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_up_recalls import PLAN, PLANNER, a_person, a_recall, people, recalls

from aftercare.model import Channel, Moment
from aftercare.recall.people import (
    News,
    Person,
    Recall,
    RecallState,
    Reminder,
    ReminderState,
    Standing,
)
from aftercare.recall.routes import barred
from aftercare.recall.steps import APPOINTMENT, RECALL
from aftercare.sending import Answer, May, Today, may

PLANNED_ON = date(2027, 1, 4)
RECALL_OF_P1, PERSON = a_recall(), a_person()
BOOKED = datetime(2027, 3, 10, 10, 30, tzinfo=UTC)


def invite() -> Reminder:
    """Planned for Wednesday 27 January 2027, 08:00 to five days later."""
    return PLANNER.plan_recall(RECALL_OF_P1, PERSON, today=PLANNED_ON).reminders[0]


def nudge(recall: Recall) -> Reminder:
    return PLANNER.plan_recall(recall, PERSON, today=date(2027, 3, 1)).reminders[0]


def asked(
    now: datetime, *, household: int = 0, reminder: Reminder | None = None,
    recall: Recall = RECALL_OF_P1, person: Person = PERSON,
) -> Answer:  # fmt: skip
    today = Today(now=now, household=household, zone=PLANNER.zone)
    return may(reminder or invite(), recall, person, PLAN, today)


NOON = datetime(2027, 1, 27, 12, tzinfo=UTC)


def test_a_reminder_leaves_by_day_on_its_day() -> None:
    assert asked(NOON) == Answer(may=May.GO, channel=Channel.SMS)


def test_it_waits_for_its_day() -> None:
    answer = asked(NOON - timedelta(days=1))

    assert (answer.may, answer.after) == (May.LATER, datetime(2027, 1, 27, 8, tzinfo=UTC))


def test_at_night_it_waits_for_the_recipients_morning() -> None:
    new_york = replace(PERSON, zone="America/New_York")
    reminder = PLANNER.plan_recall(RECALL_OF_P1, new_york, today=PLANNED_ON).reminders[0]
    night = datetime(2027, 1, 28, 3, tzinfo=UTC)  # 22:00 in New York

    answer = asked(night, reminder=reminder, person=new_york)

    assert (answer.may, answer.because) == (May.LATER, "quiet hours in America/New_York")
    assert answer.after == datetime(2027, 1, 28, 13, tzinfo=UTC)
    assert asked(night + timedelta(hours=11), reminder=reminder, person=new_york).may is May.GO


def test_a_letter_waits_for_no_morning() -> None:
    by_post = replace(PERSON, agreed=frozenset({Channel.PRINT}))

    assert asked(NOON + timedelta(hours=10), person=by_post).channel is Channel.PRINT


def test_a_household_is_written_to_once_a_day() -> None:
    shared = replace(PERSON, household="h")
    answer = asked(NOON, household=1, person=shared)

    assert (answer.may, answer.after) == (May.LATER, datetime(2027, 1, 28, 8, tzinfo=UTC))
    assert answer.because == "the household has been written to today"
    assert asked(NOON, household=1).may is May.GO  # nobody shares with them


def test_a_message_about_a_visit_that_would_come_too_late_is_a_persons_to_tell() -> None:
    booked = a_recall(booked=BOOKED)
    last = PLANNER.plan_recall(booked, PERSON, today=date(2027, 3, 1)).reminders[-1]
    shared, day = replace(PERSON, household="h"), datetime(2027, 3, 9, 12, tzinfo=UTC)

    answer = asked(day, household=1, reminder=last, recall=booked, person=shared)

    assert answer.may is May.PERSON
    assert answer.because == "the household has been written to today, and later would be too late"


def test_too_late_is_never_and_for_a_visit_a_persons() -> None:
    week_on = NOON + timedelta(days=7)
    booked = a_recall(booked=BOOKED)

    assert asked(week_on).may is May.NEVER
    assert str(asked(week_on).because).startswith("too late")
    assert asked(BOOKED, reminder=nudge(booked), recall=booked).may is May.PERSON


def test_whoever_opted_out_since_is_not_written_to_by_that_channel() -> None:
    out = replace(PERSON, opted_out=frozenset({(RECALL, Channel.SMS)}))
    assert asked(NOON, person=out) == Answer(may=May.GO, channel=Channel.EMAIL)

    all_out = replace(PERSON, opted_out=frozenset((RECALL, one) for one in Channel))
    answer = asked(NOON, person=all_out)
    assert answer.may is May.NEVER
    assert answer.because == "sms: opted out; email: opted out; print: opted out"

    # Another topic is another matter.
    other = replace(PERSON, opted_out=frozenset((APPOINTMENT, one) for one in Channel))
    assert asked(NOON, person=other).may is May.GO


@pytest.mark.parametrize(
    ("change", "because"),
    [
        ({"booked": BOOKED}, "a visit is booked"),
        ({"due": date(2027, 3, 17)}, "the recall is due on another day now, 2027-03-17"),
        ({"state": RecallState.CLOSED, "because": "came"}, "the recall is closed: came"),
        (
            {"state": RecallState.WAITING, "waiting_on": "Sam Field"},
            "the recall is waiting: Sam Field",
        ),
    ],
)
def test_a_recall_that_changed_since_sends_nothing_old(
    change: dict[str, object], because: str
) -> None:
    answer = asked(NOON, recall=a_recall(**change))

    assert (answer.may, answer.because) == (May.NEVER, because)


@pytest.mark.parametrize("standing", [Standing.SILENT, Standing.HOLD])
def test_whoever_died_or_must_wait_is_not_written_to(standing: Standing) -> None:
    answer = asked(NOON, person=replace(PERSON, standing=standing, reasons=("died",)))

    assert (answer.may, answer.because) == (May.NEVER, f"{standing}: died")


@pytest.mark.parametrize("state", [ReminderState.PREPARED, ReminderState.SKIPPED])
def test_what_is_settled_is_not_settled_twice(state: ReminderState) -> None:
    assert asked(NOON, reminder=replace(invite(), state=state)).may is May.NEVER


@pytest.mark.parametrize("booked", [None, BOOKED + timedelta(minutes=15)])
def test_a_visit_that_was_moved_or_called_off_is_not_reminded_of(booked: datetime | None) -> None:
    old = nudge(a_recall(booked=BOOKED))
    now = datetime(2027, 3, 4, 12, tzinfo=UTC)

    assert asked(now, reminder=old, recall=a_recall(booked=BOOKED)).may is May.GO
    answer = asked(now, reminder=old, recall=a_recall(booked=booked))
    assert answer.may is May.NEVER
    assert "moved, called off" in str(answer.because)


def test_that_a_visit_was_called_off_is_not_told_once_there_is_another() -> None:
    news = News(on=date(2027, 3, 1), moment=Moment.CANCELLED, former=BOOKED, changes=1)
    gone = a_recall(news=news)
    (off,) = PLANNER.plan_recall(gone, PERSON, today=date(2027, 3, 1)).reminders
    now = datetime(2027, 3, 1, 12, tzinfo=UTC)

    assert asked(now, reminder=off, recall=gone).may is May.GO
    anew = a_recall(booked=BOOKED, news=replace(news, moment=Moment.BOOKED, changes=2))
    assert asked(now, reminder=off, recall=anew).may is May.NEVER
    told = asked(now, reminder=off, recall=replace(gone, told=True))
    assert (told.may, told.because) == (May.NEVER, "the patient has been told")


def test_a_step_that_is_not_in_the_plan_any_more_is_not_sent() -> None:
    answer = asked(NOON, reminder=replace(invite(), step="gone"))

    assert answer.may is May.NEVER
    assert "no step 'gone'" in str(answer.because)


@given(
    recalls(), people(), people(), st.integers(0, 2), st.integers(-48, 24 * 21),
    st.dates(date(2026, 11, 1), date(2027, 12, 1)),
)  # fmt: skip
@settings(max_examples=500, deadline=None)
def test_what_leaves_may_leave_and_what_does_not_says_why(  # type: ignore[no-untyped-def]
    recall, before, person, household: int, hours: int, today: date
) -> None:
    """Planned for somebody as they were, and asked of them as they are now."""
    for reminder in PLANNER.plan_recall(recall, before, today=today).reminders:
        assert reminder.not_before is not None
        assert reminder.not_after is not None
        now = reminder.not_before + timedelta(hours=hours)
        answer = may(
            reminder, recall, person, PLAN, Today(now=now, household=household, zone=PLANNER.zone)
        )
        if answer.may is not May.GO:
            assert answer.because
            assert (answer.after is not None) == (answer.may is May.LATER)
            assert answer.after is None or now < answer.after < reminder.not_after
            continue
        gone = recall.news is not None and recall.news.moment in (Moment.CANCELLED, Moment.MISSED)
        topic = APPOINTMENT if gone or recall.booked is not None else RECALL
        shown = now.astimezone(ZoneInfo(person.zone or PLANNER.zone))
        assert answer.channel is not None
        assert barred(person, answer.channel, topic) is None
        assert person.standing is Standing.READY
        assert reminder.not_before <= now < reminder.not_after
        assert household == 0 or person.household is None
        assert answer.channel is Channel.PRINT or (8 <= shown.hour < 20 and shown.weekday() != 6)

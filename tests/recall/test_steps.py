"""The sequence of a recall, for everybody there could be: nobody is dropped, nothing comes late."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_up_recalls import CONDITIONS, PLAN, PLANNER, a_person, a_recall, people, recalls

from aftercare.edges.outbox_files import key_of_name, name_of
from aftercare.edges.reminder_plan import parse_reminder_plan
from aftercare.model import Channel, Moment
from aftercare.recall.people import News, Person, Recall, RecallState, Standing
from aftercare.recall.routes import NO_SPEECH, Means, barred
from aftercare.recall.steps import Handover, Planned, Step, visit_key

DUE = date(2027, 3, 10)  # a Wednesday; no bank holiday near
TODAYS = st.dates(date(2026, 9, 1), date(2028, 3, 1))


def planned(today: date, **changes: object) -> Planned:
    return PLANNER.plan_recall(a_recall(due=DUE, **changes), a_person(), today=today)


def days(found: Planned) -> dict[str, date]:
    return {one.step: one.day for one in found.reminders}


def handover(found: Planned) -> Handover:
    assert found.handover is not None
    return found.handover


# --- far off ----------------------------------------------------------------------------------


@settings(max_examples=400, deadline=None)
@given(recalls(), people(), TODAYS)
def test_of_a_recall_that_is_far_off_nothing_comes_by_then(
    recall: Recall, person: Person, on: date
) -> None:
    if PLANNER.is_far_off(recall, person, on):
        found = PLANNER.plan_recall(recall, person, today=on)
        assert [one for one in found.reminders if one.day <= on] == []
        assert handover(found).day > on


def test_a_recall_is_far_off_until_its_first_step_and_never_of_somebody_out_of_reach() -> None:
    recall, before = a_recall(due=DUE), date(2027, 1, 26)

    assert PLANNER.is_far_off(recall, a_person(), before)
    assert not PLANNER.is_far_off(recall, a_person(), before + timedelta(days=1))
    assert not PLANNER.is_far_off(recall, a_person(agreed=frozenset()), before)
    assert not PLANNER.is_far_off(recall, a_person(standing=Standing.HOLD), before)


# --- one recall, day by day -------------------------------------------------------------------


def test_a_recall_is_invited_asked_again_and_handed_to_a_person() -> None:
    found = planned(date(2027, 1, 4))

    assert days(found) == {
        "invite": date(2027, 1, 27), "unbooked": date(2027, 2, 24), "overdue": date(2027, 3, 17),
    }  # fmt: skip
    assert handover(found).day == date(2027, 4, 7)
    assert handover(found).who == "the recall desk"
    assert handover(found).how == (Means.PHONE, Means.LETTER, Means.TEXT)
    assert found.left_out == ()


def test_a_cavity_is_asked_earlier_and_handed_over_sooner() -> None:
    found = planned(date(2027, 1, 4), condition="condition:open-cavity")

    assert days(found)["invite"] == date(2027, 1, 13)
    assert handover(found).day == date(2027, 3, 24)


def test_a_recall_taken_up_late_begins_with_the_step_that_is_true() -> None:
    found = planned(date(2027, 3, 1))

    assert days(found) == {"unbooked": date(2027, 3, 1), "overdue": date(2027, 3, 17)}
    assert [one.step for one in found.left_out] == ["invite"]


def test_a_recall_long_overdue_is_told_once_and_then_a_person_s() -> None:
    found = planned(date(2027, 12, 6))

    assert days(found) == {"overdue": date(2027, 12, 6)}
    assert handover(found).day == date(2027, 12, 13)


def test_what_was_written_is_not_written_again_and_the_person_s_turn_stays() -> None:
    """Planned again every night: the turn of a person must not slide away before the list."""
    turn = handover(planned(date(2027, 3, 16))).day
    settled = {"7/overdue/2027-03-10": date(2027, 3, 17)}
    for number in range(60):
        today = date(2027, 3, 18) + timedelta(days=number)
        again = PLANNER.plan_recall(a_recall(due=DUE), a_person(), today=today, settled=settled)
        assert again.reminders == ()
        assert handover(again).day == max(turn, PLANNER.days.on_or_after(today))


def test_the_nudge_before_a_day_off_comes_earlier_never_after() -> None:
    """Due on Easter Monday week: 14 days before is Monday 29 March 2027, a bank holiday."""
    found = PLANNER.plan_recall(a_recall(due=date(2027, 4, 12)), a_person(), today=date(2027, 1, 4))

    assert days(found)["unbooked"] == date(2027, 3, 25)  # Thursday before Good Friday


def test_a_booked_visit_is_told_of_before_it_and_asked_about_after_it() -> None:
    at = datetime(2027, 3, 10, 10, 30, tzinfo=ZoneInfo("Europe/London"))
    found = planned(date(2027, 3, 1), booked=at)

    # Sunday is quiet; the clinic sees nobody from Friday on.
    assert days(found) == {
        "three-days-before": date(2027, 3, 4), "one-day-before": date(2027, 3, 9),
    }  # fmt: skip
    assert handover(found).day == date(2027, 3, 11)
    assert "nobody has said whether the patient came" in handover(found).because


def test_two_steps_on_one_open_day_are_one_message() -> None:
    at = datetime(2027, 3, 8, 10, 30, tzinfo=ZoneInfo("Europe/London"))  # Monday
    found = planned(date(2027, 3, 1), booked=at)

    assert days(found) == {"one-day-before": date(2027, 3, 4)}
    assert [(one.step, one.because) for one in found.left_out] == [
        ("three-days-before", "'one-day-before' is that day")
    ]


def about(moment: Moment, **changes: object) -> Recall:
    """A recall of whose visit, on 10 March at 10:30, something is to be told since 1 March."""
    at = datetime(2027, 3, 10, 10, 30, tzinfo=ZoneInfo("Europe/London"))
    gone = moment in (Moment.CANCELLED, Moment.MISSED)
    usual: dict[str, object] = {
        "due": DUE,
        "booked": None if gone else at,
        "news": News(on=date(2027, 3, 1), moment=moment, former=at if gone else None, changes=1),
    }
    return a_recall(**{**usual, **changes})


@pytest.mark.parametrize("moment", [Moment.BOOKED, Moment.CHANGED, Moment.CANCELLED, Moment.MISSED])
def test_what_happened_is_told_or_a_person_tells_it(moment: Moment) -> None:
    told = PLANNER.plan_recall(about(moment), a_person(), today=date(2027, 3, 1))
    mute = replace(a_person(), agreed=frozenset[Channel]())
    silent = PLANNER.plan_recall(about(moment), mute, today=date(2027, 3, 1))

    assert told.reminders[0].step == moment.value
    assert silent.reminders == ()
    assert (handover(silent).how, handover(silent).day) == ((Means.PHONE,), date(2027, 3, 1))
    assert f"tell the patient that the visit was {moment}" in handover(silent).because
    assert "not agreed to" in handover(silent).because


def test_a_visit_that_was_called_off_is_the_desk_s_the_day_after_it_was_told() -> None:
    found = PLANNER.plan_recall(about(Moment.CANCELLED), a_person(), today=date(2027, 3, 1))

    assert days(found) == {"cancelled": date(2027, 3, 1)}
    assert (handover(found).day, found.ended) == (date(2027, 3, 2), date(2027, 3, 2))
    # The message promises the same day: an open one, 14 days on, whenever the recall is due.
    assert handover(found).because == (
        "the visit on 2027-03-10 was called off: offer a new time by 2027-03-15"
    )


def test_who_missed_a_visit_has_the_days_to_answer_before_the_desk_calls() -> None:
    missed = about(Moment.MISSED, due=date(2026, 12, 1))
    found = PLANNER.plan_recall(missed, a_person(), today=date(2027, 3, 1))

    assert days(found) == {"missed": date(2027, 3, 2)}
    assert handover(found).day == date(2027, 3, 17)  # 14 days and one
    assert "did not come on 2027-03-10" in handover(found).because


def test_a_nudge_does_not_come_when_the_patient_hears_of_the_visit_anyhow() -> None:
    """Booked on 5 March for the 10th: the nudge of the 4th or a late one would be one too many."""
    late = replace(about(Moment.BOOKED), news=News(on=date(2027, 3, 4), moment=Moment.BOOKED))
    found = PLANNER.plan_recall(late, a_person(), today=date(2027, 3, 4))
    next_day = PLANNER.plan_recall(
        late, a_person(), today=date(2027, 3, 8),
        settled={visit_key(late, "booked", date(2027, 3, 4)): date(2027, 3, 4)},
    )  # fmt: skip

    assert days(found) == {"booked": date(2027, 3, 4), "one-day-before": date(2027, 3, 9)}
    assert days(next_day) == {"one-day-before": date(2027, 3, 9)}


def test_no_word_of_a_new_time_comes_on_the_day_of_the_visit_or_later() -> None:
    changed = replace(about(Moment.CHANGED), news=News(on=date(2027, 3, 9), moment=Moment.CHANGED))
    on_the_eve = PLANNER.plan_recall(changed, a_person(), today=date(2027, 3, 9))
    too_late = PLANNER.plan_recall(changed, a_person(), today=date(2027, 3, 10))

    (told,) = on_the_eve.reminders
    assert told.not_after == datetime(2027, 3, 9, 20, tzinfo=UTC)
    assert too_late.reminders == ()
    assert "too late: 2027-03-09 was its last day" in handover(too_late).because


def test_a_skipped_word_of_a_new_time_stays_somebody_s_to_tell() -> None:
    changed = about(Moment.CHANGED)
    key = visit_key(changed, "changed", date(2027, 3, 1))

    def seen(**how: object) -> Handover:
        return handover(
            PLANNER.plan_recall(changed, a_person(), today=date(2027, 3, 2), **how)  # type: ignore[arg-type]
        )

    written = seen(settled={key: date(2027, 3, 1)})
    skipped = seen(settled={key: date(2027, 3, 1)}, skipped={key: "the household was written to"})

    assert written.because.startswith("booked for 2027-03-10")
    assert (skipped.day, skipped.because) == (
        date(2027, 3, 2),
        "tell the patient that the visit was changed: the household was written to",
    )
    told = PLANNER.plan_recall(replace(changed, told=True), a_person(), today=date(2027, 3, 2))
    assert "nobody has said whether" in handover(told).because


def test_a_visit_moved_and_moved_back_is_told_of_anew() -> None:
    first = replace(about(Moment.BOOKED), news=News(on=date(2027, 3, 1), moment=Moment.BOOKED))
    back = replace(first, news=News(on=date(2027, 3, 1), moment=Moment.BOOKED, changes=2))
    keys = {visit_key(one, "booked", date(2027, 3, 1)) for one in (first, back)}

    assert keys == {"7/booked/2027-03-01@20270310T1030Z", "7/booked/2027-03-01@20270310T1030Z-2"}
    for key in keys:
        assert key_of_name(name_of(key, Channel.EMAIL)) == key


def test_a_second_message_keeps_its_distance_from_a_late_first_one() -> None:
    found = planned(date(2027, 2, 23))  # the last day of the invitation

    # Wanted a day later; held back by a week.
    assert days(found)["invite"] == date(2027, 2, 23)
    assert days(found)["unbooked"] == date(2027, 3, 2)


def test_a_message_keeps_its_distance_from_what_was_written_before() -> None:
    settled = {"7/invite/2027-03-10": date(2027, 2, 22)}
    found = PLANNER.plan_recall(
        a_recall(due=DUE), a_person(), today=date(2027, 2, 23), settled=settled
    )

    assert days(found)["unbooked"] == date(2027, 3, 1)


def test_whoever_no_message_can_reach_is_a_persons_at_once() -> None:
    person = replace(a_person(), agreed=frozenset[Channel](), facts=frozenset({"need:deaf"}))
    found = PLANNER.plan_recall(a_recall(due=DUE), person, today=date(2027, 1, 4))

    assert found.reminders == ()
    assert handover(found).day == date(2027, 1, 4)
    assert handover(found).because.startswith("no message can be sent: sms: not agreed to; email")
    assert handover(found).because.endswith("look in the clinic's own notes")


def test_a_closed_recall_is_left_alone() -> None:
    found = planned(date(2027, 1, 4), state=RecallState.CLOSED, because="came on 3 January")

    assert (found.reminders, found.handover) == ((), None)


# --- everybody there could be -----------------------------------------------------------------


@given(recalls(), people(), TODAYS)
@settings(max_examples=500, deadline=None)
def test_every_open_recall_is_somebody_s_in_the_end(recall, person, today: date) -> None:  # type: ignore[no-untyped-def]
    found = PLANNER.plan_recall(recall, person, today=today)

    if recall.state is RecallState.CLOSED:
        assert found.handover is None
        return
    assert found.handover is not None
    assert found.handover.who
    assert found.handover.because
    assert found.handover.day >= today
    # Every step of the sequence is planned, left out with a reason, or the person's.
    names = {one.step for one in found.reminders} | {one.step for one in found.left_out}
    assert "all" in names or names >= {
        step.name
        for step in (
            PLAN.sequence(recall.condition)[:-1] if recall.booked is None else PLAN.appointment
        )
    }
    assert all(one.because for one in found.left_out)


@given(recalls(), people(), TODAYS)
@settings(max_examples=500, deadline=None)
def test_a_message_comes_on_an_open_day_in_time_by_a_channel_that_is_open(  # type: ignore[no-untyped-def]
    recall, person, today: date
) -> None:
    found = PLANNER.plan_recall(recall, person, today=today)
    zone = ZoneInfo(person.zone or PLANNER.zone)
    for one in found.reminders:
        assert one.day >= today
        assert PLANNER.days.on_or_after(one.day) == one.day
        step, topic = next(found for found in [PLAN.step(recall, one.step)] if found)
        assert barred(person, one.channel, topic) is None
        assert one.not_before is not None
        assert one.not_after is not None
        assert one.not_before < one.not_after
        first, last = one.not_before.astimezone(zone), one.not_after.astimezone(zone)
        assert (first.date(), first.time()) == (one.day, time(8))
        assert last.time() == time(20)
        assert last.date() <= one.day + timedelta(days=PLAN.late_days)
        if step.until is not None:
            assert last.date() <= base_of(recall, step) + timedelta(days=step.until)


def base_of(recall: Recall, step: Step) -> date:
    """The day a step is counted from."""
    if step.moment in PLAN.events:
        assert recall.news is not None
        return recall.news.on
    if recall.booked is None:
        return recall.due
    return recall.booked.astimezone(ZoneInfo(PLANNER.zone)).date()


@given(recalls(), people(), TODAYS, st.integers(0, 40))
@settings(max_examples=200, deadline=None)
def test_the_same_step_has_the_same_key_on_another_day(  # type: ignore[no-untyped-def]
    recall, person, today: date, later: int
) -> None:
    now = PLANNER.plan_recall(recall, person, today=today)
    then = PLANNER.plan_recall(recall, person, today=today + timedelta(days=later))
    keys = {one.step: one.key for one in now.reminders}

    assert len(set(keys.values())) == len(now.reminders)
    assert all(keys.get(one.step, one.key) == one.key for one in then.reminders)


@given(recalls(), people(), TODAYS)
@settings(max_examples=300, deadline=None)
def test_messages_about_one_recall_keep_their_distance(recall, person, today: date) -> None:  # type: ignore[no-untyped-def]
    found = PLANNER.plan_recall(replace(recall, booked=None, news=None), person, today=today)
    gaps = [b.day - a.day for a, b in zip(found.reminders, found.reminders[1:], strict=False)]

    assert all(gap >= timedelta(days=PLAN.gap_days) for gap in gaps)
    if found.reminders and found.handover:
        assert found.handover.day - found.reminders[-1].day >= timedelta(days=PLAN.gap_days)


@given(recalls(), people(), TODAYS)
@settings(max_examples=300, deadline=None)
def test_whoever_cannot_phone_is_never_to_be_phoned(recall, person, today: date) -> None:  # type: ignore[no-untyped-def]
    found = PLANNER.plan_recall(recall, person, today=today)

    if found.handover and person.facts & NO_SPEECH:
        assert Means.PHONE not in found.handover.how
    if found.handover and not found.handover.how and person.standing is Standing.READY:
        assert recall.state is RecallState.WAITING or "nothing on record" in found.handover.because


@given(recalls(), people(), TODAYS)
@settings(max_examples=300, deadline=None)
def test_nobody_is_written_to_who_may_not_be(recall, person, today: date) -> None:  # type: ignore[no-untyped-def]
    for standing in (Standing.SILENT, Standing.HOLD):
        held = replace(person, standing=standing, reasons=("made up",))
        found = PLANNER.plan_recall(recall, held, today=today)
        assert found.reminders == ()
        assert found.handover is None or found.handover.how == ()


@given(recalls(), people(), TODAYS)
@settings(max_examples=300, deadline=None)
def test_nothing_about_the_patient_but_the_way_to_reach_them_changes_the_days(  # type: ignore[no-untyped-def]
    recall, person, today: date
) -> None:
    """Age, name, language and needs choose no day: the plan is the condition's alone."""
    other = replace(
        person, first_name="Other", last_name="Name", language="pl", born=date(1931, 5, 5),
        facts=frozenset({"age:child", "caution:diabetes", "format:large-print"}),
    )  # fmt: skip

    def told(who: object) -> list[tuple[str, date, Channel]]:
        found = PLANNER.plan_recall(recall, who, today=today)  # type: ignore[arg-type]
        return [(one.step, one.day, one.channel) for one in found.reminders]

    assert told(person) == told(other)


def test_the_shipped_plan_is_the_one_tested() -> None:
    raw = (Path(__file__).parents[2] / "shared/recall.toml").read_bytes()

    assert parse_reminder_plan(raw, CONDITIONS) == PLAN


def test_an_answer_is_asked_for_on_an_open_day_before_the_visit_is_due() -> None:
    # Wednesday and 14 days; Thursday is the last open day up to a due Saturday.
    assert PLANNER.answer_by(date(2027, 1, 27), DUE) == date(2027, 2, 10)
    assert PLANNER.answer_by(date(2027, 3, 8), date(2027, 3, 13)) == date(2027, 3, 11)
    assert PLANNER.answer_by(date(2027, 3, 17), DUE) == date(2027, 3, 31)


def test_moments_are_told_in_utc() -> None:
    (first, *_) = planned(date(2027, 1, 4)).reminders

    assert first.not_before == datetime(2027, 1, 27, 8, tzinfo=UTC)

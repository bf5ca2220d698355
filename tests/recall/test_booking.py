"""What is decided of a visit: what the patient is to hear is what they do not know yet."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_up import HOME
from made_up_recalls import CONDITIONS, PLANNER, a_person, a_recall

from aftercare.edges.risks import parse_risks
from aftercare.errors import BadInput
from aftercare.model import Interval, Moment
from aftercare.recall.booking import Book, CallOff, Decision, Missed, Told, Wish
from aftercare.recall.decide import Decided, Known
from aftercare.recall.people import News, Person, Recall, RecallState, Standing

LONDON = ZoneInfo("Europe/London")
NOW = datetime(2027, 3, 1, 12, tzinfo=UTC)
A, B, C = (datetime(2027, 3, day, 10, 30, tzinfo=LONDON) for day in (9, 10, 11))
RISKS = parse_risks((HOME / "shared/recall.toml").read_bytes(), CONDITIONS)
SILENT = a_person(standing=Standing.SILENT, reasons=("no consent",))


def asked(**changes: Any) -> Decision:
    usual = {"by": "Ann", "now": NOW, "zone": "Europe/London", "condition": None, "because": None}
    return Decision(**{**usual, **changes})


def the_one(decided: Decided) -> Recall:
    """The recall as the decision leaves it."""
    (act,) = decided.acts
    *_, (_, after) = act.swaps
    assert isinstance(after, Recall)
    return after


def known(recall: Recall, person: Person | None = None) -> Known:
    return Known(person=person or a_person(), recalls=(recall,))


def book(recall: Recall, at: datetime, *, wish: Wish = Wish.CLINIC, told: bool = False) -> Recall:
    decided = Book(asked=asked(), at=at, wish=wish, told=told, risks=RISKS).decide(known(recall))
    return the_one(decided)


def call_off(recall: Recall, *, wish: Wish = Wish.CLINIC, told: bool = False) -> Recall:
    return the_one(CallOff(asked=asked(), wish=wish, told=told).decide(known(recall)))


def heard(recall: Recall) -> Recall:
    """The recall once its message was prepared."""
    return replace(recall, told=True)


def news(recall: Recall) -> tuple[Moment | None, datetime | None, int]:
    assert recall.news is not None
    return recall.news.moment, recall.news.former, recall.news.changes


FRESH = a_recall()


def test_what_the_patient_is_told_is_what_they_do_not_know() -> None:
    booked = book(FRESH, A)
    assert news(booked) == (Moment.BOOKED, None, 0)
    # Not told of the first time yet, there is no change to tell of.
    assert news(book(booked, B)) == (Moment.BOOKED, None, 1)
    changed = book(heard(booked), B)
    assert news(changed) == (Moment.CHANGED, A, 1)
    # Moved twice before a word of it was written: the time they know is the first one.
    assert news(book(changed, C)) == (Moment.CHANGED, A, 2)
    assert news(book(changed, A)) == (Moment.BOOKED, A, 2)
    assert news(book(heard(changed), C)) == (Moment.CHANGED, B, 2)


def test_a_visit_that_is_called_off_is_told_by_the_time_the_patient_knows() -> None:
    booked = book(FRESH, A)
    assert news(call_off(booked)) == (None, A, 1)  # never heard of it
    assert news(call_off(heard(booked))) == (Moment.CANCELLED, A, 1)
    changed = book(heard(booked), B)
    assert news(call_off(changed)) == (Moment.CANCELLED, A, 2)
    # Booked anew before a word of the cancelling was written: to the patient it is a change.
    assert news(book(call_off(heard(booked)), C)) == (Moment.CHANGED, A, 2)
    assert news(book(heard(call_off(heard(booked))), C)) == (Moment.BOOKED, A, 2)


def test_what_the_patient_wished_is_not_told_as_the_clinic_s_doing() -> None:
    """The words of a change and of a cancelled visit say that the clinic had to, and is sorry."""
    booked = heard(book(FRESH, A))

    assert news(book(booked, B, wish=Wish.PATIENT)) == (Moment.BOOKED, A, 1)
    off = call_off(booked, wish=Wish.PATIENT)
    assert news(off) == (None, A, 1)
    found = PLANNER.plan_recall(off, a_person(), today=date(2027, 3, 1))
    assert "cancelled" not in {one.step for one in found.reminders}
    assert {one.step for one in found.reminders} == {"unbooked", "overdue"}


def test_somebody_who_never_heard_of_the_visit_did_not_miss_it() -> None:
    late = asked(now=A + timedelta(days=1))

    blamed = the_one(Missed(asked=late).decide(known(heard(book(FRESH, A)))))
    unheard = the_one(Missed(asked=late).decide(known(book(FRESH, A))))

    assert (blamed.state, news(blamed)) == (RecallState.SCHEDULED, (Moment.MISSED, A, 0))
    assert blamed.news is not None
    assert blamed.news.on == A.date()
    assert (unheard.state, unheard.waiting_on) == (RecallState.WAITING, "Ann")
    assert unheard.because == "never told of the visit on 2027-03-09 10:30: offer a new time"


def test_whoever_may_not_be_written_to_is_on_a_named_person_who_is_told_to_tell_them() -> None:
    decided = Book(asked=asked(), at=A, wish=Wish.CLINIC, told=False, risks=RISKS).decide(
        known(FRESH, SILENT)
    )
    after = the_one(decided)

    assert (after.booked, after.state, after.waiting_on) == (A, RecallState.WAITING, "Ann")
    assert "may not be written to (silent: no consent): tell them yourself" in decided.said[1]


def test_another_visit_of_the_same_patient_is_told() -> None:
    cavity = a_recall(id=8, condition="condition:open-cavity", booked=C)
    both = Known(person=a_person(), recalls=(FRESH, cavity))
    wax = asked(condition="condition:wax")

    decided = Book(asked=wax, at=A, wish=Wish.CLINIC, told=False, risks=RISKS).decide(both)

    assert "also booked for open-cavity on 2027-03-11 10:30: one of them too many?" in decided.said
    with pytest.raises(BadInput, match="recalls are open for wax, open-cavity; say --condition"):
        Book(asked=asked(), at=A, wish=Wish.CLINIC, told=False, risks=RISKS).decide(both)


@pytest.mark.parametrize(
    ("recall", "said"),
    [
        (a_recall(booked=A), "it is booked for 2027-03-09 10:30 already"),
        (
            a_recall(booked=NOW - timedelta(days=5)),
            "nobody has said whether the patient came on 2027-02-24 12:00",
        ),
        (
            a_recall(due=date(2025, 9, 10), anchor=date(2025, 3, 10)),
            "2027-03-09 is past the hard limit of wax, 2026-09-09",
        ),
        (
            a_recall(state=RecallState.WAITING, waiting_on="Dr Day", because="a figure",
                     interval=Interval()),
            "wax waits on Dr Day: nobody has said yet when the next visit is due",
        ),
        (a_recall(state=RecallState.CLOSED, because="came"), "no such recall is open"),
    ],
)  # fmt: skip
def test_what_cannot_be_booked_is_refused(recall: Recall, said: str) -> None:
    with pytest.raises(BadInput, match=said):
        book(recall, A)


@pytest.mark.parametrize(
    "decide", [call_off, lambda one: the_one(_missed(one)), lambda one: the_one(_told(one))]
)
def test_without_a_visit_there_is_nothing_to_decide(decide: Any) -> None:
    with pytest.raises(BadInput, match=r"no visit (is|was) booked for wax"):
        decide(FRESH)


def _missed(recall: Recall) -> Decided:
    return Missed(asked=asked()).decide(known(recall))


def _told(recall: Recall) -> Decided:
    return Told(asked=asked()).decide(known(recall))


def test_a_visit_to_come_is_not_missed_and_one_that_is_over_not_called_off() -> None:
    over = a_recall(booked=NOW - timedelta(hours=1))

    with pytest.raises(BadInput, match="is still to come"):
        _missed(a_recall(booked=A))
    with pytest.raises(BadInput, match="is over"):
        call_off(over)


def test_a_visit_called_off_before_a_message_told_of_it_is_for_the_desk_to_tell() -> None:
    """Who asked for that time, or heard it on the phone, would come to a clinic that is not."""
    booked, moved = book(FRESH, A), book(heard(book(FRESH, A)), B, wish=Wish.PATIENT)

    def said(recall: Recall, **more: Any) -> str:
        words = {"wish": Wish.CLINIC, "told": False, **more}
        return " ".join(CallOff(asked=asked(), **words).decide(known(recall)).said)

    untold = "no message had told the patient of it, so none tells them that it is off"
    for recall in (booked, moved):
        assert untold in said(recall)
        assert untold not in said(recall, told=True)
        assert untold not in said(recall, wish=Wish.PATIENT)
        assert untold not in said(heard(recall))


def test_what_somebody_told_by_phone_is_not_written_any_more() -> None:
    booked = book(FRESH, A)
    held = replace(booked, state=RecallState.WAITING, waiting_on="the desk", because="tell them")

    after = the_one(_told(held))

    assert (after.told, after.state) == (True, RecallState.SCHEDULED)
    found = PLANNER.plan_recall(after, a_person(), today=date(2027, 3, 1))
    assert "booked" not in {one.step for one in found.reminders}
    assert _told(after).acts == ()


ACTS = ("book A", "book B", "book C", "off", "off by patient", "heard")


@given(st.lists(st.sampled_from(ACTS), max_size=12))
@settings(max_examples=300, deadline=None)
def test_the_sequence_goes_up_by_one_with_every_change_and_nobody_is_dropped(
    acts: list[str],
) -> None:
    """RFC 5545, 3.8.7.4: it starts at 0 and is incremented each time the visit is revised."""
    recall, count = FRESH, None
    for act in acts:
        before = recall
        try:
            recall = _done(act, recall)
        except BadInput:
            continue
        if act != "heard":
            count = 0 if count is None else count + 1
            assert recall.news is not None
            assert recall.news.changes == count
        assert recall.state is RecallState.SCHEDULED
        planned = PLANNER.plan_recall(recall, a_person(), today=date(2027, 3, 1))
        assert planned.handover is not None
        assert planned.ended is not None
        if recall.news is not None and recall.news.moment is Moment.CHANGED:
            assert recall.news.former not in (None, recall.booked)
        assert before.id == recall.id


def _done(act: str, recall: Recall) -> Recall:
    if act == "heard":
        return heard(recall) if recall.news else recall
    if act.startswith("off"):
        return call_off(recall, wish=Wish.PATIENT if "patient" in act else Wish.CLINIC)
    return book(recall, {"A": A, "B": B, "C": C}[act[-1]])


def test_news_is_kept_of_a_visit_that_was_put_off_with_its_recall() -> None:
    from aftercare.recall.decide import called_off

    assert called_off(FRESH, date(2027, 3, 1)) is None
    assert called_off(book(FRESH, A), date(2027, 3, 1)) == News(
        on=date(2027, 3, 1), former=A, changes=1
    )

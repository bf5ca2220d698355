"""Planning reminders, asking whether they may leave, and calendar files; beside icalendar's own."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from time import process_time
from zoneinfo import ZoneInfo

import icalendar
import pytest
from made_up_recalls import CONDITIONS, PLAN, PLANNER, a_person, a_recall

from aftercare.render.calendar import Appointment, Method, calendar_file, uid_of
from aftercare.sending import May, Today, may

MANY, FEW = 20_000, 300
VISIT = Appointment(
    uid=uid_of(1, "larkfield.example"), sequence=0, minutes=20, zone="Europe/London",
    start=datetime(2027, 3, 10, 10, 30, tzinfo=ZoneInfo("Europe/London")),
    stamp=datetime(2026, 11, 24, 9, tzinfo=UTC), summary="The next visit to Larkfield Clinic",
    description="Phone us: 01632 960142.", location="Larkfield Clinic", language="en",
    organizer="no-reply@larkfield.example",
)  # fmt: skip


@pytest.mark.bench
def test_a_register_is_planned_and_asked_in_one_pass() -> None:
    person, today = a_person(household="h"), date(2027, 1, 4)
    conditions = sorted(CONDITIONS)
    recalls = [
        a_recall(
            id=number, due=date(2027, 1, 1) + timedelta(days=number % 400),
            condition=conditions[number % len(conditions)],
        )
        for number in range(MANY)
    ]  # fmt: skip
    begun = process_time()
    planned = [PLANNER.plan_recall(one, person, today=today) for one in recalls]
    planning = process_time() - begun
    pairs = [(r, one) for r, found in zip(recalls, planned, strict=True) for one in found.reminders]
    begun = process_time()
    told = [
        may(one, recall, person, PLAN, Today(now=one.not_before, household=0, zone=PLANNER.zone))
        for recall, one in pairs
        if one.not_before is not None
    ]
    asking = process_time() - begun

    assert all(found.handover for found in planned)
    assert {answer.may for answer in told} == {May.GO}
    print(f"\n{MANY / planning:,.0f} recalls planned a second, {len(told) / asking:,.0f} asked")


@pytest.mark.bench
def test_a_calendar_file_is_written_faster_than_icalendar_writes_one_without_a_zone() -> None:
    visits = [
        replace(VISIT, uid=uid_of(n, "larkfield.example"), start=VISIT.start + timedelta(hours=n))
        for n in range(FEW)
    ]
    begun = process_time()
    ours = [calendar_file(one, Method.PUBLISH) for one in visits for _ in range(20)]
    mine = len(ours) / (process_time() - begun)
    begun = process_time()
    theirs = [_icalendar(one) for one in visits]
    peer = len(theirs) / (process_time() - begun)

    starts = [next(iter(icalendar.Calendar.from_ical(raw).walk("VEVENT"))).start for raw in theirs]
    assert starts == [one.start for one in visits]
    print(f"\n{mine:,.0f} calendar files a second, icalendar {peer:,.0f}: {mine / peer:.1f} times")


def _icalendar(visit: Appointment) -> bytes:
    calendar, event = icalendar.Calendar(), icalendar.Event()
    for name, value in (("version", "2.0"), ("prodid", "-//x//EN"), ("method", "PUBLISH")):
        calendar.add(name, value)
    for name, told in (
        ("uid", visit.uid), ("dtstamp", visit.stamp), ("dtstart", visit.start),
        ("summary", visit.summary), ("description", visit.description),
        ("location", visit.location), ("organizer", f"mailto:{visit.organizer}"),
    ):  # fmt: skip
        event.add(name, told)
    calendar.add_component(event)
    return bytes(calendar.to_ical())

"""The visit a reminder is about, as a calendar file."""

from __future__ import annotations

from dataclasses import dataclass

from aftercare.model import Kind, Library, Moment
from aftercare.reminding.message import Draft
from aftercare.reminding.order import Order, Visit
from aftercare.render.calendar import Appointment, Method, calendar_file, uid_of
from aftercare.render.reminder_email import SUBJECT, Attached

# What tells of a visit that is booked.
_ENTERED = frozenset({Moment.BOOKED, Moment.BEFORE, Moment.CHANGED})


def calendar_of(order: Order, draft: Draft, library: Library) -> Attached | None:
    """The file that puts the visit in a calendar, or takes it out; None when there is none."""
    method = method_of(order)
    if order.visit is None or method is None:
        return None
    shown = appointment(order.visit, shown_of(draft), library)
    return Attached(calendar_file(shown, method), method)


def method_of(order: Order) -> Method | None:
    """What the reader's calendar is to do; None when the message has no file for it."""
    if order.visit is None:
        return None
    if order.moment is Moment.CANCELLED:
        return Method.CANCEL
    return Method.PUBLISH if order.moment in _ENTERED else None


@dataclass(frozen=True, slots=True)
class Shown:
    """What a calendar shows of a visit: the subject of the e-mail, and the ways to answer."""

    summary: str
    description: str
    language: str


def shown_of(draft: Draft) -> Shown:
    """What a calendar shows, in the language of the message."""
    ways = {one.block.id for one in draft.chosen if one.block.kind is Kind.CONTACT}
    told = [line.text for line in draft.worded.lines() if line.block_id in ways]
    return Shown(draft.worded.frame[SUBJECT].text, "\n".join(told), draft.worded.language)


def appointment(visit: Visit, shown: Shown, library: Library) -> Appointment:
    """The visit for a calendar. Others see it, so the place is called by its short name."""
    clinic = library.clinic
    return Appointment(
        uid=uid_of(visit.recall, clinic.sender.rpartition("@")[2]),
        sequence=visit.sequence,
        start=visit.start,
        zone=clinic.timezone,
        minutes=visit.minutes,
        stamp=visit.stamp,
        summary=shown.summary,
        description=shown.description,
        location=clinic.short_name,
        language=shown.language,
        organizer=clinic.sender,
    )

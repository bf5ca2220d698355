"""How somebody can be reached, by message and by a person; and why not otherwise."""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum

from aftercare.model import Channel
from aftercare.recall.people import Person, Topic

# Who cannot rely on speech over a phone is never only phoned.
NO_SPEECH = frozenset({"need:deaf", "need:hard-of-hearing", "need:cannot-phone"})


class Means(StrEnum):
    """How a person of the clinic reaches a patient."""

    PHONE = "phone"
    LETTER = "letter"
    TEXT = "text"
    EMAIL = "email"


_CHANNEL = {
    Means.LETTER: Channel.PRINT, Means.TEXT: Channel.SMS, Means.EMAIL: Channel.EMAIL,
}  # fmt: skip
_LACKING = {
    Channel.SMS: "no mobile number", Channel.EMAIL: "no e-mail address",
    Channel.PRINT: "no address",
}  # fmt: skip


def barred(person: Person, channel: Channel, topic: Topic) -> str | None:
    """Why nothing about ``topic`` may go to somebody by ``channel``; None when it may."""
    if (topic, channel) in person.opted_out:
        return "opted out"
    if channel not in person.agreed:
        return "not agreed to"
    where: object = {
        Channel.SMS: person.mobile, Channel.EMAIL: person.email, Channel.PRINT: person.address,
    }[channel]  # fmt: skip
    return None if where else _LACKING[channel]


def first_usable(person: Person, channels: Iterable[Channel], topic: Topic) -> Channel | None:
    """The first of these channels that is open to somebody."""
    return next((one for one in channels if barred(person, one, topic) is None), None)


def all_barred(person: Person, channels: Iterable[Channel], topic: Topic) -> str:
    """Why none of these channels will do, each with its reason."""
    return "; ".join(f"{one}: {barred(person, one, topic)}" for one in channels)


def ways(person: Person, by: Iterable[Means], topic: Topic) -> tuple[Means, ...]:
    """The means of a person of the clinic that fit somebody, in order; none when nothing does."""
    return tuple(one for one in by if _fits(person, one, topic))


def _fits(person: Person, means: Means, topic: Topic) -> bool:
    if means is Means.PHONE:
        return bool(person.mobile) and not person.facts & NO_SPEECH
    return barred(person, _CHANNEL[means], topic) is None

"""The text message of a reminder, with the slip for whoever sends it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from functools import lru_cache

from aftercare.model import Library, Purpose, SmsCount, Worded
from aftercare.reminding.order import Order
from aftercare.render.gsm import check_sendable, count
from aftercare.render.isolate import plain
from aftercare.render.plain_text import safe_text
from aftercare.render.sms import part_limit, sheet


def sms_text(worded: Worded, purpose: Purpose) -> str:
    """The text as it is worded, before its characters are made safe."""
    opening = [worded.frame["sms_open"]]
    if purpose is Purpose.SAMPLE:
        opening.insert(0, worded.frame["stamp"])
    said = [plain(line, worded.direction) for line in opening]
    if worded.help is not None:
        said.append(plain(worded.help.line, worded.help.direction))
    said += [plain(line, worded.direction) for _, line in worded.short]
    return "\n".join(said)


@dataclass(frozen=True, slots=True)
class Texted:
    """A finished text: what its file holds, how it travels, and what is said of its length."""

    body: bytes
    sms: SmsCount
    findings: tuple[str, ...]


def texted(text: str, language: str, order: Order, library: Library) -> Texted:
    """The text with its slip, counted after the slots were filled.

    Raises ``BadText`` when no network can carry it.
    """
    safe = safe_text(text, language=language)
    counted = count(safe)
    check_sendable(safe, counted)
    body = f"{_slip(order)}\n{sheet(counted)}".encode()
    return Texted(body, counted, too_long(counted, library))


def _slip(order: Order) -> str:
    """What whoever sends the text needs: the number, and when it may leave."""
    told = f"To: {order.person.mobile}\n"
    for name, moment in (("From", order.not_before), ("Until", order.not_after)):
        if moment is not None:
            told += f"{name}: {_in_utc(moment)}\n"
    return told


# The same for everybody in a zone.
@lru_cache(maxsize=256)
def _in_utc(moment: datetime) -> str:
    return f"{moment.astimezone(UTC):%Y-%m-%d %H:%M} UTC"


def too_long(counted: SmsCount, library: Library) -> tuple[str, ...]:
    """What is said of a text of more parts than the clinic allows; a name may make it so long."""
    most = part_limit(counted, library.limits)
    if counted.parts <= most:
        return ()
    return (f"{counted.parts} parts, over the limit of {most}",)

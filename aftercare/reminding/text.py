"""The text message of a reminder, with the slip for whoever sends it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC

from aftercare.model import Library, Message, Purpose, SmsCount, Worded
from aftercare.reminding.order import Order
from aftercare.render.gsm import check_sendable, count
from aftercare.render.isolate import plain
from aftercare.render.plain_text import make_safe
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


def texted(message: Message, text: str, order: Order, library: Library) -> Message:
    """The message with its text counted after the slots were filled."""
    safe = make_safe(text, language=message.language).text
    counted = count(safe)
    check_sendable(safe, counted)
    return replace(
        message,
        body=f"{_slip(order)}\n{sheet(counted)}".encode(),
        sms=counted,
        findings=too_long(counted, library),
    )


def _slip(order: Order) -> str:
    """What whoever sends the text needs: the number, and when it may leave."""
    told = [f"To: {order.person.mobile}"]
    for name, moment in (("From", order.not_before), ("Until", order.not_after)):
        if moment is not None:
            told.append(f"{name}: {moment.astimezone(UTC):%Y-%m-%d %H:%M} UTC")
    return "".join(f"{line}\n" for line in told)


def too_long(counted: SmsCount, library: Library) -> tuple[str, ...]:
    """What is said of a text of more parts than the clinic allows; a name may make it so long."""
    most = part_limit(counted, library.limits)
    if counted.parts <= most:
        return ()
    return (f"{counted.parts} parts, over the limit of {most}",)

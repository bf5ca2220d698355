"""What must hold of a reminder beside what holds of all: a way to answer, no secret in view."""

from __future__ import annotations

from collections.abc import Iterator

from aftercare.choose.reminders import units_on
from aftercare.gate import Asked
from aftercare.model import Channel, Fact, Kind, Message, Role
from aftercare.render.reminder_email import SUBJECT
from aftercare.rules.privacy import in_view

# A way to write to the clinic, for whoever cannot phone.
_WRITTEN = frozenset({"clinic_text_number", "clinic_email"})


def without_help(message: Message, facts: frozenset[Fact]) -> Iterator[str]:
    """It must say what it is about, and how this patient can answer."""
    blocks = [one.block for one in message.chosen]
    if not any(one.kind is Kind.RECALL and len(one.moments) == 1 for one in blocks):
        yield "nothing says what it is about"
    routes = {
        slot
        for one in blocks
        if one.kind is Kind.CONTACT
        for unit in units_on(one, message.channel)
        for variant in unit.variants
        for slot in variant.phrase.slots
    }
    if not routes & (_WRITTEN | {"clinic_phone"}):
        yield "no way to contact the clinic"
    elif "speech:no-phone" in facts and not routes & _WRITTEN:
        yield "no way to contact the clinic without a phone"


def shown_to_others(message: Message, asked: Asked) -> Iterator[str]:
    """Row 22: what a locked screen or an inbox shows. A patient may be called like any word."""
    shown = list(message.lines) if message.channel is Channel.SMS else []
    title = asked.worded.frame.get(SUBJECT)
    if message.channel is Channel.EMAIL and title is not None:
        shown.append(title)
    for line in shown:
        language = line.language or message.language
        listed = asked.library.limits.lock_screen.get(language)
        if listed is None:
            yield f"shared/limits.toml lists no lock-screen words for {language}"
            return
        words = (span.text if span.role is not Role.NAME else " - " for span in line.spans)
        yield from in_view("".join(words), listed)

"""The e-mail of a recall: plain text first, then HTML, then the visit as a calendar file.

This is the plain way, through Python's own library; ``render.reminder_form`` gives the same bytes
many times as fast.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time
from email.headerregistry import Address
from email.message import EmailMessage
from email.utils import format_datetime
from functools import cache
from zoneinfo import ZoneInfo

from jinja2 import Environment, PackageLoader, StrictUndefined, Template

from aftercare.errors import BadText
from aftercare.model import Clinic, Passage, Purpose, Worded
from aftercare.render.calendar import Method, content_type
from aftercare.render.email import (
    POLICY,
    TAGS,
    deliverable,
    header_safe,
    inliner,
    passage_text,
    spans,
)
from aftercare.render.isolate import plain

SUBJECT = "subject"
FILENAME = "visit.ics"
_SEED = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Envelope:
    """What an e-mail is sent under: to whom, about which reminder, on which day.

    ``key`` is the reminder's; ``edition`` the library's fingerprint.
    """

    to: str
    key: str
    edition: str
    on: date


@dataclass(frozen=True, slots=True)
class Attached:
    """A calendar file and what the reader's calendar is to do with it."""

    raw: bytes
    method: Method


def reminder_email(
    worded: Worded, envelope: Envelope, clinic: Clinic, purpose: Purpose, attached: Attached | None
) -> bytes:
    """A finished ``.eml`` for one patient. Raises ``BadText`` when a header would not be safe."""
    stamp = stamp_of(worded, purpose)
    text, html = text_of(worded, stamp), html_of(worded, stamp)
    to = deliverable("patient.email", envelope.to)
    seed = seed_of(envelope.key, envelope.edition, worded.language, to, text)
    headed = Headed(subject=subject_of(worded, stamp), to=to, seed=seed, on=envelope.on)
    return assemble(text, html, headed, clinic, worded.language, attached)


def stamp_of(worded: Worded, purpose: Purpose) -> str:
    """What marks a sample; empty on a patient's own."""
    return plain(worded.frame["stamp"], worded.direction) if purpose is Purpose.SAMPLE else ""


def subject_of(worded: Worded, stamp: str) -> str:
    """The subject as a header may carry it. Raises ``BadText`` when it may not, or is missing."""
    said = worded.frame.get(SUBJECT)
    if said is None:
        raise BadText("subject", "the e-mail has none", "write 'subject' in the block's header")
    return header_safe(SUBJECT, ": ".join(filter(None, (stamp, said.text))))


def seed_of(key: str, edition: str, language: str, to: str, text: str) -> str:
    """What tells a message from every other: another text or another day is another message."""
    parts = "\0".join((key, edition, language, to, text))
    return hashlib.sha256(parts.encode()).hexdigest()[:_SEED]


def text_of(worded: Worded, stamp: str) -> str:
    """The whole message for readers of plain text; nothing is only in the HTML."""
    return "\n\n".join(_told(worded, stamp)) + "\n"


def _told(worded: Worded, stamp: str) -> Iterator[str]:
    way = worded.direction
    if stamp:
        yield stamp
    if worded.help is not None:
        yield plain(worded.help.line, worded.help.direction)
    yield plain(worded.frame["salutation"], way)
    for passage in passages_of(worded):
        yield passage_text(passage, way)
    yield plain(worded.frame["signoff"], way)


def passages_of(worded: Worded) -> Iterator[Passage]:
    """What is told between greeting and closing."""
    for section in worded.sections:
        yield from section.passages


def html_of(worded: Worded, stamp: str) -> str:
    """The same as a page, its style on the elements."""
    page = _template().render(
        lang=worded.language.replace("_", "-"),
        dir=worded.direction,
        stamp=stamp,
        subject=worded.frame[SUBJECT].text,
        frame=worded.frame,
        help=worded.help,
        passages=list(passages_of(worded)),
        tags=TAGS,
        say=lambda line, way=worded.direction: spans(line, way),
    )
    return inliner().inline(page)


@dataclass(frozen=True, slots=True, kw_only=True)
class Headed:
    """What the headers say."""

    subject: str
    to: str
    seed: str
    on: date


def assemble(
    text: str, html: str, headed: Headed, clinic: Clinic, language: str, attached: Attached | None
) -> bytes:
    """The message around finished bodies."""
    message = EmailMessage(policy=POLICY)
    _headers(message, headed, clinic)
    message.set_content(text, cte="quoted-printable")
    message.add_alternative(html, subtype="html", cte="quoted-printable")
    tag = language.replace("_", "-")
    for part in message.iter_parts():
        part["Content-Language"] = tag
    message.set_boundary(boundary_of(headed.seed))
    if attached is not None:
        params = content_type(attached.method)
        message.add_attachment(
            attached.raw, maintype="text", subtype="calendar", filename=FILENAME, params=params
        )
        message.set_boundary(outer_boundary_of(headed.seed))
    # set_content deletes these when they come first, so they come last.
    message["Content-Language"] = tag
    return message.as_bytes()


def boundary_of(seed: str) -> str:
    """What parts text and HTML; it holds ``=_``, which no quoted-printable line does."""
    return f"=_{seed[:32]}"


def outer_boundary_of(seed: str) -> str:
    """What parts the words from the calendar file."""
    return f"=_.{seed[:32]}"


def _headers(message: EmailMessage, headed: Headed, clinic: Clinic) -> None:
    noon = datetime.combine(headed.on, time(12), ZoneInfo(clinic.timezone))
    sender = deliverable("clinic.sender", clinic.sender)
    message["Date"] = format_datetime(noon)
    message["From"] = Address(header_safe("clinic.short_name", clinic.short_name), addr_spec=sender)
    message["Reply-To"] = Address(addr_spec=deliverable("clinic.email", clinic.email))
    # The address alone: a name in a header is one more thing that could be injected.
    message["To"] = Address(addr_spec=headed.to)
    message["Subject"] = headed.subject
    message["Message-ID"] = f"<{headed.seed}@{sender.rpartition('@')[2]}>"
    message["Auto-Submitted"] = "auto-generated"  # RFC 3834


@cache
def _template() -> Template:
    shelf = Environment(
        loader=PackageLoader("aftercare.render"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
    )
    return shelf.get_template("reminder.html.j2")

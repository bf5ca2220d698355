"""The path from a Case to Messages, the release gate, and the ports to the world.

    choose -> word -> render -> score -> gate

Everything here takes the time and the world as arguments: a Press lays out pages, a Store
keeps what was decided, a Clock tells the time. Sending comes later, through Transport.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Protocol

from aftercare.choose import choose, patient_facts
from aftercare.errors import BadText
from aftercare.gate import (
    Asked,
    confirmed_recall,
    logged,
    over_limits,
    overridden,
    unapproved,
    unsafe,
    warnings,
)
from aftercare.language import Languages
from aftercare.model import (
    Case,
    Channel,
    Choice,
    Library,
    Line,
    Message,
    Purpose,
    Record,
    Status,
    Worded,
)
from aftercare.recall import Due, due
from aftercare.render.email import email
from aftercare.render.gsm import check_sendable
from aftercare.render.leaflet import Printed, leaflet_data
from aftercare.render.sms import Texted, compose, part_limit, sheet
from aftercare.rules import broken
from aftercare.rules.routes import unusable
from aftercare.score import score_lines
from aftercare.word import word

NOT_WRITTEN = "the files could not be written"
# Enough of the library's fingerprint to find an edition again by eye.
EDITION_SHOWN = 12


class Press(Protocol):
    """Lays out a leaflet."""

    def press(self, data: str) -> Printed:
        """A PDF/UA-1 file and its page count. Raises ``BadText`` for a missing glyph."""
        ...


class Store(Protocol):
    """Keeps records. It can only add."""

    def add(self, records: Sequence[Record]) -> None:
        """Write the records down before anything leaves, all or none."""
        ...


class Clock(Protocol):
    """Tells the time, so that nothing else has to."""

    def now(self) -> str:
        """The moment in UTC, ISO 8601, seconds."""
        ...

    def today(self) -> date:
        """The day at the clinic."""
        ...


class Transport(Protocol):
    """Carries one finished message. No adapter exists yet; the port keeps its place."""

    def send(self, message: Message, to: str) -> str:
        """The carrier's own reference for what it accepted."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Discharge:
    """What one visit became."""

    case: Case
    library: Library
    choice: Choice
    worded: Worded
    messages: tuple[Message, ...]
    recall: Due | None


def discharge(
    case: Case,
    library: Library,
    *,
    press: Press,
    today: date,
    purpose: Purpose,
    channels: Iterable[Channel] = (),
) -> Discharge:
    """One visit's messages on the channels asked for, or on every one the patient can use.

    Every message is scored whether it may leave or not; a withheld one has no body. Raises
    ``BadInput`` or ``BadContent`` when the recall date cannot be worked out.
    """
    path = _Path(case, library, press, today, purpose)
    wanted = tuple(dict.fromkeys(channels)) or usable(case)
    return Discharge(
        case=case,
        library=library,
        choice=path.choice,
        worded=path.worded,
        messages=tuple(path.message(channel) for channel in wanted),
        recall=path.recall,
    )


def usable(case: Case) -> tuple[Channel, ...]:
    """The channels this patient agreed to and can be reached on, in a fixed order."""
    return tuple(channel for channel in Channel if unusable(case, channel) is None)


class _Path:
    """The verbs in order for one visit; each channel's message shares what comes before."""

    def __init__(
        self, case: Case, library: Library, press: Press, today: date, purpose: Purpose
    ) -> None:
        self.case, self.library, self.press = case, library, press
        self.today, self.purpose = today, purpose
        self.recall = due(case.visit_date, case.recall, library.clinic) if case.recall else None
        self.facts = patient_facts(case, library)
        self.choice = choose(case, library)
        self.languages = Languages(case, self.facts, library, purpose, self._word)
        self.worded = self.languages.first()

    def _word(self, language: str) -> Worded:
        due_on = self.recall.on if self.recall else None
        return word(
            self.case, self.choice, self.facts, self.library, language=language, recall=due_on
        )

    def message(self, channel: Channel) -> Message:
        """The finished message, gated; a refusal by the renderer withholds it with its reason."""
        make: dict[Channel, Callable[[Worded], Message]] = {
            Channel.SMS: self._sms,
            Channel.EMAIL: self._email,
            Channel.PRINT: self._print,
        }
        barred = unusable(self.case, channel)
        said = self._texted if channel is Channel.SMS else _paged
        spoken = self.languages.spoken(channel, said)
        worded = spoken.worded
        try:
            message = self._page(worded, channel, None) if barred else make[channel](worded)
        except BadText as refusal:
            barred = str(refusal)
            message = self._page(worded, channel, None)
        told = [spoken.told] if spoken.told and not barred else []
        if told:
            message = replace(message, instead_of=self.case.patient.language)
        if spoken.near and not barred:
            message = replace(message, noted=(spoken.near,))
        return self._gated(message, worded, barred, told)

    def _gated(
        self, message: Message, worded: Worded, barred: str | None, language: Sequence[str]
    ) -> Message:
        asked = Asked(
            case=self.case,
            library=self.library,
            recall=self.recall,
            facts=self.facts,
            choice=self.choice,
            worded=worded,
            today=self.today,
        )
        # Words that were never laid out for this channel cannot be judged for it.
        found = () if barred else broken(message, asked)
        held = [barred] if barred else list(unsafe(message, asked, found))
        drafts = list(unapproved(message, asked))
        let_go = tuple(overridden(found, self.case))
        told = (*language, *over_limits(message, asked), *let_go, *warnings(found))
        message = replace(
            message,
            findings=(*message.findings, *told),
            noted=(*message.noted, *language, *let_go, *logged(found), *confirmed_recall(asked)),
        )
        if self.purpose is Purpose.SAMPLE:
            # A sample may hold drafts; what would have stopped it is told beside it.
            message, drafts = replace(message, would_withhold=tuple(drafts)), []
        reasons = (*held, *drafts)
        if not reasons:
            return message
        return replace(message, status=Status.WITHHELD, withheld_because=reasons, body=None)

    def _texted(self, worded: Worded) -> tuple[Line, ...]:
        texted = compose(worded, self.library.limits, self.purpose)
        return tuple(line for _, line in texted.kept)

    def _sms(self, worded: Worded) -> Message:
        texted = compose(worded, self.library.limits, self.purpose)
        check_sendable(texted.text, texted.count)
        lines = (worded.frame["sms_open"], *_helped(worded), *(line for _, line in texted.kept))
        return Message(
            channel=Channel.SMS,
            language=worded.language,
            lines=lines,
            chosen=tuple(one for one, _ in texted.kept),
            score=score_lines([line for _, line in texted.kept], worded.language),
            status=Status.RELEASED,
            findings=tuple(_too_long(texted, self.library)),
            body=sheet(texted.count).encode(),
            sms=texted.count,
            dropped=texted.dropped,
        )

    def _email(self, worded: Worded) -> Message:
        body = email(worded, self.case, self.library, self.purpose)
        return self._page(worded, Channel.EMAIL, body)

    def _print(self, worded: Worded) -> Message:
        limits = self.library.limits
        large = "format:large-print" in self.facts
        most = limits.print_pages_large if large else limits.print_pages
        data = leaflet_data(
            worded,
            clinic=self.library.clinic.name,
            purpose=self.purpose,
            point=limits.large_print_point if large else limits.print_point,
            edition=self.library.fingerprint.removeprefix("sha256:")[:EDITION_SHOWN],
            chosen=self.choice.chosen,
            most_pages=most,
        )
        printed = self.press.press(data)
        message = self._page(worded, Channel.PRINT, printed.pdf)
        long = [f"{printed.pages} pages, over the limit of {most}"] if printed.pages > most else []
        return replace(message, pages=printed.pages, findings=(*message.findings, *long))

    def _page(self, worded: Worded, channel: Channel, body: bytes | None) -> Message:
        lines = _paged(worded)
        return Message(
            channel=channel,
            language=worded.language,
            lines=(*_helped(worded), *lines),
            chosen=self.choice.chosen,
            score=score_lines(lines, worded.language),
            status=Status.RELEASED,
            body=body,
        )


def _paged(worded: Worded) -> tuple[Line, ...]:
    """The sentences a patient reads on a page; titles, greetings and headings are none."""
    return (worded.frame["visit_line"], *worded.lines(), worded.frame["caution"])


def _helped(worded: Worded) -> tuple[Line, ...]:
    """The line in the reader's own language, which no formula of the message's fits."""
    return (worded.help.line,) if worded.help else ()


def _too_long(texted: Texted, library: Library) -> Iterator[str]:
    most = part_limit(texted.count, library.limits)
    if texted.count.parts > most:
        yield f"{texted.count.parts} parts, over the limit of {most}; only vital words are left"


def records(done: Discharge, at: str) -> tuple[Record, ...]:
    """What the Store keeps of a visit: what was decided, and a digest of what was written."""
    return tuple(
        Record(
            at=at,
            case=done.case.ref,
            library=done.library.fingerprint,
            channel=message.channel,
            language=message.language,
            status=message.status,
            because=message.withheld_because,
            digest=hashlib.sha256(message.body).hexdigest() if message.body else None,
            noted=message.noted,
        )
        for message in done.messages
    )


def not_written(done: Discharge) -> Discharge:
    """The same visit as it stands on record when its files could not be put in place."""
    held = [
        replace(
            message,
            status=Status.WITHHELD,
            withheld_because=(*message.withheld_because, NOT_WRITTEN),
            body=None,
        )
        for message in done.messages
    ]
    return replace(done, messages=tuple(held))

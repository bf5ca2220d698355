"""A reminder's words and the message they make: what is read of it, what is told of it, why not."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass, replace

from aftercare.gate import too_hard
from aftercare.model import (
    Channel,
    Chosen,
    Fact,
    Library,
    Line,
    Message,
    Purpose,
    Record,
    Score,
    Status,
    Worded,
)
from aftercare.reminding.order import Order
from aftercare.score import score_lines
from aftercare.score.english import FLESCH_KINCAID
from aftercare.score.formula import Status as ScoreStatus
from aftercare.score.reading import is_english, own_formulas


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """A reminder's words, and everything that can be said of them before they are laid out.

    ``held`` and ``drafts`` are why it may not leave, the second waived for samples; ``told`` is
    said of its language.
    """

    facts: frozenset[Fact]
    chosen: tuple[Chosen, ...]
    worded: Worded
    told: tuple[str, ...]
    held: tuple[str, ...]
    drafts: tuple[str, ...]


def read_of(channel: Channel, worded: Worded) -> tuple[Line, ...]:
    """The sentences a patient reads; greeting, closing and opening are none."""
    if channel is Channel.SMS:
        return tuple(line for _, line in worded.short)
    return tuple(worded.lines())


def said_of(channel: Channel) -> Callable[[Worded], tuple[Line, ...]]:
    """What gives the sentences of words for a channel."""
    return lambda worded: read_of(channel, worded)


def message_of(
    order: Order, draft: Draft, *, score: Score | None = None, status: Status = Status.RELEASED
) -> Message:
    """The message without its body."""
    worded = draft.worded
    opening = (worded.frame["sms_open"],) if order.channel is Channel.SMS else ()
    helped = (worded.help.line,) if worded.help else ()
    read = read_of(order.channel, worded)
    return Message(
        channel=order.channel,
        language=worded.language,
        lines=(*opening, *helped, *read),
        chosen=draft.chosen,
        score=score or score_lines(read, worded.language),
        status=status,
    )


def reasons_of(draft: Draft, purpose: Purpose) -> tuple[str, ...]:
    """Why this may not leave, for this purpose."""
    return draft.held if purpose is Purpose.SAMPLE else (*draft.held, *draft.drafts)


def finished(
    message: Message, draft: Draft, order: Order, library: Library, purpose: Purpose
) -> Message:
    """The message with what is told of it, and without a body when it may not leave."""
    hard = too_hard(_graded(message), message.language, library.limits)
    drafts = draft.drafts
    instead = order.person.language if draft.told else None
    sample = purpose is Purpose.SAMPLE
    reasons = reasons_of(draft, purpose)
    return replace(
        message,
        findings=(*message.findings, *draft.told, *hard),
        noted=draft.told,
        instead_of=instead,
        would_withhold=drafts if sample else (),
        status=Status.WITHHELD if reasons else Status.RELEASED,
        withheld_because=reasons,
        body=None if reasons else message.body,
    )


def _graded(message: Message) -> Score:
    """The score by which a page is held to the limit: short as it is, it has a grade.

    No grade is shown of so few words, and none is asked of a text message: the proof of the shelf
    does the same (``proof.reminders``).
    """
    counts = message.score.counts
    if message.channel is Channel.SMS or not (counts.words and counts.sentences):
        return message.score
    if is_english(message.language):
        return replace(message.score, fkgl=FLESCH_KINCAID.compute(counts))
    own = own_formulas(message.language)
    scored = (one for one in own if one.status(counts) is not ScoreStatus.NOT_SCORED)
    return replace(message.score, own=tuple((one.name, one.compute(counts)) for one in scored))


def record(order: Order, message: Message, library: Library, at: str) -> Record:
    """What the Store keeps of a reminder, under its key: nothing of the patient."""
    return Record(
        at=at,
        case=order.key,
        library=library.fingerprint,
        channel=message.channel,
        language=message.language,
        status=message.status,
        because=message.withheld_because,
        digest=hashlib.sha256(message.body).hexdigest() if message.body else None,
        noted=message.noted,
    )

"""A reminder through every room, one after the other: choose, word, judge, render, score."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import UTC

from aftercare.choose import patient_facts
from aftercare.choose.reminders import remind, subject, units_on
from aftercare.errors import BadText
from aftercare.flow import Press
from aftercare.gate import Asked, out_of_date, too_hard, unapproved
from aftercare.language import Languages, Spoken
from aftercare.model import (
    Block,
    Case,
    Channel,
    Choice,
    Chosen,
    Fact,
    Kind,
    Library,
    Line,
    Message,
    Moment,
    Purpose,
    Record,
    Role,
    Score,
    SmsCount,
    Span,
    Status,
    Unit,
    Worded,
)
from aftercare.recall.routes import barred
from aftercare.recall.steps import APPOINTMENT, RECALL
from aftercare.reminding.letter import letter
from aftercare.reminding.order import OF_PATIENT, Order, Visit, as_case, check_names
from aftercare.render.calendar import Appointment, Method, calendar_file, uid_of
from aftercare.render.gsm import check_sendable, count
from aftercare.render.isolate import plain
from aftercare.render.plain_text import make_safe
from aftercare.render.reminder_email import SUBJECT, Attached, Envelope, reminder_email
from aftercare.render.sms import part_limit, sheet
from aftercare.rules import broken
from aftercare.rules.privacy import in_view
from aftercare.rules.translations import MISSING
from aftercare.score import score_lines
from aftercare.score.english import FLESCH_KINCAID
from aftercare.score.reading import is_english
from aftercare.word.reminders import word_reminder

# What asks the patient to book, or tells of a visit that is booked; each can be opted out of.
_ASKS = frozenset({Moment.INVITE, Moment.UNBOOKED, Moment.OVERDUE, Moment.LETTER})
_ENTERED = frozenset({Moment.BOOKED, Moment.BEFORE, Moment.CHANGED})
# A way to write to the clinic, for whoever cannot phone.
_WRITTEN = frozenset({"clinic_text_number", "clinic_email"})
Filler = Callable[[str], Mapping[str, Span]]


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


class Reminding:
    """Writes reminders of one day from one library."""

    def __init__(self, library: Library, press: Press, purpose: Purpose) -> None:
        self.library, self._press, self.purpose = library, press, purpose

    def write(self, order: Order) -> Message:
        """The finished message; one that may not leave says why and has no body."""
        try:
            check_names(order.person)
        except BadText as unfit:
            return self._without_words(order, str(unfit))
        draft = self.draft(order, lambda language: order.filled(self.library, language))
        if isinstance(draft, str):
            return self._without_words(order, draft)
        try:
            message = self._laid_out(order, draft)
        except BadText as refusal:
            message = message_of(order, draft, status=Status.WITHHELD)
            draft = replace(draft, held=(str(refusal),), told=())
        return finished(message, draft, order, self.library, self.purpose)

    def refusals(self, order: Order) -> tuple[str, ...]:
        """Why this would not be written, as far as it can be said without laying it out."""
        try:
            check_names(order.person)
        except BadText as unfit:
            return (str(unfit),)
        draft = self.draft(order, lambda language: order.filled(self.library, language))
        return (draft,) if isinstance(draft, str) else reasons_of(draft, self.purpose)

    def draft(self, order: Order, filler: Filler) -> Draft | str:
        """The words and what is wrong with them, or why there can be none.

        ``filler`` gives the slots that differ from patient to patient, in a language.
        """
        library, channel = self.library, order.channel
        case = as_case(order, library, name="")
        condition = {order.condition} if order.condition else set()
        facts = patient_facts(case, library) | condition
        chosen = remind(library, order.moment, channel, facts)
        about = None if channel is Channel.SMS else subject(library, order.moment, facts)
        unknown = _needed(chosen, about, channel, facts) - order.slots()
        if unknown:
            return f"not on record: {', '.join(sorted(unknown))}"

        def say(language: str) -> Worded:
            return word_reminder(
                case, chosen, about, facts, library, filler(language),
                channel=channel, language=language,
            )  # fmt: skip

        spoken = Languages(case, facts, library, self.purpose, say).spoken(
            channel, said_of(channel)
        )
        return self._judged(order, case, facts, chosen, spoken)

    def _judged(
        self,
        order: Order,
        case: Case,
        facts: frozenset[Fact],
        chosen: tuple[Chosen, ...],
        spoken: Spoken,
    ) -> Draft:
        told = (spoken.told,) if spoken.told else ()
        draft = Draft(
            facts=facts, chosen=chosen, worded=spoken.worded, told=told, held=(), drafts=()
        )
        message = message_of(order, draft)
        asked = Asked(
            case=case, library=self.library, recall=None, facts=facts,
            choice=Choice(chosen, ()), worded=spoken.worded, today=order.on,
        )  # fmt: skip
        wanted = barred(order.person, order.channel, topic_of(order.moment))
        held = [f"{order.channel}: {wanted}"] if wanted else list(self._unsafe(message, asked))
        drafts = tuple(unapproved(message, asked))
        return replace(draft, held=tuple(held), drafts=drafts)

    def _unsafe(self, message: Message, asked: Asked) -> Iterator[str]:
        """Why this may reach nobody, not even as a sample."""
        if not asked.worded.missing:
            yield from _without_help(message, asked.facts)
            yield from _in_view(message, asked)
            yield from out_of_date(message, asked)
        yield from (one.text for one in broken(message, asked, (MISSING,)))

    def _without_words(self, order: Order, because: str) -> Message:
        return Message(
            channel=order.channel, language=order.person.language, lines=(), chosen=(),
            score=score_lines((), order.person.language), status=Status.WITHHELD,
            withheld_because=(because,),
        )  # fmt: skip

    def _laid_out(self, order: Order, draft: Draft) -> Message:
        score = score_lines(read_of(order.channel, draft.worded), draft.worded.language)
        message = message_of(order, draft, score=score)
        if order.channel is Channel.SMS:
            text = sms_text(draft.worded, self.purpose)
            return texted(message, text, order, self.library)
        if order.channel is Channel.EMAIL:
            return replace(message, body=self._email(order, draft))
        return letter(
            message, order, draft.worded, draft.facts, self.library, self._press, self.purpose
        )

    def _email(self, order: Order, draft: Draft) -> bytes:
        envelope = Envelope(
            to=order.person.email or "", key=order.key, edition=self.library.fingerprint,
            on=order.on,
        )  # fmt: skip
        attached = calendar_of(order, draft, self.library)
        return reminder_email(draft.worded, envelope, self.library.clinic, self.purpose, attached)


def topic_of(moment: Moment) -> str:
    """What a patient opts out of who wants no such message."""
    return RECALL if moment in _ASKS else APPOINTMENT


def _needed(
    chosen: tuple[Chosen, ...],
    about: tuple[Block, Unit] | None,
    channel: Channel,
    facts: frozenset[Fact],
) -> frozenset[str]:
    """The slots of the patient's that these words have."""
    units = [unit for one in chosen for unit in units_on(one.block, channel)]
    units += [about[1]] if about else []
    phrases = (next(v.phrase for v in unit.variants if v.when <= facts) for unit in units)
    return OF_PATIENT.intersection(slot for phrase in phrases for slot in phrase.slots)


# --- what a message is made of --------------------------------------------------------------


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
    scored = message.channel is not Channel.SMS and is_english(message.language)
    if not scored or not (counts.words and counts.sentences):
        return message.score
    return replace(message.score, fkgl=FLESCH_KINCAID.compute(counts))


def _without_help(message: Message, facts: frozenset[Fact]) -> Iterator[str]:
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


def _in_view(message: Message, asked: Asked) -> Iterator[str]:
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


# --- the text message -----------------------------------------------------------------------


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


# --- the calendar file ----------------------------------------------------------------------


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

"""A reminder through every room, one after the other: choose, word, judge, render, score."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace

from aftercare.choose import patient_facts
from aftercare.choose.reminders import remind, subject, units_on
from aftercare.errors import BadText
from aftercare.flow import Press
from aftercare.gate import Asked, out_of_date, unapproved
from aftercare.language import Languages, Spoken
from aftercare.model import (
    Block,
    Case,
    Channel,
    Choice,
    Chosen,
    Fact,
    Library,
    Message,
    Moment,
    Purpose,
    Span,
    Status,
    Unit,
    Worded,
)
from aftercare.recall.routes import barred
from aftercare.recall.steps import APPOINTMENT, RECALL
from aftercare.reminding.checks import shown_to_others, without_help
from aftercare.reminding.letter import letter
from aftercare.reminding.message import Draft, finished, message_of, read_of, reasons_of, said_of
from aftercare.reminding.order import OF_PATIENT, Order, as_case, check_names
from aftercare.reminding.text import sms_text, texted
from aftercare.reminding.visit import calendar_of
from aftercare.render.reminder_email import Envelope, reminder_email
from aftercare.rules import broken
from aftercare.rules.translations import MISSING
from aftercare.score import score_lines
from aftercare.word.reminders import word_reminder

# What asks the patient to book; all others are about a visit. Each can be opted out of.
_ASKS = frozenset({Moment.INVITE, Moment.UNBOOKED, Moment.OVERDUE, Moment.LETTER})
Filler = Callable[[str], Mapping[str, Span]]


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
            yield from without_help(message, asked.facts)
            yield from shown_to_others(message, asked)
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
            made = texted(text, message.language, order, self.library)
            return replace(message, body=made.body, sms=made.sms, findings=made.findings)
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

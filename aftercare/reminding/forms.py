"""The same messages as `plain` gives, with everything that patients share done once.

A form is what the plain way makes of an order with holes in it. It knows what the gate says, its
score for the dates it has been filled with, and its e-mail encoded around the holes. Whatever is
out of the ordinary, a letter, an odd address or an unfit name, goes the plain way.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import replace
from datetime import UTC, date

from aftercare.errors import BadText
from aftercare.model import SLOTS, Channel, Line, Message, Role, Span, Status
from aftercare.reminding.message import Draft, finished, message_of, read_of, reasons_of
from aftercare.reminding.order import MINUTES, Order, Visit, check_names, is_child
from aftercare.reminding.plain import Reminding
from aftercare.reminding.text import sms_text, texted
from aftercare.reminding.visit import appointment, method_of, shown_of
from aftercare.render.calendar import UID_DIGITS, Method, calendar_file, uid_of
from aftercare.render.reminder_email import Envelope, stamp_of
from aftercare.render.reminder_form import EmailForm, Holed, hole, in_hole, quick_address, slot_of
from aftercare.score import score_lines

# More kinds of message than a clinic has; then all are forgotten, so that memory stays as it is.
_MOST_FORMS, _MOST_SCORES, _MOST_STARTS = 4096, 4096, 256


class Forms:
    """Writes what ``plain`` writes, from forms that are made when first needed."""

    def __init__(self, plain: Reminding) -> None:
        self._plain, self.library = plain, plain.library
        self._forms: dict[Hashable, Form | str | None] = {}

    def write(self, order: Order) -> Message:
        """The finished message, the same as ``Reminding.write`` gives."""
        form = self._form(order) if order.channel is not Channel.PRINT else None
        if isinstance(form, Form):
            try:
                check_names(order.person)
                message = form.filled(order)
            except BadText:
                message = None
            if message is not None:
                return message
        return self._plain.write(order)

    def refusals(self, order: Order) -> tuple[str, ...]:
        """Why this would not be written, as ``Reminding.refusals`` says it."""
        try:
            check_names(order.person)
        except BadText as unfit:
            return (str(unfit),)
        form = self._form(order)
        if form is None:
            return self._plain.refusals(order)
        return (form,) if isinstance(form, str) else form.reasons

    def _form(self, order: Order) -> Form | str | None:
        """The form, why there can be no words, or None where there can be no form."""
        key = _key(order, self.library.limits.adult_age)
        if key not in self._forms:
            if len(self._forms) >= _MOST_FORMS:
                self._forms.clear()
            self._forms[key] = self._made(order)
        return self._forms[key]

    def _made(self, order: Order) -> Form | str | None:
        minutes = {} if order.visit is None else {MINUTES: Span(str(order.visit.minutes))}
        holes = {slot: hole(slot) for slot in order.slots()} | minutes
        draft = self._plain.draft(order, lambda language: holes)
        if isinstance(draft, str):
            return draft
        try:
            return Form(draft, order, self._plain)
        except BadText:
            return None


def _key(order: Order, adult_age: int) -> Hashable:
    """All of an order that its form depends on: what the plain way looks at but for the holes."""
    person, visit = order.person, order.visit
    return (
        order.moment, order.channel, order.condition, order.on, tuple(order.days),
        tuple(order.times), None if visit is None else visit.minutes,
        person.language, person.facts, person.agreed, person.opted_out,
        _age(person.born, order.on, adult_age), not person.mobile, not person.email,
        not person.address,
    )  # fmt: skip


def _age(born: date | None, on: date, adult_age: int) -> bool | None:
    """Whether a child is meant; most are too old or too young by the year alone."""
    if born is None:
        return None
    years = on.year - born.year
    if years == adult_age:
        return is_child(born, on, adult_age)
    return years < adult_age


class Form:
    """One kind of message, ready but for what differs from patient to patient.

    Raises ``BadText`` when no form can be made of it.
    """

    def __init__(self, draft: Draft, order: Order, plain: Reminding) -> None:
        self._draft, self._plain, self._library = draft, plain, plain.library
        self._worded = draft.worded
        self.reasons = reasons_of(draft, plain.purpose)
        self._lines = [_HoledLine(line) for line in message_of(order, draft).lines]
        self._text = Holed(sms_text(draft.worded, plain.purpose))
        self._method = method_of(order)
        self._email = self._email_form(order) if order.channel is Channel.EMAIL else None
        self._read = [_HoledLine(line) for line in read_of(order.channel, draft.worded)]
        self._dates = sorted(
            slot
            for slot in frozenset[str]().union(*(line.slots for line in self._read))
            if SLOTS[slot] is Role.DATE
        )
        used = self._text.slots if self._email is None else self._email.slots
        self._slots = sorted(used.union(*(line.slots for line in self._lines)))
        self._domain = plain.library.clinic.sender.rpartition("@")[2]
        self._starts: dict[Hashable, tuple[bytes, bytes, bytes]] = {}
        # The message as it is for these dates, without lines and body.
        self._scored: dict[Hashable, Message] = {}

    def _email_form(self, order: Order) -> EmailForm:
        # A message that may not leave is never laid out, and need not be able to.
        envelope = Envelope(to="", key="", edition=self._library.fingerprint, on=order.on)
        stamp = stamp_of(self._worded, self._plain.purpose)
        return EmailForm(self._worded, envelope, self._library.clinic, stamp, self._method)

    def filled(self, order: Order) -> Message | None:
        """The message for one patient; None when it has to go the plain way."""
        spans = order.filled(self._library, self._worded.language)
        base = self._base(order, spans)
        lines = tuple([line.filled(spans) for line in self._lines])
        values = {slot: in_hole(spans[slot], self._worded.direction) for slot in self._slots}
        if self._email is None:
            return self._texted(base, lines, self._text.filled(values), order)
        to = quick_address(order.person.email or "")
        if to is None:
            return None
        if base.status is Status.WITHHELD:
            return replace(base, lines=lines)
        body = self._email.filled(values, to, order.key, self._calendar(order))
        return replace(base, lines=lines, body=body)

    def _texted(self, base: Message, lines: tuple[Line, ...], text: str, order: Order) -> Message:
        """What is said of its length comes first; a text that may not leave has no body."""
        made = texted(text, base.language, order, self._library)
        released = base.status is Status.RELEASED
        return replace(
            base,
            lines=lines,
            findings=(*made.findings, *base.findings),
            sms=made.sms,
            body=made.body if released else None,
        )

    def _calendar(self, order: Order) -> bytes | None:
        """The calendar file: those of one start differ in identifier and sequence alone."""
        visit, method = order.visit, self._method
        if visit is None or method is None:
            return None
        key = visit.start.astimezone(UTC), visit.stamp
        if key not in self._starts:
            if len(self._starts) >= _MOST_STARTS:
                self._starts.clear()
            self._starts[key] = self._cut(visit, method)
        before, between, after = self._starts[key]
        uid = uid_of(visit.recall, self._domain).encode()[:UID_DIGITS]
        return b"".join((before, uid, between, b"%d" % visit.sequence, after))

    def _cut(self, visit: Visit, method: Method) -> tuple[bytes, bytes, bytes]:
        """A file cut at its identifier and its sequence."""
        shown = appointment(visit, shown_of(self._draft), self._library)
        raw = calendar_file(shown, method)
        before, _, rest = raw.partition(b"\r\nUID:")
        between, _, after = rest.partition(b"\r\nSEQUENCE:")
        return (
            before + b"\r\nUID:",
            between[UID_DIGITS:] + b"\r\nSEQUENCE:",
            after[len(b"%d" % visit.sequence) :],
        )

    def _base(self, order: Order, spans: Mapping[str, Span]) -> Message:
        """The message without lines and body: its score depends on the dates alone."""
        dates = tuple([spans[slot].text for slot in self._dates])
        if dates not in self._scored:
            if len(self._scored) >= _MOST_SCORES:
                self._scored.clear()
            score = score_lines([line.filled(spans) for line in self._read], self._worded.language)
            message = message_of(order, self._draft, score=score)
            self._scored[dates] = finished(
                message, self._draft, order, self._library, self._plain.purpose
            )
        return self._scored[dates]


class _HoledLine:
    """A line whose spans may be holes."""

    def __init__(self, line: Line) -> None:
        self._line = line
        self._slots = [slot_of(span) for span in line.spans]
        self.slots = frozenset(filter(None, self._slots))

    def filled(self, spans: Mapping[str, Span]) -> Line:
        """The line with the values in their places, as strong as the words around them."""
        if not self.slots:
            return self._line
        line, pairs = self._line, zip(self._slots, self._line.spans, strict=True)
        filled = tuple([was if slot is None else _put(spans[slot], was) for slot, was in pairs])
        # Written out, as `dataclasses.replace` takes three times as long.
        return Line(filled, line.block_id, line.approved, line.reviewer, line.language)


def _put(span: Span, was: Span) -> Span:
    return replace(span, strong=True) if was.strong else span

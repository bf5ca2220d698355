"""What holds of every recall message a shelf can write: its route, its words, its length.

There are few of them: a moment, a channel, a reader and how the clinic is reached. Each is put
together and looked at, in every language there is.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import product

from aftercare.choose.reminders import looked_at, remind, subject, units_on
from aftercare.model import COUNTS, Block, Channel, Fact, Kind, Library, Moment, Phrase, Unit
from aftercare.proof.editing import Finding
from aftercare.proof.reading import held_to, over_limit
from aftercare.proof.stand_ins import longest, numbers, stand_ins, times
from aftercare.proof.wordings import Speaker, speaker
from aftercare.render.gsm import count
from aftercare.render.plain_text import make_safe
from aftercare.render.sms import part_limit
from aftercare.rules.privacy import in_view
from aftercare.score import count_lines
from aftercare.score.languages import sentence_limit, word_unit
from aftercare.word.counted import plural_rule, shown
from aftercare.word.formats import short_date

# A way to write to the clinic: whoever cannot phone needs one in every message.
WRITTEN = frozenset({"clinic_text_number", "clinic_email"})
_REACHED = tuple(
    frozenset({speech, *replies})
    for speech in ("speech:phone", "speech:no-phone")
    for replies in ((), ("reply:text",), ("reply:email",), ("reply:text", "reply:email"))
)
# As long as a first name usually gets; longer ones cost a part more (proposed).
_NAME = "Bartholomew-Maximilian"


@dataclass(frozen=True, slots=True)
class _Told:
    """One recall message: when, how, to whom, and each line with its block and its unit."""

    moment: Moment
    channel: Channel
    facts: frozenset[Fact]
    lines: tuple[tuple[Block, Unit], ...]

    @property
    def named(self) -> str:
        """The message as an editor is told of it."""
        held = ", ".join(sorted(self.facts))
        return f"recall message {self.moment} by {self.channel}, {held}"


def of_reminders(library: Library) -> Iterator[Finding]:
    """Everything found wrong with the recall messages of a shelf; nothing when it has none."""
    if not library.reminders:
        return
    messages = list(_messages(library))
    for message in messages:
        yield from _incomplete(message, library)
    for language in (library.source_language, *sorted(library.catalogues)):
        yield from _in_language(messages, library, language)


def _messages(library: Library) -> Iterator[_Told]:
    conditions = sorted(f for f in looked_at(library.reminders) if f.startswith("condition:"))
    people = [
        frozenset({reader, *reached, *condition})
        for reader, reached, condition in product(
            ("reader:self", "reader:parent"), _REACHED, ((), *((one,) for one in conditions))
        )
    ]
    for moment, channel, facts in product(Moment, _channels(), people):
        chosen = remind(library, moment, channel, facts)
        if any(one.block.kind is Kind.RECALL and _is_core(one.block) for one in chosen):
            lines = [(one.block, u) for one in chosen for u in units_on(one.block, channel)]
            yield _Told(moment, channel, facts, tuple(lines))
        elif channel is Channel.PRINT:
            yield _Told(moment, channel, facts, ())


def _channels() -> tuple[Channel, ...]:
    return Channel.PRINT, Channel.EMAIL, Channel.SMS


def _is_core(block: Block) -> bool:
    """Whether a block is about its moment alone, so that it says what the message is for."""
    return len(block.moments) == 1


def _incomplete(message: _Told, library: Library) -> Iterator[Finding]:
    """A moment nobody has words for, and a message without a way to answer it."""
    if not message.lines:
        yield _finding(message, "nothing says what it is about", "write a block for this moment")
        return
    routes = [
        slot
        for block, unit in message.lines
        if block.kind is Kind.CONTACT
        for slot in unit.variants[0].phrase.slots
        if slot in WRITTEN or slot == "clinic_phone"
    ]
    if not routes:
        yield _finding(message, "no way to reach the clinic", "write a block of kind contact")
    elif "speech:no-phone" in message.facts and not WRITTEN.intersection(routes):
        yield _finding(
            message, "no way to reach the clinic without a phone", "give a number for texts, or "
            "an address for e-mail",
        )  # fmt: skip
    if message.channel is Channel.EMAIL and subject(library, message.moment, message.facts) is None:
        yield _finding(message, "the e-mail has no subject", "write 'subject' in its header")


def _finding(message: _Told, problem: str, help_with: str) -> Finding:
    return Finding(
        block="shelf", file="content/reminders", language="en",
        problem=f"{message.named}: {problem}", help=help_with,
    )  # fmt: skip


# --- in one language ------------------------------------------------------------------------


def _in_language(messages: list[_Told], library: Library, language: str) -> Iterator[Finding]:
    yield from _in_sight(library, language)
    spoken = _Spoken(library, language)
    hard: dict[tuple[str, str], Finding] = {}
    for message in messages:
        for one in spoken.findings(message):
            hard.setdefault((one.block, one.problem), one)
    yield from hard.values()


def _in_sight(library: Library, language: str) -> Iterator[Finding]:
    """Words of an ear or a treatment: no recall message has them, on any channel."""
    says = [speaker(library, language, count) for count in _counts(library, language)]
    listed = library.limits.lock_screen.get(language, frozenset())
    if not listed:
        yield Finding(
            block="shelf", file="shared/limits.toml", language=language,
            problem="lists no lock-screen words for this language",
            help="list them under [lock_screen]",
        )  # fmt: skip
    for block in library.reminders:
        for variant in (v for unit in block.units() for v in unit.variants):
            said = filter(None, (say(block.id, variant.phrase) for say in says))
            texts = dict.fromkeys(line.text for line in said)
            for why in dict.fromkeys(why for text in texts for why in in_view(text, listed)):
                yield Finding(
                    block=block.id, file=f"{block.place}:{variant.line}", language=language,
                    problem=f"a recall message says nothing of the ear: {why}",
                    help="say it without",
                )  # fmt: skip


def _counts(library: Library, language: str) -> list[Mapping[str, str]]:
    """Numbers in their slots, one for each form in which a sentence says them."""
    told = shown(plural_rule(library, language))
    return [dict.fromkeys(sorted(COUNTS), str(number)) for number in told]


class _Spoken:
    """The messages as they read in one language, with the hardest and longest there is in slots."""

    def __init__(self, library: Library, language: str) -> None:
        self._library, self._language = library, language
        self._formula = held_to(language, library)
        at = times(library, language)
        hardest = stand_ins(library, language, self._formula)
        told = _counts(library, language)
        self._forms = len(told)
        self._hard = [
            speaker(library, language, {**one, **at, **count}) for one in hardest for count in told
        ]
        fixed: Mapping[str, str] = {**longest(library, language, short_date), **numbers(library)}
        self._long = [
            speaker(library, language, {**fixed, "first_name": _NAME, **count}) for count in told
        ]

    def findings(self, message: _Told) -> Iterator[Finding]:
        if not message.lines:
            return
        core = next(block for block, _ in message.lines if _is_core(block))
        problems = (
            self._length(message) if message.channel is Channel.SMS else self._reading(message)
        )
        for problem in problems:
            yield Finding(
                block=core.id, file=core.place, language=self._language,
                problem=f"{message.channel}: {problem}", help="shorter sentences, shorter words",
            )  # fmt: skip

    def _reading(self, message: _Told) -> Iterator[str]:
        # Where no number is told, every number says the same.
        for say in self._hard if _tells_number(message) else self._hard[:: self._forms]:
            said = (say(b.id, _words(u, message.facts)) for b, u in message.lines)
            counts = count_lines([line for line in said if line is not None], self._language)
            most = sentence_limit(self._language, self._library.limits)
            if counts.longest_sentence > most:
                unit = word_unit(self._language)
                yield f"{counts.longest_sentence} {unit}s in a sentence, limit {most}"
            if self._formula and counts.words and counts.sentences:
                value = self._formula.compute(counts)
                limit = over_limit(self._formula, value, self._library)
                if limit is not None:
                    yield f"{self._formula.title} {value:.1f}, limit {limit:g}"

    def _length(self, message: _Told) -> Iterator[str]:
        says = self._long if _tells_number(message) else self._long[:1]
        counted = max(
            (count(self._text(message, say)) for say in says),
            key=lambda one: (one.parts, one.units),
        )
        most = part_limit(counted, self._library.limits)
        if counted.parts > most:
            yield f"{counted.parts} parts, limit {most}"

    def _text(self, message: _Told, say: Speaker) -> str:
        said = (say(b.id, _words(u, message.facts)) for b, u in message.lines)
        texts = [line.text for line in said if line is not None]
        opening = f"{self._library.clinic.short_name}:"
        return make_safe("\n".join([opening, *texts]), language=self._language).text


def _tells_number(message: _Told) -> bool:
    return any(_words(unit, message.facts).others for _, unit in message.lines)


def _words(unit: Unit, facts: frozenset[Fact]) -> Phrase:
    return next(variant.phrase for variant in unit.variants if variant.when <= facts)

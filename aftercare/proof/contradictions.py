"""The contradiction rules, asked of every message that can be put together.

A rule is run as it is at release, on a patient of whom nothing is known yet. Where it asks
whether a fact holds or a line is told, both answers are followed, each for those patients it
fits; an answer that fits nobody is not followed. What is left at the end are groups of patients
no question of the rule tells apart, and the rule's word on each. So the very code that runs at
release is proved over everybody, exactly and without a sample (the way of symbolic execution,
King 1976, Communications of the ACM 19:385).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property, partial
from typing import TypeVar, cast

from aftercare.model import Case, Channel, Ear, Fact, Library, Line, Message, Side
from aftercare.proof.space import EARS, Asked, Condition, Space
from aftercare.proof.spoken import PARENT, SELF, Speech, Spoken
from aftercare.proof.stand_ins import SPECIALIST_STOPS
from aftercare.rules import LOGGED, RULES, UNREVIEWED, Act, Rule
from aftercare.rules.seen import Asked as Release
from aftercare.rules.seen import Seen, Told, Unlisted
from aftercare.rules.translations import MISSING

# What these find is told apart from: an advice that was logged, and words nobody reviewed yet.
_NOT_ASKED = (LOGGED, UNREVIEWED, MISSING)

Check = Callable[[Seen], Iterable[str]]
Result = TypeVar("Result")


@dataclass(frozen=True, slots=True, kw_only=True)
class Contradiction:
    """A rule that some message breaks, what it says, and whose message it is.

    ``of_record``: what was recorded breaks it, whatever the words; release holds such a message.
    ``block`` is whose line breaks it by itself; None where lines together do.
    """

    rule: Rule
    act: Act
    why: str
    language: str
    channels: tuple[Channel, ...]
    who: Condition
    of_record: bool
    block: str | None = None


class _ChannelAsked(Exception):
    """A rule wants to know which channel the words are for."""


class _Parted(Exception):
    """A question that some of these patients answer one way, and some the other."""

    def __init__(self, key: object, yes: Condition, no: Condition) -> None:
        super().__init__()
        self.key, self.yes, self.no = key, yes, no


class Answers:
    """What is known of a group of patients; a question that all of them answer alike is learnt."""

    def __init__(self, some: Condition, known: Mapping[object, bool]) -> None:
        self._some, self._known = some, dict(known)

    def to(self, key: object, holds: Callable[[], Condition]) -> bool:
        """The answer of all of them. Raises what parts them where there is none."""
        if key not in self._known:
            held = holds()
            yes, no = self._some & held, self._some & ~held
            if yes.satisfiable() and no.satisfiable():
                raise _Parted(key, yes, no)
            self._known[key] = yes.satisfiable()
        return self._known[key]

    def parted(self, by: _Parted) -> Iterator[tuple[Condition, Answers]]:
        """The two groups a question makes of this one."""
        for answer, part in ((True, by.yes), (False, by.no)):
            yield part, Answers(part, {**self._known, by.key: answer})


def groups(who: Condition, ask: Callable[[Answers], Result]) -> Iterator[tuple[Condition, Result]]:
    """Everybody in ``who``, parted only by what ``ask`` needs to know, and its word on each."""
    left = [(who, Answers(who, {}))] if who.satisfiable() else []
    while left:
        some, known = left.pop()
        try:
            result = ask(known)
        except _Parted as question:
            left += known.parted(question)
        else:
            yield some, result


def contradictions(speech: Speech, rules: Iterable[Rule] = RULES) -> Iterator[Contradiction]:
    """Every rule that a message on this channel, in this language, can break."""
    for rule in rules:
        if rule not in _NOT_ASKED:
            yield from _together(rule, speech)


def _together(rule: Rule, speech: Speech) -> Iterator[Contradiction]:
    """What a rule finds, each complaint once with everybody it is made of."""
    found: dict[tuple[object, ...], Contradiction] = {}
    for one in _found(rule, speech):
        key = (one.act, one.why, one.of_record, one.channels, one.block)
        known = found.get(key)
        found[key] = replace(known, who=known.who | one.who) if known else one
    yield from found.values()


def _found(rule: Rule, speech: Speech) -> Iterator[Contradiction]:
    yield from _by(rule, speech, rule.record, speech.everybody, of_record=True)
    yield from _by(rule, speech, rule.check, speech.everybody, of_record=False)
    if rule.line is not None:
        for spoken in speech.lines:
            who = spoken.who & speech.everybody
            line = _of_line(rule, spoken.told)
            for one in _by(rule, speech, line, who, of_record=False):
                yield replace(one, block=spoken.told.line.block_id)


def _of_line(rule: Rule, told: Told) -> Check:
    check = rule.line
    return lambda seen: check(seen, told) if check else ()


def _by(
    rule: Rule, speech: Speech, check: Check, who: Condition, *, of_record: bool
) -> Iterator[Contradiction]:
    """What one check finds; once for all channels of these words, if it does not ask which."""
    channels = speech.channels
    try:
        found = [(channels, one) for one in _said_of(rule, speech, check, who, None)]
    except _ChannelAsked:
        found = [
            ((channel,), one)
            for channel in channels
            for one in _said_of(rule, speech, check, who & speech.written_to([channel]), channel)
        ]
    for on, (some, act, why) in found:
        yield Contradiction(
            rule=rule, act=act, why=why, language=speech.language, channels=on, who=some,
            of_record=of_record,
        )  # fmt: skip


def _said_of(
    rule: Rule, speech: Speech, check: Check, who: Condition, channel: Channel | None
) -> Iterator[tuple[Condition, Act, str]]:
    def ask(known: Answers) -> tuple[tuple[Act, str], ...]:
        try:
            imagined = _Imagined(speech, known, channel)
            return tuple((rule.act, why) for why in dict.fromkeys(check(imagined)))
        except Unlisted as lack:
            why = f"cannot be checked in {speech.language}; {lack.file} lacks words for it"
            return ((Act.WARN, why),)

    for some, said in groups(who, ask):
        speech.groups += 1
        for act, why in said:
            yield some, act, why


# --- a patient of whom only what was asked is known ---------------------------------------


class _Facts:
    """Facts that are asked one by one."""

    def __init__(self, space: Space, known: Answers, side: Side | None) -> None:
        self._space, self._known, self._side = space, known, side

    def __contains__(self, fact: object) -> bool:
        named, of_an_ear = cast(Fact, fact), self._side is not None
        # At release, too, an ear holds nothing of the person, and the person nothing of an ear.
        if self._space.is_of_ears(named) is not of_an_ear:
            return False
        holds = partial(self._space.holds, named, self._side)
        return self._known.to(Asked(named, self._side), holds)

    def __bool__(self) -> bool:
        raise NotImplementedError("a rule asks for each fact by its name")


class _ImaginedMessage:
    """A message in one language. Where it is one of pages, its channel is asked like a fact."""

    def __init__(self, speech: Speech, channel: Channel | None) -> None:
        self.language = speech.language
        self._channel = channel

    @property
    def channel(self) -> Channel:
        if self._channel is None:
            raise _ChannelAsked
        return self._channel


class _ImaginedCase:
    """The ears that were seen, each with facts that are asked one by one."""

    recall_declined = None
    visit_date = SPECIALIST_STOPS

    def __init__(self, space: Space, known: Answers) -> None:
        self._space, self._known = space, known

    @property
    def ears(self) -> Iterator[Ear]:
        for side in EARS:
            if self._known.to(("seen", side), partial(self._space.seen, side)):
                facts = cast("frozenset[Fact]", _Facts(self._space, self._known, side))
                yield Ear(side=side, facts=facts, drops_stop=SPECIALIST_STOPS)


@dataclass(frozen=True, slots=True)
class _ImaginedAsked:
    """A date is no fact of the vocabulary: rule 19 is held at release and by ``recall``."""

    library: Library
    recall: None = None


class _Imagined(Seen):
    """What a rule may see of patients of whom only the answers so far are known."""

    def __init__(self, speech: Speech, known: Answers, channel: Channel | None) -> None:
        self._speech, self._answers = speech, known
        self.message = cast(Message, _ImaginedMessage(speech, channel))
        self.asked = cast(Release, _ImaginedAsked(speech.library))
        self.case = cast(Case, _ImaginedCase(speech.space, known))
        self.facts = _Facts(speech.space, known, None)
        self._known = speech.vocabulary
        self._found: dict[str, tuple[Told, ...]] = {}

    @property
    def frame(self) -> Mapping[str, Line]:  # type: ignore[override]  # it depends on who reads
        return self._speech.frames[PARENT if PARENT in self.facts else SELF]

    @cached_property
    def told(self) -> tuple[Told, ...]:
        raise NotImplementedError("a rule asks for lines by what they say or by their kind")

    def about(self, *things: str) -> Iterator[Told]:
        return self._of(sorted(self._numbers(things)))

    def back_from(self, told: Told, *things: str) -> Iterator[Told]:
        lines = self._speech.lines
        place = next(number for number, one in enumerate(lines) if one.told is told)
        before = (number for number in self._numbers(things) if number <= place)
        return self._of(sorted(before, reverse=True))

    def _numbers(self, things: Iterable[str]) -> frozenset[int]:
        for thing in things:
            self.known(thing)
        return frozenset().union(*(self._speech.saying[thing] for thing in things))

    def saying(self, thing: str) -> tuple[Told, ...]:
        return tuple(self.about(thing))

    def tells(self, such: Callable[[Told], bool]) -> bool:
        who = (one.who for one in self._speech.lines if such(one.told))
        told = self._speech.space.any_of(who)
        return self._answers.to(told, lambda: told)

    def _of(self, numbers: Iterable[int]) -> Iterator[Told]:
        for number in numbers:
            spoken = self._speech.lines[number]
            # Lines told to the same people are asked for once.
            if self._answers.to(spoken.who, partial(_who, spoken)):
                yield spoken.told


def _who(spoken: Spoken) -> Condition:
    return spoken.who

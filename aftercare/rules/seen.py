"""What a rule looks at: one finished message, line by line, and the facts behind it."""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from aftercare.model import (
    Case,
    Choice,
    Chosen,
    Ear,
    Fact,
    Kind,
    Library,
    Line,
    Message,
    Side,
    Worded,
)
from aftercare.recall import Due
from aftercare.rules.sayings import Known, says, sentences, text_of, vocabulary

NOT_WHOLE = frozenset({"condition:open-cavity", "condition:perforation", "condition:grommet"})


@dataclass(frozen=True, slots=True)
class Asked:
    """What a message is judged against."""

    case: Case
    library: Library
    recall: Due | None
    facts: frozenset[Fact]
    choice: Choice
    worded: Worded
    today: date


@dataclass(eq=False)
class Unlisted(Exception):
    """The file has no words for this in the message's language."""

    thing: str
    file: str = "shared/rules.toml"


@dataclass(frozen=True, slots=True)
class Told:
    """One line, the ears it speaks of, and the block it came from; furniture has none."""

    line: Line
    side: Side
    one: Chosen | None
    sentences: tuple[str, ...]

    @property
    def kind(self) -> Kind | None:
        """The kind of its block."""
        return self.one.block.kind if self.one else None

    def says(self, known: Known) -> bool:
        """Whether any of its sentences says it."""
        return any(says(sentence, known) for sentence in self.sentences)

    def of(self, ear: Side) -> bool:
        """Whether it speaks of this ear."""
        return self.side in (ear, Side.BOTH)


class Seen:
    """A message and its facts; what it says is looked up once.

    A rule asks of facts with ``in`` alone, and of words through the methods here, so that a
    proof can answer for many patients at once.
    """

    facts: Container[Fact]
    frame: Mapping[str, Line]

    def __init__(self, message: Message, asked: Asked) -> None:
        self.message, self.asked = message, asked
        self.case = asked.case
        self.facts = asked.facts
        self.frame = asked.worded.frame
        self._known = vocabulary(asked.library.rules, message.language)
        self._found: dict[str, tuple[Told, ...]] = {}

    def known(self, thing: str) -> Known:
        """How a thing is said in the message's language. Raises ``Unlisted``."""
        if thing not in self._known:
            raise Unlisted(thing)
        return self._known[thing]

    @cached_property
    def told(self) -> tuple[Told, ...]:
        """Every line in reading order."""
        return tuple(_told(self.message.lines, self.message.chosen))

    def saying(self, thing: str) -> tuple[Told, ...]:
        """The lines that say a thing. Raises ``Unlisted``."""
        if thing not in self._found:
            known = self.known(thing)
            self._found[thing] = tuple(told for told in self.told if told.says(known))
        return self._found[thing]

    def said(self, thing: str) -> bool:
        """Whether any line says it. Raises ``Unlisted``."""
        known = self.known(thing)
        return self.tells(lambda told: told.says(known))

    def tells(self, such: Callable[[Told], bool]) -> bool:
        """Whether any line is such a one; ``such`` asks nothing but the line."""
        return any(map(such, self.told))

    def in_time(self, thing: str) -> Iterator[tuple[Told, bool]]:
        """The lines that say a thing, and whether each asks for help the same day: by itself, or
        by the urgent list it is in.

        Raises ``Unlisted``.
        """
        for told in self.about(thing):
            yield told, self._by_the_same_day(told, thing)

    def _by_the_same_day(self, told: Told, thing: str) -> bool:
        """Whether the last word on time, in a line or before it in its list, is the same day."""
        soon, late = self.known("at_once"), self.known("later")
        if told.says(soon):
            return True
        # Lines that say the thing count, too: outside a list they end the one before.
        for one in self.back_from(told, "at_once", "later", thing):
            if one.says(soon):
                return one.kind is Kind.URGENT
            if one.kind is not Kind.URGENT or one.says(late):
                return False
        return False

    def back_from(self, told: Told, *things: str) -> Iterator[Told]:
        """The lines that say any of these things, from this one back to the first.

        Raises ``Unlisted``.
        """
        known = [self.known(thing) for thing in things]
        place = next(number for number, one in enumerate(self.told) if one is told)
        back = reversed(self.told[: place + 1])
        return (one for one in back if any(one.says(thing) for thing in known))

    def about(self, *things: str) -> Iterator[Told]:
        """The lines that say any of these things, in reading order. Raises ``Unlisted``."""
        known = [self.known(thing) for thing in things]
        return (told for told in self.told if any(told.says(one) for one in known))

    def having(self, facts: Iterable[Fact]) -> list[Fact]:
        """Which of these facts hold of the person, in order of name."""
        return [fact for fact in sorted(facts) if fact in self.facts]

    def ears(self, *facts: Fact) -> Iterator[Ear]:
        """The ears with any of these facts."""
        return (ear for ear in self.case.ears if any(fact in ear.facts for fact in facts))


def named(told: Told) -> str:
    """The block a line came from, as errors name it."""
    return told.line.block_id


def told_of(line: Line, one: Chosen | None) -> Told:
    """A line by itself, as the block it came from tells it; furniture is of both ears.

    A line in another language says nothing that could be looked for in the message's own.
    """
    side = one.side if one else Side.BOTH
    said = () if line.language else sentences(text_of(line.spans))
    return Told(line, side, one, said)


def _told(lines: tuple[Line, ...], chosen: tuple[Chosen, ...]) -> Iterator[Told]:
    """Each line with its own telling: a block told once for each ear is told in their order."""
    tellings: dict[str, list[Chosen]] = {}
    for one in chosen:
        tellings.setdefault(one.block.id, []).append(one)
    counts: dict[str, int] = {}
    for line in lines:
        counts[line.block_id] = counts.get(line.block_id, 0) + 1
    at: dict[str, int] = {}
    for line in lines:
        ones = tellings.get(line.block_id)
        number = at[line.block_id] = at.get(line.block_id, -1) + 1
        teller = ones[number * len(ones) // counts[line.block_id]] if ones else None
        yield told_of(line, teller)

"""Every line a patient can be told on one channel in one language, and who is told it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from aftercare.model import Channel, Chosen, Fact, Library, Line, Phrase, Side, Unit
from aftercare.proof.reach import Reach, Telling
from aftercare.proof.space import DETAIL, Condition, Space
from aftercare.proof.stand_ins import longest, numbers
from aftercare.proof.wordings import FOR_PARENT, FRAME, FRAME_SENTENCES, Speaker, readers, speaker
from aftercare.rules.sayings import Known, vocabulary
from aftercare.rules.seen import Told, told_of
from aftercare.word.formats import full_date, short_date

TEXTS, PAGES = (Channel.SMS,), (Channel.EMAIL, Channel.PRINT)
SMS_OPENING = "sms_open"
PARENT, SELF = "reader:parent", "reader:self"


@dataclass(frozen=True, slots=True, eq=False)
class Spoken:
    """A line as a rule sees it, with everybody who is told it.

    ``when`` are the facts of the person that chose these words; ``detail`` says whether they
    are for those who asked for detail, for the others, or for both. Furniture has no telling;
    a line of a page has the ``part`` of its block it is in, and which ``unit`` of that it is.
    """

    told: Told
    who: Condition
    telling: Telling | None = None
    when: tuple[Fact, ...] = ()
    detail: bool | None = None
    part: int = 0
    unit: int = 0


# A line with everybody who is told it; None where there are no words for it.
_Line = tuple[Condition, Spoken | None]


class Speech:
    """What can be said in one language, in texts or on pages, in reading order.

    An e-mail and a leaflet on paper say the same; ``channels`` are those the words are for.
    ``droppable`` names the blocks a text may lose for length, the least needed last: whether a
    block stays is then left to chance, but with it stays all that is needed more. That allows
    more texts than there are, never fewer.
    """

    def __init__(
        self,
        reach: Reach,
        language: str,
        channels: Sequence[Channel],
        droppable: Sequence[str] = (),
    ) -> None:
        self.reach, self.language, self.channels = reach, language, tuple(channels)
        self.library: Library = reach.library
        self.space: Space = reach.space
        # How many groups of patients the rules have told apart so far.
        self.groups = 0
        self._stays = {name: self.space.chance() for name in droppable}

    def written_to(self, channels: Iterable[Channel]) -> Condition:
        """Everybody who is written to on one of these channels."""
        routes = self.space.any_of(self.space.holds(f"route:{one}") for one in channels)
        return self.space.all_of([self.space.possible, routes, *self._in_order_of_need()])

    def _in_order_of_need(self) -> Iterator[Condition]:
        for needed, other in pairwise(self._stays.values()):
            yield needed | ~other

    @cached_property
    def everybody(self) -> Condition:
        """Everybody who is told these words: half a translation is sent to nobody."""
        _, half = self._made
        return self.written_to(self.channels) & ~half

    @cached_property
    def lines(self) -> tuple[Spoken, ...]:
        """Every line that anybody is told."""
        made, _ = self._made
        return tuple(one for one in made if self.space.anybody_fits(one.who & self.everybody))

    @cached_property
    def _made(self) -> tuple[tuple[Spoken, ...], Condition]:
        """Every line there are words for, and whoever should be told one there are none for."""
        every = list(self._texts() if Channel.SMS in self.channels else self._pages())
        half = self.space.any_of(who for who, spoken in every if spoken is None)
        return tuple(spoken for _, spoken in every if spoken is not None), half

    @cached_property
    def frames(self) -> Mapping[Fact, Mapping[str, Line]]:
        """The furniture for each kind of reader."""
        return {SELF: dict(self._furniture("")), PARENT: dict(self._furniture(FOR_PARENT))}

    @cached_property
    def say(self) -> Speaker:
        """Says a phrase in this language, its slots filled with what can stand there."""
        written = short_date if Channel.SMS in self.channels else full_date
        filled = longest(self.library, self.language, written)
        return speaker(self.library, self.language, {**filled, **numbers(self.library)})

    @property
    def direction(self) -> str:
        """Which way the language is read."""
        catalogue = self.library.catalogues.get(self.language)
        return catalogue.direction if catalogue else "ltr"

    @cached_property
    def vocabulary(self) -> dict[str, Known]:
        """How each thing the rules look for is said in this language."""
        return vocabulary(self.library.rules, self.language)

    @cached_property
    def saying(self) -> Mapping[str, frozenset[int]]:
        """Which lines say each thing, by number."""
        return {
            thing: frozenset(
                number for number, one in enumerate(self.lines) if one.told.says(known)
            )
            for thing, known in self.vocabulary.items()
        }

    # --- pages --------------------------------------------------------------------------

    def _pages(self) -> Iterator[_Line]:
        first, *rest = FRAME_SENTENCES
        yield from self._sentence(first)
        for telling in self.reach.tellings:
            for number, part in enumerate(telling.block.parts):
                yield from self._said(telling, part.units, None, part=number)
        for key in rest:
            yield from self._sentence(key)

    def _sentence(self, key: str) -> Iterator[_Line]:
        """One sentence of the furniture, for each reader it differs for."""
        for reader, frame in self.frames.items():
            who, line = self.space.holds(reader), frame.get(key)
            yield who, Spoken(told_of(line, None), who, when=(reader,)) if line else None

    def _furniture(self, reader: str) -> Iterator[tuple[str, Line]]:
        texts = self.library.frame.texts
        for key in texts:
            if not key.endswith(FOR_PARENT):
                line = self.say(FRAME, texts.get(key + reader, texts[key]))
                if line is not None:
                    yield key, line

    # --- texts --------------------------------------------------------------------------

    def _texts(self) -> Iterator[_Line]:
        yield from self._sentence(SMS_OPENING)
        for telling in self.reach.tellings:
            block = telling.block
            plain, full = block.sms, block.sms_detail or block.sms
            for unit, detail in ((plain, False), (full, True)):
                if unit is not None:
                    yield from self._said(telling, [unit], detail)

    # --- words --------------------------------------------------------------------------

    def _said(
        self, telling: Telling, units: Sequence[Unit], detail: bool | None, *, part: int = 0
    ) -> Iterator[_Line]:
        asked = self.space.holds(DETAIL)
        wanted = {None: self.space.anybody, True: asked, False: ~asked}[detail]
        for number, unit in enumerate(units):
            for when in readers([unit], self.library):
                phrase = _words(unit, when)
                if phrase is None or not _side_fits(when, telling.side):
                    continue
                reads = tuple(fact for fact in when if not fact.startswith("side:"))
                stays = self._stays.get(telling.block.id, self.space.anybody)
                read = map(self.space.holds, reads)
                who = self.space.all_of([telling.who, wanted, stays, *read])
                line = self.say(telling.block.id, phrase)
                told = told_of(line, Chosen(telling.block, telling.side, ())) if line else None
                place = (part, number)
                yield who, Spoken(told, who, telling, reads, detail, *place) if told else None


def _words(unit: Unit, when: Sequence[Fact]) -> Phrase | None:
    return next((v.phrase for v in unit.variants if v.when <= frozenset(when)), None)


def _side_fits(when: Sequence[Fact], side: Side) -> bool:
    sides = [fact for fact in when if fact.startswith("side:")]
    return not sides or f"side:{side}" in sides

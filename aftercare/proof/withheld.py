"""Whom the state of a language keeps from messages in it, counted over all who can walk in.

They are written to in the source language, with one line in theirs where somebody approved it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from aftercare.library.po import Key
from aftercare.library.settings import HELP_ROUTES
from aftercare.model import Fact, Side
from aftercare.proof.reach import Reach, Telling
from aftercare.proof.space import DETAIL, Condition
from aftercare.proof.spoken import PARENT, SELF
from aftercare.proof.translated import CLINIC, FRAME, Standing, State, Where, units_of
from aftercare.proof.wordings import FOR_PARENT

# What a patient is not told for want of a translation, so that nothing at all is laid out.
_UNUSABLE = (State.MISSING, State.STALE, State.DOUBTED)


class Audience:
    """Who is told which sentence; counted over everybody who can walk in.

    A text that is too long may lose a block, and then needs less than is counted here.
    """

    def __init__(self, reach: Reach) -> None:
        self.reach, self.space = reach, reach.space

    @cached_property
    def everybody(self) -> int:
        """How many combinations of recorded facts there are."""
        return self.space.count(self.space.anybody)

    @cached_property
    def worded(self) -> Mapping[Key, Condition]:
        """For whom a sentence is worded, whether or not they are sent the message it is in."""
        return self._of(dict.fromkeys(Where, self.space.anybody))

    @cached_property
    def sent(self) -> Mapping[Key, Condition]:
        """Who is sent a message that the sentence, or the frame of every message, is in."""
        by_text = self.space.holds("route:sms")
        by_page = self.space.holds("route:email") | self.space.holds("route:print")
        anyhow = self.space.anybody
        return self._of(
            {
                Where.PAGE: by_page, Where.SMS: by_text, Where.SMS_DETAIL: by_text,
                Where.SUBJECT: self.space.nobody,
                Where.FRAME: anyhow, Where.HOURS: anyhow,
            }
        )  # fmt: skip

    def withheld(self, unusable: Iterable[Key], unapproved: Iterable[Key]) -> Condition:
        """Who has a message, one at least, in another language for want of these sentences."""
        nobody = self.space.nobody
        return self.space.any_of(
            (
                *(self.worded.get(key, nobody) for key in unusable),
                *(self.sent.get(key, nobody) for key in unapproved),
            )
        )

    def count(self, who: Condition) -> int:
        """How many combinations of recorded facts a condition fits."""
        return self.space.count(who)

    def share(self, patients: int) -> str:
        """That many of everybody, in per cent, as it is told."""
        percent = 100 * patients / self.everybody
        shown = "under 0.01%" if 0 < percent < 0.01 else f"{percent:.3g}%"
        # A share that is not all of them never reads as if it were.
        shown = "over 99.9%" if shown == "100%" and patients != self.everybody else shown
        return f"{shown} of the combinations of recorded facts"

    def _of(self, routes: Mapping[Where, Condition]) -> Mapping[Key, Condition]:
        found: dict[Key, Condition] = {}
        for key, where, who in self._told():
            found[key] = found.get(key, self.space.nobody) | (who & routes[where])
        return found

    def _told(self) -> Iterator[tuple[Key, Where, Condition]]:
        library, space = self.reach.library, self.space
        texts = library.frame.texts
        for name, phrase in texts.items():
            # A line on help is in no message of its own language, so it holds up none.
            if name not in HELP_ROUTES:
                yield (FRAME, phrase.msgid), Where.FRAME, self._readers(name, texts)
        if isinstance(library.clinic.hours, str):
            yield (CLINIC, library.clinic.hours), Where.HOURS, space.anybody
        for telling in self.reach.tellings:
            yield from self._of_block(telling)

    def _readers(self, name: str, texts: Iterable[str]) -> Condition:
        if name.endswith(FOR_PARENT):
            return self.space.holds(PARENT)
        return self.space.holds(SELF) if name + FOR_PARENT in texts else self.space.anybody

    def _of_block(self, telling: Telling) -> Iterator[tuple[Key, Where, Condition]]:
        detail = self.space.holds(DETAIL)
        whole = telling.block.sms_detail is not None
        asked = {Where.SMS: ~detail if whole else self.space.anybody, Where.SMS_DETAIL: detail}
        for where, unit in units_of(telling.block):
            for variant in unit.variants:
                if _side_fits(variant.when, telling.side):
                    facts = (fact for fact in variant.when if not fact.startswith("side:"))
                    reads = self.space.all_of(map(self.space.holds, facts))
                    who = telling.who & reads & asked.get(where, self.space.anybody)
                    yield (telling.block.id, variant.phrase.source), where, who


def _side_fits(when: frozenset[Fact], side: Side) -> bool:
    sides = [fact for fact in when if fact.startswith("side:")]
    return not sides or f"side:{side}" in sides


@dataclass(frozen=True, slots=True, kw_only=True)
class Withheld:
    """What a language cannot be sent for: blocks in page order, and how many patients they hold up.

    Patients are combinations of recorded facts.
    """

    blocks: tuple[str, ...]
    patients: int


def on_help(one: Standing) -> dict[str, State]:
    """How far the lines have come that a message in the source language may hold, by key."""
    keys = {
        use.named: key
        for key, sentence in one.sentences.items()
        for use in sentence.uses
        if use.where is Where.FRAME and use.named in HELP_ROUTES
    }
    return {name: one.states[key] for name, key in keys.items()}


def withheld_now(one: Standing, audience: Audience) -> Withheld:
    """What is withheld as things stand: all that is not translated or that nobody approved."""
    drafts = [key for key in one.of(State.DRAFT, State.BLOCKED) if key not in one.reviewers]
    return _withheld(one, one.of(*_UNUSABLE), drafts, audience)


def withheld_still(one: Standing, audience: Audience) -> Withheld:
    """What would be withheld if everything that can be approved were."""
    return _withheld(one, one.of(*_UNUSABLE), one.of(State.BLOCKED), audience)


def _withheld(
    one: Standing, unusable: Sequence[Key], unapproved: Sequence[Key], audience: Audience
) -> Withheld:
    beside = {
        key
        for key, sentence in one.sentences.items()
        if all(use.where is Where.FRAME and use.named in HELP_ROUTES for use in sentence.uses)
    }
    lacking = {*unusable, *unapproved} - beside
    blocks = dict.fromkeys(context for context, msgid in one.states if (context, msgid) in lacking)
    who = audience.withheld(unusable, unapproved)
    return Withheld(blocks=tuple(blocks), patients=audience.count(who))

"""What a block does: who is told it in which words, and what an edit of it changes for whom."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product

from aftercare.choose import OF_ONE_EAR
from aftercare.model import Block, Fact, Library, Side
from aftercare.proof.different import different
from aftercare.proof.reach import Reach
from aftercare.proof.shelf import Example, example
from aftercare.proof.space import Condition
from aftercare.proof.spoken import PAGES, TEXTS, Speech, Spoken
from aftercare.proof.wordings import PAGE

TEXT = "sms"


@dataclass(frozen=True, slots=True, order=True)
class Telling:
    """One way of saying a block: on a page or in a text, of which ear, to what kind of reader."""

    form: str
    side: Side
    when: tuple[Fact, ...]
    detail: bool = False


@dataclass(frozen=True, slots=True)
class Told:
    """The words of a telling, and everybody who is told them."""

    words: tuple[str, ...]
    who: Condition


@dataclass(frozen=True, slots=True, kw_only=True)
class Audience:
    """Who is told a block in which words. ``leaflets`` are different sets of blocks with it."""

    telling: Telling
    words: tuple[str, ...]
    leaflets: int
    met: Example


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """What an edit does to one group of leaflets: words before and after, or none.

    ``block`` is another block's id where the edit makes that one come or go.
    """

    block: str
    telling: Telling | None
    before: tuple[str, ...]
    after: tuple[str, ...]
    leaflets: int
    met: Example


def audiences(reach: Reach, block: Block) -> Iterator[Audience]:
    """Each kind of patient who is told the block, with the words they are told."""
    for telling, told in sorted(_told(reach, block).items()):
        yield Audience(
            telling=telling, words=told.words, leaflets=_leaflets(reach, told.who),
            met=example(reach, told.who),
        )  # fmt: skip


def changes(reach: Reach, block: Block, before: Block) -> Iterator[Change]:
    """What has changed for whom since a block was ``before``, group by group of leaflets."""
    was = Reach(_with(reach.library, block, before), reach.space)
    old, new = _told(was, before), _told(reach, block)
    apart = bool(OF_ONE_EAR.intersection((*block.given_for, *before.given_for)))
    for telling, said, says, who in _parted(reach, old, new, apart):
        if said != says and reach.space.anybody_fits(who):
            yield Change(
                block=block.id, telling=telling, before=said, after=says,
                leaflets=_leaflets(reach, who), met=example(reach, who),
            )  # fmt: skip
    yield from _pushed(reach, was, block)


_Parted = Iterator[tuple[Telling, tuple[str, ...], tuple[str, ...], Condition]]


def _parted(
    reach: Reach, old: Mapping[Telling, Told], new: Mapping[Telling, Told], apart: bool
) -> _Parted:
    """Everybody told before or now, by how they are told now, or were: words before and after."""

    def same(one: Telling, other: Telling) -> bool:
        """Whether one stands where the other stood; an ear of its own only if told apart."""
        ears = not apart or one.side is other.side
        return ears and (one.form, one.detail) == (other.form, other.detail)

    for now, told in sorted(new.items()):
        left = told.who
        for then, was in sorted(old.items()):
            if same(then, now):
                yield now, was.words, told.words, told.who & was.who
                left = left & ~was.who
        yield now, (), told.words, left
    for then, was in sorted(old.items()):
        known = (told.who for now, told in new.items() if same(now, then))
        yield then, was.words, (), was.who & ~reach.space.any_of(known)


def _pushed(reach: Reach, was: Reach, edited: Block) -> Iterator[Change]:
    """Other blocks that come or go because the edited one asks more or less than before."""
    for block in reach.blocks:
        if block.id == edited.id:
            continue
        old, new = was.gets(block), reach.gets(block)
        for before, after, who in (((), ("told",), new & ~old), (("told",), (), old & ~new)):
            if reach.space.anybody_fits(who):
                yield Change(
                    block=block.id, telling=None, before=before, after=after,
                    leaflets=_leaflets(reach, who), met=example(reach, who),
                )  # fmt: skip


def _with(library: Library, block: Block, before: Block) -> Library:
    others = [one for one in library.blocks if one.id != block.id]
    return replace(library, blocks=(*others, before))


def _leaflets(reach: Reach, who: Condition) -> int:
    return different(reach.space, reach.questions, who)


def _told(reach: Reach, block: Block) -> Mapping[Telling, Told]:
    """Every telling of a block, its lines together, in the source language."""
    found: dict[Telling, Told] = {}
    for channels in (PAGES, TEXTS):
        speech = Speech(reach, reach.library.source_language, channels)
        mine = [one for one in speech.lines if one.told.line.block_id == block.id]
        for telling, lines in _together(mine, channels is TEXTS).items():
            reader = reach.space.all_of(map(reach.space.holds, telling.when))
            who = reach.space.any_of(one.who for one in lines) & reader & speech.everybody
            if reach.space.anybody_fits(who):
                found[telling] = Told(tuple(one.told.line.text for one in lines), who)
    return found


def _together(lines: Sequence[Spoken], texted: bool) -> Mapping[Telling, list[Spoken]]:
    """The lines by how they are told; one for several kinds of reader goes with each one's own."""
    readers = list(_readers(lines))
    found: dict[Telling, list[Spoken]] = {}
    for one in lines:
        for when in readers:
            if set(one.when) <= set(when):
                form = TEXT if texted else PAGE
                telling = Telling(form, one.told.side, when, one.detail or False)
                found.setdefault(telling, []).append(one)
    return found


def _readers(lines: Sequence[Spoken]) -> Iterator[tuple[Fact, ...]]:
    """Each combination of the facts that choose words in these lines; one empty one for none."""
    groups: dict[str, set[Fact]] = {}
    for fact in (fact for one in lines for fact in one.when):
        groups.setdefault(fact.partition(":")[0], set()).add(fact)
    yield from product(*(sorted(groups[name]) for name in sorted(groups)))

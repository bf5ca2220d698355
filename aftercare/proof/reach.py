"""Who gets which block, as conditions: CHOOSE compiled over everybody who can walk in.

It says the same as ``aftercare.choose``, block by block and ear by ear; that it does is held by
``tests/proof/test_slow.py``, which walks every visit of a smaller vocabulary through both.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from aftercare.choose import OF_ONE_EAR
from aftercare.model import SPARE_KINDS, ApprovalState, Block, Fact, Library, Side
from aftercare.proof.different import different
from aftercare.proof.space import EARS, SEEN, Asked, Condition, Space

SIDES = (*EARS, Side.BOTH)


@dataclass(frozen=True, slots=True)
class Telling:
    """A block told of an ear, or of both, and who is told it so."""

    block: Block
    side: Side
    who: Condition


class Reach:
    """Which patients reach which blocks of a library."""

    def __init__(self, library: Library, space: Space | None = None) -> None:
        self.library = library
        self.space = space or Space(library)
        self.blocks = tuple(sorted(library.blocks, key=page_order))
        # For each block, the ears it is called for.
        self.wanted: Mapping[str, Mapping[Side, Condition]] = {
            block.id: {side: self._wanted(block, side) for side in EARS} for block in self.blocks
        }
        self.left_out: Mapping[str, Condition] = self._left_out()

    # --- one block ----------------------------------------------------------------------

    def _wanted(self, block: Block, side: Side) -> Condition:
        space = self.space
        if block.approval.state is ApprovalState.RETIRED:
            return space.nobody
        barred = space.any_of(space.holds(fact, side) for fact in block.withheld_from)
        asked = (
            space.any_of(space.holds(fact, side) for fact in facts)
            for facts in by_group(block.given_for)
        )
        return space.all_of([space.seen(side), *asked]) & ~barred

    def called_for(self, block: Block) -> Condition:
        """Who is to get the block, before anything is left out."""
        return self.space.any_of(self.wanted[block.id].values())

    def gets(self, block: Block) -> Condition:
        """Who gets the block on paper."""
        return self.called_for(block) & ~self.left_out.get(block.id, self.space.nobody)

    def _called_so(self, block: Block, side: Side) -> Condition:
        """Who is to be told the block of this ear, or of both at once."""
        left, right = (self.wanted[block.id][ear] for ear in EARS)
        if OF_ONE_EAR.intersection(block.given_for):
            return {Side.LEFT: left, Side.RIGHT: right, Side.BOTH: self.space.nobody}[side]
        return {Side.LEFT: left & ~right, Side.RIGHT: right & ~left, Side.BOTH: left & right}[side]

    @cached_property
    def tellings(self) -> tuple[Telling, ...]:
        """Every block in page order, told of each side that anybody is told it of."""
        kept = {b.id: ~self.left_out.get(b.id, self.space.nobody) for b in self.blocks}
        every = (
            Telling(block, side, self._called_so(block, side) & kept[block.id])
            for block in self.blocks
            for side in SIDES
        )
        return tuple(one for one in every if self.space.anybody_fits(one.who))

    # --- the limit on actions -----------------------------------------------------------

    def _left_out(self) -> dict[str, Condition]:
        """Of each block that can be left out, from whom: more is asked of them than anybody bears.

        The least needed go first, so a block stays as long as what is needed more than it, and
        itself, are within the limit.
        """
        most = self.library.limits.actions
        spare = sorted(filter(_is_spare, self.blocks), key=lambda block: (block.rank, block.id))
        fixed = [block for block in self.blocks if block.actions and not _is_spare(block)]
        asked = self.totals(fixed)
        found: dict[str, Condition] = {}
        for block in spare:
            asked = self._added(asked, block)
            over = self.space.any_of(who for total, who in asked.items() if total > most)
            out = over & self.called_for(block)
            if self.space.anybody_fits(out):
                found[block.id] = out
        return found

    def totals(self, blocks: Iterable[Block]) -> dict[int, Condition]:
        """How many actions these blocks ask, and of whom."""
        asked = {0: self.space.possible}
        for block in blocks:
            asked = self._added(asked, block)
        return asked

    def _added(self, asked: Mapping[int, Condition], block: Block) -> dict[int, Condition]:
        return added(asked, block.actions, self.called_for(block))

    @cached_property
    def actions(self) -> Mapping[int, Condition]:
        """How many actions a leaflet asks for before anything is left out, and of whom."""
        return self.totals(block for block in self.blocks if block.actions)

    # --- totals -------------------------------------------------------------------------

    def leaflets(self) -> int:
        """How many different sets of blocks, told of their ears, patients can be called for."""
        return different(self.space, self.questions)

    @cached_property
    def questions(self) -> tuple[tuple[Condition, ...], ...]:
        """What tells one leaflet from another: the ears, then the blocks they call for."""
        of_person = [self._of_person(b) for b in self.blocks if not self._asks_of_ears(b)]
        of_ears = [b for b in self.blocks if self._asks_of_ears(b)]
        seen = [self.space.seen(side) for side in EARS]
        told = (tuple(self.wanted[block.id][side] for block in of_ears) for side in EARS)
        return (tuple(seen), tuple(of_person), *told)

    def _of_person(self, block: Block) -> Condition:
        """Who gets a block that asks nothing of an ear: whichever ear was seen."""
        sides = self.space.cube(Asked(SEEN, side) for side in EARS)
        return self.called_for(block).exists(sides)

    def _asks_of_ears(self, block: Block) -> bool:
        return any(map(self.space.is_of_ears, (*block.given_for, *block.withheld_from)))


def added(asked: Mapping[int, Condition], amount: int, who: Condition) -> dict[int, Condition]:
    """Totals after adding an amount for some: total -> whose it is, nobody's left out."""
    found: dict[int, Condition] = {}
    for total, condition in asked.items():
        for new, part in ((total, condition & ~who), (total + amount, condition & who)):
            if part.satisfiable():
                found[new] = found[new] | part if new in found else part
    return found


def _is_spare(block: Block) -> bool:
    return block.kind in SPARE_KINDS and block.actions > 0


def by_group(facts: Iterable[Fact]) -> Iterator[list[Fact]]:
    """Facts by their group, in the order in which the groups come."""
    groups: dict[str, list[Fact]] = {}
    for fact in facts:
        groups.setdefault(fact.partition(":")[0], []).append(fact)
    yield from groups.values()


def page_order(block: Block) -> tuple[int, int, str]:
    """What blocks are sorted by on a page."""
    return list(type(block.kind)).index(block.kind), block.rank, block.id

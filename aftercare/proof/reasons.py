"""That the order of a leaflet is fixed, and that every block has a reason to be there or not.

Order: blocks come by kind, rank and id, so two that differ in none of these, and can meet, would
come as they happen to lie on the shelf. Reasons: of each ear a block is told, or it is retired,
or a fact it is never given with holds, or none holds of a group it asks for. That is one of
these for everybody, and never the first with another, is checked over all who can walk in. Then
somebody for each reason there can be walks the real path, which must give that very reason.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, groupby

from aftercare.choose import choose
from aftercare.model import ApprovalState, Block, Choice, Side
from aftercare.proof.editing import Finding
from aftercare.proof.reach import Reach, by_group, page_order
from aftercare.proof.shelf import example, first_line
from aftercare.proof.space import EARS, Condition
from aftercare.proof.witness import case_of

_REPORT = "report it as a fault of aftercare"


@dataclass(frozen=True, slots=True)
class Reason:
    """Why an ear is told a block or is not, as ``choose`` says it, and whose ear that is.

    ``said`` is a piece of that reason; ``told`` and ``called_for`` are as in ``Choice``.
    """

    said: str
    who: Condition
    told: bool = False
    called_for: bool = False


@dataclass(frozen=True, slots=True)
class Reasons:
    """How many reasons were followed, over all blocks, and what was found wrong."""

    followed: int
    findings: tuple[Finding, ...]


def reasons(reach: Reach) -> Reasons:
    """Everything about the order of blocks and the reasons for them, over everybody."""
    every = [(block, list(reasons_of(block, reach))) for block in reach.blocks]
    wrong = [*_tied(reach), *(one for block in reach.blocks for one in _without(block, reach))]
    wrong += [one for block, told in every for one in _not_given(block, told, reach)]
    return Reasons(sum(len(told) for _, told in every), tuple(wrong))


# --- order --------------------------------------------------------------------------------


def _tied(reach: Reach) -> Iterator[Finding]:
    for _, same in groupby(sorted(reach.blocks, key=page_order), key=page_order):
        for one, other in combinations(same, 2):
            both = reach.gets(one) & reach.gets(other)
            if reach.space.anybody_fits(both):
                yield Finding(
                    block=other.id, file=first_line(other), language=reach.library.source_language,
                    problem=f"nothing says whether it comes before or after {first_line(one)}",
                    help="give it an id or a rank of its own", **example(reach, both),
                )  # fmt: skip


# --- reasons ------------------------------------------------------------------------------


def reasons_of(block: Block, reach: Reach, side: Side = Side.LEFT) -> Iterator[Reason]:
    """Each reason that somebody's ear on this side can have, the one that is told first first."""
    space, seen = reach.space, reach.space.seen(side)
    if block.approval.state is ApprovalState.RETIRED:
        yield Reason("retired", seen)
        return
    left = seen
    for fact in sorted(block.withheld_from):
        yield Reason(f"never given with {fact}", left & space.holds(fact, side))
        left = left & ~space.holds(fact, side)
    for facts in by_group(block.given_for):
        held = space.any_of(space.holds(fact, side) for fact in facts)
        yield Reason(f"needs {' or '.join(facts)}", left & ~held)
        left = left & held
    gone = reach.left_out.get(block.id, space.nobody)
    yield Reason("the least needed goes", left & gone, called_for=True)
    for fact in block.given_for or ("given to everyone",):
        held = space.holds(fact, side) if block.given_for else space.anybody
        yield Reason(fact, left & ~gone & held, told=True)


def _without(block: Block, reach: Reach) -> Iterator[Finding]:
    """An ear with no reason, one told a block against a reason, or told it for none."""
    for side in EARS:
        every = list(reasons_of(block, reach, side))
        told = reach.wanted[block.id][side]
        for_it = reach.space.any_of(one.who for one in every if one.told or one.called_for)
        against = reach.space.any_of(one.who for one in every if not (one.told or one.called_for))
        wrong = {
            "some patients have no reason to be told it or not": reach.space.seen(side)
            & ~(for_it | against),
            "some patients are told it against a reason": told & against,
            "some patients are told it for no reason": told & ~for_it,
            "some patients have every reason to be told it and are not": for_it & ~told,
        }
        for problem, who in wrong.items():
            if reach.space.anybody_fits(who):
                yield _fault(block, problem, who, reach)


def _not_given(block: Block, every: list[Reason], reach: Reach) -> Iterator[Finding]:
    """A reason that the real path does not give to somebody who has it, of one ear alone."""
    alone = ~reach.space.seen(Side.RIGHT)
    for one in every:
        who = one.who & alone
        if not reach.space.anybody_fits(who):
            continue
        held, library = reach.space.example(who), reach.library
        case = case_of(held, library.source_language, library.region.checked)
        if not _gives(choose(case, library), block, one):
            told = "told" if one.told else "not told"
            problem = f"the real path does not say that it is {told} because: {one.said}"
            yield _fault(block, problem, who, reach)


def _gives(choice: Choice, block: Block, reason: Reason) -> bool:
    if reason.told:
        return any(reason.said in one.because for one in choice.chosen if one.block.id == block.id)
    return any(
        reason.said in one.because and one.called_for is reason.called_for
        for one in choice.omitted
        if one.block_id == block.id
    )


def _fault(block: Block, problem: str, who: Condition, reach: Reach) -> Finding:
    return Finding(
        block=block.id, file=first_line(block), language=reach.library.source_language,
        problem=problem, help=_REPORT, **example(reach, who),
    )  # fmt: skip

"""What holds of a shelf whatever the language: who gets what, and what nobody gets."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TypedDict

from aftercare.model import ApprovalState, Block, Fact, Kind, Library, Side
from aftercare.proof.editing import Finding
from aftercare.proof.reach import Reach
from aftercare.proof.space import EARS, Asked, Condition

REGIONS = "shared/regions.toml"
# The facts a clinic settles for all its patients: another clinic may answer otherwise.
_OF_A_CLINIC = ("region:", "advice-line:", "emergency-text:", "units:")


@dataclass(frozen=True, slots=True)
class Called:
    """A number, and what is recorded of a patient it is reached by."""

    most: int
    held: frozenset[Asked]


@dataclass(frozen=True, slots=True, kw_only=True)
class Totals:
    """Everybody and everything, counted exactly.

    ``patients`` are combinations of recorded facts, ``leaflets`` different sets of blocks told
    of their ears. ``actions`` is the most a leaflet would ask; ``shortened`` are the patients
    from whom something is left out for it, and ``left_out`` what and from how many.
    """

    patients: int
    leaflets: int
    actions: Called
    shortened: int
    left_out: tuple[tuple[str, int], ...]


def totals(reach: Reach) -> Totals:
    """How many patients there are, how many leaflets, and what they ask."""
    space, most = reach.space, reach.library.limits.actions
    busiest = max(reach.actions)
    over = space.any_of(who for asked, who in reach.actions.items() if asked > most)
    return Totals(
        patients=space.count(space.anybody),
        leaflets=reach.leaflets(),
        actions=Called(busiest, space.example(reach.actions[busiest])),
        shortened=space.count(over),
        left_out=tuple((name, space.count(who)) for name, who in reach.left_out.items()),
    )


def of_any_language(reach: Reach, today: date) -> Iterator[Finding]:
    """What an editor has to look at before a word is translated."""
    yield from _for_nobody(reach)
    yield from _untold(reach)
    yield from _uncovered(reach)
    yield from _overdue(reach.library, today)
    yield from _past(reach.library, today)


class Example(TypedDict, total=False):
    """How many patients something is about, and what is recorded of one."""

    patients: int
    case: tuple[str, ...]


def example(reach: Reach, who: Condition) -> Example:
    """How many patients a condition fits, and what is recorded of one."""
    held = sorted(reach.space.example(who))
    return {"patients": reach.space.count(who), "case": tuple(map(str, held))}


def first_line(block: Block) -> str:
    """The file of a block and the line its words begin on."""
    return f"{block.place}:{next(block.units()).variants[0].line}"


# --- who gets what ------------------------------------------------------------------------


def _for_nobody(reach: Reach) -> Iterator[Finding]:
    """Blocks that no patient of any clinic reaches, or that are left out whenever called for."""
    for block in reach.blocks:
        if block.approval.state is ApprovalState.RETIRED or _of_another_clinic(block, reach):
            continue
        if not reach.space.anybody_fits(reach.called_for(block)):
            yield _finding(
                reach, block, "no patient can be given it",
                "mend 'for' and 'not_for', or retire it; 'impossible' in shared/facts.toml counts",
            )  # fmt: skip
        elif not reach.space.anybody_fits(reach.gets(block)):
            yield _finding(
                reach, block, "it is left out whenever it is called for: too much is asked with it",
                "give it a lower rank, or let it ask less", reach.called_for(block),
            )  # fmt: skip


def _of_another_clinic(block: Block, reach: Reach) -> bool:
    """Whether what a clinic settles for everybody keeps a block from all patients of this one."""
    asked = [fact for fact in block.given_for if fact.startswith(_OF_A_CLINIC)]
    wanted = {fact.partition(":")[0] for fact in asked}
    held = {fact.partition(":")[0] for fact in asked if reach.space.holds(fact).satisfiable()}
    barred = any(
        reach.space.holds(fact).valid()
        for fact in block.withheld_from
        if fact.startswith(_OF_A_CLINIC)
    )
    return wanted != held or barred


def _untold(reach: Reach) -> Iterator[Finding]:
    """Facts whose patients get nothing of a kind that whoever has one must be told."""
    for group in reach.library.facts.values():
        for value in group.values if group.told else ():
            fact = f"{group.name}:{value}"
            for kind in sorted(group.told):
                yield from _untold_of(reach, fact, kind)


def _untold_of(reach: Reach, fact: Fact, kind: Kind) -> Iterator[Finding]:
    blocks = [block for block in reach.blocks if block.kind is kind]
    lacking = reach.space.any_of(
        reach.space.holds(fact, side) & ~_told_of(reach, blocks, side) for side in EARS
    )
    if reach.space.anybody_fits(lacking):
        yield Finding(
            block="shelf", file="content", language=reach.library.source_language,
            problem=f"with {fact}, some patients are told nothing of the kind '{kind}'",
            help=f"write a block of kind {kind} for it", **example(reach, lacking),
        )  # fmt: skip


def _uncovered(reach: Reach) -> Iterator[Finding]:
    """Conditions and procedures of an ear that no block given for them speaks of."""
    for group in ("condition", "procedure"):
        for value in reach.library.facts[group].values:
            fact = f"{group}:{value}"
            blocks = [block for block in reach.blocks if fact in block.given_for]
            lacking = reach.space.any_of(
                reach.space.holds(fact, side) & ~_told_of(reach, blocks, side) for side in EARS
            )
            if reach.space.anybody_fits(lacking):
                yield Finding(
                    block="shelf", file="content", language=reach.library.source_language,
                    problem=f"no content for {fact}: release withholds every message",
                    help="write a block for it, or widen one", **example(reach, lacking),
                )  # fmt: skip


def _told_of(reach: Reach, blocks: Iterable[Block], side: Side) -> Condition:
    """Whose ear on this side is told any of these blocks."""
    return reach.space.any_of(reach.wanted[b.id][side] & reach.gets(b) for b in blocks)


def _finding(
    reach: Reach, block: Block, problem: str, help_with: str, who: Condition | None = None
) -> Finding:
    met = Example() if who is None else example(reach, who)
    return Finding(
        block=block.id, file=first_line(block), language=reach.library.source_language,
        problem=problem, help=help_with, **met,
    )  # fmt: skip


# --- dates --------------------------------------------------------------------------------


def _overdue(library: Library, today: date) -> Iterator[Finding]:
    checked, code = library.region.checked, library.region.code
    days = library.limits.recheck_days
    if today - checked > timedelta(days=days) or checked > today:
        said = "has not come" if checked > today else f"is more than {days} days ago"
        yield Finding(
            block=code, file=REGIONS, language=library.source_language,
            problem=f"the emergency numbers of {code} were checked on {checked}, which {said}",
            help="look every number up again, then write today's date",
        )  # fmt: skip


def _past(library: Library, today: date) -> Iterator[Finding]:
    texts = [
        (block.id, block.place, block.review_by)
        for block in library.shelf
        if block.approval.state is not ApprovalState.RETIRED
    ]
    for name, place, due in (*texts, ("frame", library.frame.place, library.frame.review_by)):
        if due < today:
            yield Finding(
                block=name, file=place, language=library.source_language,
                problem=f"its review was due by {due}: nothing of it is sent",
                help="review it, set 'review_by' and have it approved again",
            )  # fmt: skip

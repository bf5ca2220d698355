"""CHOOSE: which blocks this visit calls for, which it does not, and why."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from aftercare.choose.facts import patient_facts
from aftercare.model import (
    SPARE_KINDS,
    ApprovalState,
    Block,
    Case,
    Choice,
    Chosen,
    Fact,
    Library,
    Omitted,
    Side,
)

__all__ = ["OF_ONE_EAR", "choose", "need", "patient_facts", "uncovered"]

# A length belongs to one ear: two ears with a length get two pieces of text.
OF_ONE_EAR = frozenset({"length:noted"})


def choose(case: Case, library: Library) -> Choice:
    """Sort every block of the library into chosen and omitted, each with its reason.

    A block is asked of each ear apart: the person's facts and that ear's. The chosen come
    in page order (kind, rank, id), whatever order the library holds them in. Where more is
    asked of the reader than the clinic's limit, what is least needed is left out.
    """
    person = patient_facts(case, library)
    chosen: list[Chosen] = []
    omitted: list[Omitted] = []
    for block in sorted(library.blocks, key=_page_order):
        verdicts = [_refusal(block, person | ear.facts) for ear in case.ears]
        sides = [ear.side for ear, refused in zip(case.ears, verdicts, strict=True) if not refused]
        if sides:
            chosen.extend(_chosen(block, sides, person, case))
        else:
            said = zip(case.ears, verdicts, strict=True)
            reasons = dict.fromkeys(_of_ear(ear.side, why, case) for ear, why in said if why)
            omitted.append(Omitted(block.id, "; ".join(reasons)))
    return _bearable(Choice(tuple(chosen), tuple(omitted)), library.limits.actions)


def _bearable(choice: Choice, most: int) -> Choice:
    """The choice with no more actions than a reader can bear in mind.

    Whoever is told too much does none of it. The highest rank goes first, as in an SMS; what
    is vital, and the next visit, stay.
    """
    # A block told of each ear apart asks once: it comes and goes whole.
    told = {one.block.id: one.block for one in choice.chosen}
    asked = sum(block.actions for block in told.values())
    left_out: list[Block] = []
    for block in sorted(filter(_spare, told.values()), key=need, reverse=True):
        if asked <= most:
            break
        asked -= block.actions
        left_out.append(block)
    gone = {block.id for block in left_out}
    kept = tuple(one for one in choice.chosen if one.block.id not in gone)
    because = f"called for, and more than {most} actions: the least needed goes"
    omitted = (Omitted(block.id, because, called_for=True) for block in left_out)
    return Choice(kept, (*choice.omitted, *omitted))


def need(block: Block) -> tuple[int, str]:
    """How needed a block is among those that can be left out: the most needed first."""
    return block.rank, block.id


def _spare(block: Block) -> bool:
    return block.kind in SPARE_KINDS and block.actions > 0


def uncovered(case: Case, choice: Choice) -> tuple[Fact, ...]:
    """The conditions and procedures of an ear that no block chosen for that ear was given for."""
    missed: set[Fact] = set()
    for ear in case.ears:
        told = [one.block for one in choice.chosen if one.side in (ear.side, Side.BOTH)]
        missed |= ear.facts.difference(*(block.given_for for block in told))
    return tuple(sorted(f for f in missed if f.startswith(("condition:", "procedure:"))))


def _page_order(block: Block) -> tuple[int, int, str]:
    return list(type(block.kind)).index(block.kind), block.rank, block.id


def _chosen(
    block: Block, sides: list[Side], person: frozenset[Fact], case: Case
) -> Iterator[Chosen]:
    """The block once for all its ears, or once for each when it tells of a measure."""
    apart = len(sides) == 1 or OF_ONE_EAR.intersection(block.given_for)
    for side in sides if apart else [Side.BOTH]:
        ears = [ear.facts for ear in case.ears if side in (ear.side, Side.BOTH)]
        yield Chosen(block, side, _because(block, person.union(*ears)))


def _refusal(block: Block, facts: Iterable[Fact]) -> str | None:
    """Why the block is not for somebody with these facts; None when it is."""
    if block.approval.state is ApprovalState.RETIRED:
        return "retired"
    holding = frozenset(facts)
    barred = sorted(holding.intersection(block.withheld_from))
    if barred:
        return f"never given with {barred[0]}"
    for wanted in _by_group(block.given_for):
        if not holding.intersection(wanted):
            return f"needs {' or '.join(wanted)}"
    return None


def _by_group(facts: Sequence[Fact]) -> Iterable[list[Fact]]:
    groups: dict[str, list[Fact]] = {}
    for fact in facts:
        groups.setdefault(fact.partition(":")[0], []).append(fact)
    return groups.values()


def _because(block: Block, facts: frozenset[Fact]) -> tuple[str, ...]:
    return tuple(fact for fact in block.given_for if fact in facts) or ("given to everyone",)


def _of_ear(side: Side, why: str, case: Case) -> str:
    """The reason with its ear, when the two ears could have had different ones."""
    if len(case.ears) == 1:
        return why
    return f"{side} ear: {why}"

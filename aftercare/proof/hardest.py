"""The hardest leaflet there is to read, and whose it is.

A grade is a weight times words per sentence plus something per word (see ``reading``). Where it
rises fastest from the leaflet at hand is a sum over blocks, and the leaflet with the most of it
is looked for; that is done again from there until nothing is harder in its direction. So it is a
real leaflet, and close to the hardest; that none is above the bound is proved apart.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from aftercare.model import Block, Side
from aftercare.proof.programme import ALWAYS, NEVER, Programme, Sign
from aftercare.proof.reach import SIDES
from aftercare.proof.reading import Cost, Part, Proved, part_of, weight_of
from aftercare.proof.space import Asked
from aftercare.proof.wordings import FRAME
from aftercare.score import add
from aftercare.score.formula import Scale

_STEPS = 8


@dataclass(frozen=True, slots=True)
class Hardest:
    """The value of a formula on a leaflet, and what is recorded of the patient it is for."""

    value: float
    held: frozenset[Asked]


def hardest(
    proved: Proved,
    programme: Programme,
    blocks: Iterable[Block],
    guide: Programme | None = None,
) -> Hardest | None:
    """The hardest page of a language by its formula; None where it has none with a bound.

    ``guide`` may be a faster programme that says where to look; ``programme`` says what is there.
    """
    formula = proved.formula
    if formula is None or not proved.costs:
        return None
    guide, by_id = guide or programme, {block.id: block for block in blocks}
    told = list(_told(proved.costs, programme, by_id))
    turn = -1.0 if formula.scale is Scale.EASE else 1.0
    weight = weight_of(formula) or 0.0
    parts = [
        (sign, part_of(formula, turn, weight, cost.counts))
        for sign, cost in _told(proved.costs, guide, by_id)
    ]
    # From what everybody reads; from everything, where that has no words.
    at = _sum(part for sign, part in parts if sign == ALWAYS)
    at = at if at.sentences else _sum(part for _, part in parts)
    best: Hardest | None = None
    for _ in range(_STEPS):
        slope = list(_slopes(parts, at, weight))
        found = guide.most(slope)
        if found is None or programme.most([], programme.fixed(found.held)) is None:
            return best
        counts = add([cost.counts for sign, cost in told if programme.true(sign)])
        if not (counts.words and counts.sentences):
            return best
        value = formula.compute(counts)
        if best is not None and turn * value <= turn * best.value:
            return best
        best = Hardest(value, found.held)
        at = part_of(formula, turn, weight, counts)
    return best


def _told(
    costs: Iterable[Cost], programme: Programme, blocks: Mapping[str, Block]
) -> Iterator[tuple[Sign, Cost]]:
    """Each wording on a page with the sign of its being told; of two fillings the harder."""
    seen: dict[tuple[str, tuple[str, ...]], Cost] = {}
    for cost in costs:
        wording = cost.wording
        key = (wording.block, wording.when)
        known = seen.get(key)
        if cost.grade is not None and (known is None or (known.grade or 0.0) < cost.grade):
            seen[key] = cost
    for (name, when), cost in seen.items():
        if name == FRAME:
            yield ALWAYS, cost
            continue
        # A block told of each ear apart is read twice.
        for side in SIDES:
            told = programme.told(blocks[name], side)
            yield programme.all_of([told, *_reads(when, side, programme)]), cost


def _reads(when: Iterable[str], side: Side, programme: Programme) -> Iterator[Sign]:
    for fact in when:
        if fact.startswith("side:"):
            yield ALWAYS if fact == f"side:{side}" else NEVER
        else:
            yield programme.holds(fact, Side.LEFT)


def _slopes(
    parts: Iterable[tuple[Sign, Part]], at: Part, weight: float
) -> Iterator[tuple[Sign, float]]:
    """How much harder the leaflet at hand gets with a little more of each part."""
    for sign, part in parts:
        longer = weight * (part.words / at.sentences - at.words * part.sentences / at.sentences**2)
        denser = part.per_word / at.words - at.per_word * part.words / at.words**2
        yield sign, longer + denser


def _sum(parts: Iterable[Part]) -> Part:
    found = list(parts)
    return Part(
        sum(part.words for part in found),
        sum(part.sentences for part in found),
        sum(part.per_word for part in found),
    )

"""The hardest leaflet there is to read, whose it is, and that none is harder.

A grade is a weight times words per sentence plus something per word (see ``reading``): for the
words W, the sentences S and the rest H of a leaflet, weight * W / S + H / W. A leaflet is sought
by going from one to the next: where the grade rises fastest from the leaflet at hand is a sum
over blocks, and the leaflet with the most of it is the next.

That none is above a grade v is proved in stretches of W / S. On a stretch from l to u the square
of W / S lies under its chord, so that W * W / S <= (l + u) * W - l * u * S, and none is above v if

    H + weight * ((l + u) * W - l * u * S) - v * W

is above nothing for nobody, which is a sum over blocks again. If it is for somebody, either they
are harder than v, which is raised, or the stretch is cut in two where they are: there the chord
meets the square. Outside its stretch a chord is too low, which leaves whoever is there to the
stretch they are in. ``v`` is where the figure that is told would be rounded to a harder one.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import sqrt

from aftercare.model import Block, Counts, Side
from aftercare.proof.programme import Programme
from aftercare.proof.reach import SIDES
from aftercare.proof.reading import Cost, Part, Proved, part_of, weight_of
from aftercare.proof.signs import ALWAYS, NEVER, Between, Sign
from aftercare.proof.space import Asked
from aftercare.proof.wordings import FRAME, PAGE
from aftercare.score import add
from aftercare.score.formula import Formula, Scale

# How often a harder leaflet is sought before a proof is, and a question asked before it is left.
_STEPS, _QUESTIONS = 8, 80
# A figure is told to one place; from half of one more it would be told as the next.
_PLACES, _HALF = 1, 0.05
_NOTHING = 1e-6


@dataclass(frozen=True, slots=True)
class Hardest:
    """The value of a formula on a leaflet, and what is recorded of the patient it is for.

    No leaflet is harder than ``bound``, to the one place both are told to.
    """

    value: float
    held: frozenset[Asked]
    bound: float


def hardest(
    proved: Proved,
    programme: Programme,
    blocks: Iterable[Block],
    guide: Programme | None = None,
) -> Hardest | None:
    """The hardest page of a language by its formula; None where it has none with a bound.

    ``guide`` may be a faster programme that allows more: what it rules out is ruled out, and the
    rest is asked again of everybody there is.
    """
    formula, by_id = proved.formula, {block.id: block for block in blocks}
    if formula is None or proved.bound is None:
        return None
    real = _Pages(formula, proved.costs, programme, by_id)
    loose = _Pages(formula, proved.costs, guide, by_id) if guide else real
    best = _climbed(real, loose)
    if best is None:
        return None
    if guide:
        # What the guide allows and nobody gets may have led astray: one step by what is so.
        step = real.most(_rising(best.sums, real.weight))
        best = max(best, step or best, key=lambda leaflet: leaflet.hard)
    best, most = _searched(best, real, loose)
    bound = proved.bound if most is None else round(real.turn * most, _PLACES)
    return Hardest(real.turn * best.hard, best.held, bound)


@dataclass(frozen=True, slots=True)
class _Leaflet:
    """What a formula sees of one leaflet, how hard that is, and whose it is."""

    sums: Part
    hard: float
    held: frozenset[Asked]

    @property
    def ratio(self) -> float:
        """Words per sentence."""
        return self.sums.words / self.sums.sentences


_Slope = Callable[[Part], float]


class _Pages:
    """Every page of a language as a sum over the wordings told on it, by one programme.

    ``turn`` is -1 for a formula where less is harder. A wording with a date in it stands here
    with all its fillings; whoever is told it is told the one that is the most of what is asked.
    """

    def __init__(
        self,
        formula: Formula,
        costs: Iterable[Cost],
        programme: Programme,
        blocks: Mapping[str, Block],
    ) -> None:
        self.formula, self.programme = formula, programme
        self.turn = -1.0 if formula.scale is Scale.EASE else 1.0
        self.weight = weight_of(formula) or 0.0
        self.told = [
            (sign, [(self._part(counts), counts) for counts in fillings])
            for sign, fillings in _told(costs, programme, blocks)
        ]

    def _part(self, counts: Counts) -> Part:
        return part_of(self.formula, self.turn, self.weight, counts)

    def parts(self) -> Iterator[tuple[Sign, Part]]:
        """Every filling of every wording."""
        yield from ((sign, part) for sign, every in self.told for part, _ in every)

    def most(self, slope: _Slope) -> _Leaflet | None:
        """The leaflet for which this comes to the most."""
        found = self.programme.most(self._amounts(slope))
        return self._leaflet(found.held, slope) if found else None

    def any_above_nothing(self, slope: _Slope) -> _Leaflet | None:
        """The same, if it comes to more than nothing for anybody."""
        amounts = self._amounts(slope)
        found = self.programme.most(amounts, within=[Between(amounts, least=_NOTHING)])
        return self._leaflet(found.held, slope) if found else None

    def of(self, held: frozenset[Asked], slope: _Slope) -> _Leaflet | None:
        """The leaflet of one patient; None if nobody of whom this is recorded can walk in."""
        if self.programme.most([], self.programme.fixed(held)) is None:
            return None
        return self._leaflet(held, slope)

    def _amounts(self, slope: _Slope) -> list[tuple[Sign, float]]:
        return [(sign, max(slope(part) for part, _ in every)) for sign, every in self.told]

    def _leaflet(self, held: frozenset[Asked], slope: _Slope) -> _Leaflet | None:
        """What the patient found last is told."""
        counts = add(
            max(every, key=lambda filled: slope(filled[0]))[1]
            for sign, every in self.told
            if self.programme.true(sign)
        )
        if not (counts.words and counts.sentences):
            return None
        return _Leaflet(self._part(counts), self.turn * self.formula.compute(counts), held)


# --- a hard leaflet -----------------------------------------------------------------------


def _climbed(real: _Pages, loose: _Pages) -> _Leaflet | None:
    """A leaflet such that none is harder in the direction in which it gets harder fastest."""
    # From what everybody reads; from everything, where that has no words.
    at = _sum(part for sign, part in real.parts() if sign == ALWAYS)
    at = at if at.sentences else _sum(part for _, part in real.parts())
    best: _Leaflet | None = None
    for _ in range(_STEPS):
        slope = _rising(at, real.weight)
        found = loose.most(slope)
        leaflet = real.of(found.held, slope) if found else None
        if leaflet is None or (best is not None and leaflet.hard <= best.hard):
            return best
        best, at = leaflet, leaflet.sums
    return best


def _rising(at: Part, weight: float) -> _Slope:
    """How much harder the leaflet at hand gets with a little more of a part."""

    def slope(part: Part) -> float:
        longer = weight * (part.words / at.sentences - at.words * part.sentences / at.sentences**2)
        return longer + part.per_word / at.words - at.per_word * part.words / at.words**2

    return slope


# --- and that none is harder --------------------------------------------------------------


def _searched(best: _Leaflet, real: _Pages, loose: _Pages) -> tuple[_Leaflet, float | None]:
    """The hardest leaflet, from a hard one on, and what none is harder than, if that was proved."""
    left = list(_stretches(best.ratio, real))
    for _ in range(_QUESTIONS):
        if not left:
            return best, best.hard
        stretch = left.pop()
        slope = _above(_told_as_harder(best.hard, real), stretch, real.weight)
        above = _any_above(slope, best.hard, real, loose)
        if above is None:
            continue
        if above.hard > best.hard:
            best = above
            left.append(stretch)
        else:
            left += _cut(*stretch, above.ratio)
    return best, None


def _any_above(slope: _Slope, hard: float, real: _Pages, loose: _Pages) -> _Leaflet | None:
    """A leaflet somebody gets for which this is above nothing; the one found first may be hard."""
    found = loose.any_above_nothing(slope)
    if found is None or loose is real:
        return found
    got = real.of(found.held, slope)
    return got if got and got.hard > hard else real.any_above_nothing(slope)


def _stretches(at: float, pages: _Pages) -> Iterator[tuple[float, float]]:
    """All that words per sentence can be: short stretches about these, and what is left."""
    ratios = [part.words / part.sentences for _, part in pages.parts()]
    least, most = min(ratios), max(ratios)
    # So far off a chord is as much too high as makes one more in the place that is told.
    short = sqrt(8 * _HALF * at / pages.weight) if pages.weight else most - least
    cuts = [least, *(cut for cut in (at - short, at, at + short) if least < cut < most), most]
    yield from pairwise(cuts)


def _cut(least: float, most: float, at: float) -> Iterator[tuple[float, float]]:
    """A stretch in two, where that is inside it; else in halves."""
    middle = at if least < at < most else (least + most) / 2
    yield least, middle
    yield middle, most


def _told_as_harder(hard: float, pages: _Pages) -> float:
    """The least that would be told as harder than this, once rounded."""
    return pages.turn * round(pages.turn * hard, _PLACES) + _HALF


def _above(hard: float, stretch: tuple[float, float], weight: float) -> _Slope:
    """A sum that is above nothing for whoever is harder, and in this stretch."""
    least, most = stretch

    def slope(part: Part) -> float:
        chord = (least + most) * part.words - least * most * part.sentences
        return part.per_word + weight * chord - hard * part.words

    return slope


# --- the wordings -------------------------------------------------------------------------


def _told(
    costs: Iterable[Cost], programme: Programme, blocks: Mapping[str, Block]
) -> Iterator[tuple[Sign, Sequence[Counts]]]:
    """Each wording on a page with the sign of its being told, and its counts in every filling."""
    seen: dict[tuple[str, tuple[str, ...]], list[Counts]] = defaultdict(list)
    for cost in costs:
        if cost.grade is not None:
            seen[cost.wording.block, cost.wording.when].append(cost.counts)
    for (name, when), counts in seen.items():
        fillings = tuple(dict.fromkeys(counts))
        if name == FRAME:
            yield ALWAYS, fillings
            continue
        # A block told of each ear apart is read twice.
        for side in SIDES:
            told = programme.told(blocks[name], side)
            yield programme.worded(told, _reads(when, side, programme), PAGE), fillings


def _reads(when: Iterable[str], side: Side, programme: Programme) -> Iterator[Sign]:
    for fact in when:
        if fact.startswith("side:"):
            yield ALWAYS if fact == f"side:{side}" else NEVER
        else:
            yield programme.holds(fact, Side.LEFT)


def _sum(parts: Iterable[Part]) -> Part:
    found = list(parts)
    return Part(
        sum(part.words for part in found),
        sum(part.sentences for part in found),
        sum(part.per_word for part in found),
    )

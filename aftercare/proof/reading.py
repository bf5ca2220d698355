"""How hard the hardest message can be, over all that can be assembled.

A leaflet is a sum of parts, and so are its counts. Every grade used here is, or is minus, a
weight times words per sentence plus something additive per word:

    grade = weight * W / S + H / W

Two bounds follow, and the lower one is kept.

*Parts.* Of two parts, the one with the longer sentences has at least as large a share of the
words as of the sentences, so the whole is never harder than its harder part; by induction
that holds for any number of parts.

*Sums.* The most W / S and the most H / W over every choice of parts are found exactly
(Dinkelbach 1967, Management Science 13:492), with what everybody gets always in and every
other block in or out by itself. That allows more messages than patients can get, never fewer.

``tests/proof/test_reading.py`` holds both by property.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf

from aftercare.model import VITAL_KINDS, Counts, Library
from aftercare.proof.wordings import FORMS, FRAME, PAGE, Wording, wordings
from aftercare.score import count_lines
from aftercare.score.formula import Formula, Scale
from aftercare.score.reading import reading

# A length is told for each ear apart, so its block can come twice (see ``choose``).
_PER_EAR = "length:noted"
_EXACT = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """A wording's counts, and its grade by the formula its language is held to, if any."""

    wording: Wording
    counts: Counts
    grade: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Proved:
    """One language and one form of message: nothing that can be assembled is above ``bound``.

    ``formula`` and ``bound`` are None where no formula is validated for the language.
    ``hardest`` is the hardest single part, ``longest`` the wording with the longest sentence.
    """

    language: str
    form: str
    formula: Formula | None
    limit: float | None
    bound: float | None
    hardest: Cost | None
    longest: Cost | None
    wordings: int


def held_to(language: str, library: Library) -> Formula | None:
    """The first formula of a language that this clinic has a limit for."""
    formulas = reading(language).formulas
    named = ("flesch_kincaid", *library.limits.formulas)
    return next((found for name in named if (found := formulas.get(name)) is not None), None)


def over_limit(formula: Formula, value: float, library: Library) -> float | None:
    """The limit that a value breaks, if this clinic holds texts to one for the formula."""
    limit = library.limits.formulas.get(formula.name)
    if limit is None:
        return None
    broken = value < limit if formula.scale is Scale.EASE else value > limit
    return limit if broken else None


def costs(library: Library, language: str) -> Iterator[Cost]:
    """What every wording of a language costs its reader."""
    formula = held_to(language, library)
    for wording in wordings(library, language):
        counts = count_lines(wording.lines, language)
        grade = formula.compute(counts) if formula and counts.words and counts.sentences else None
        yield Cost(wording=wording, counts=counts, grade=grade)


def prove_reading(library: Library) -> tuple[Proved, ...]:
    """The bound for every language and form, over every message that can be assembled."""
    return tuple(
        _proved(language, form, known, library)
        for language in (library.source_language, *sorted(library.catalogues))
        for known in [list(costs(library, language))]
        for form in FORMS
    )


def _proved(language: str, form: str, known: Iterable[Cost], library: Library) -> Proved:
    mine = [cost for cost in known if cost.wording.form == form and cost.counts.words]
    formula = held_to(language, library)
    graded = [cost for cost in mine if cost.grade is not None]
    turn = -1.0 if formula is not None and formula.scale is Scale.EASE else 1.0
    return Proved(
        language=language,
        form=form,
        formula=formula,
        limit=library.limits.formulas.get(formula.name) if formula else None,
        bound=_bound(formula, graded, library) if formula and graded else None,
        hardest=max(graded, key=lambda cost: turn * (cost.grade or 0.0)) if graded else None,
        longest=max(mine, key=lambda cost: cost.counts.longest_sentence) if mine else None,
        wordings=len(mine),
    )


# --- the bound --------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Part:
    """A wording as the bound sees it: words, sentences, and what is additive per word."""

    words: float
    sentences: float
    per_word: float


# Blocks to choose from: each with its wordings, and whether everybody gets one of them.
_Choices = Sequence[tuple[bool, Sequence[_Part]]]


def bound_of(formula: Formula, choices: Sequence[tuple[bool, Sequence[Counts]]]) -> float:
    """The hardest a sum of parts can be, one wording at most of each block.

    ``choices`` says of each block whether it is always there, and the counts of its wordings.
    The value is on the formula's own scale: a most for a grade, a least for an ease.
    """
    turn = -1.0 if formula.scale is Scale.EASE else 1.0
    weight = turn * _weight(formula, choices[0][1][0])
    parts = [(always, [_part(formula, turn, weight, c) for c in told]) for always, told in choices]
    by_parts = max(turn * formula.compute(c) for _, told in choices for c in told)
    length = _most(parts, lambda part: part.words, lambda part: part.sentences)
    per_word = _most(parts, lambda part: part.per_word, lambda part: part.words)
    return turn * min(by_parts, weight * length + per_word)


def _weight(formula: Formula, counts: Counts) -> float:
    """What one more word per sentence costs: the formula at one and at two times the sentences."""
    halved = replace(counts, sentences=2 * counts.sentences)
    step = counts.words / counts.sentences / 2
    return (formula.compute(counts) - formula.compute(halved)) / step


def _part(formula: Formula, turn: float, weight: float, counts: Counts) -> _Part:
    length = counts.words / counts.sentences
    rest = turn * formula.compute(counts) - weight * length
    return _Part(counts.words, counts.sentences, rest * counts.words)


_Take = Callable[[_Part], float]


def _most(choices: _Choices, over: _Take, under: _Take) -> float:
    """The largest sum of ``over`` by sum of ``under`` (Dinkelbach's iteration: it only rises)."""
    if not any(always for always, _ in choices):
        return max(over(part) / under(part) for _, told in choices for part in told)
    guess, ratio = min(over(part) / under(part) for _, told in choices for part in told), -inf
    while guess > ratio + _EXACT:
        ratio = guess
        taken = list(_taken(choices, ratio, over, under))
        guess = sum(map(over, taken)) / sum(map(under, taken))
    return guess


def _taken(choices: _Choices, ratio: float, over: _Take, under: _Take) -> Iterator[_Part]:
    """What is best at this ratio: the best wording of what is always there, and all that helps."""
    for always, told in choices:
        best = max(told, key=lambda part: over(part) - ratio * under(part))
        if always or over(best) - ratio * under(best) > 0:
            yield best


def _bound(formula: Formula, graded: Sequence[Cost], library: Library) -> float:
    told: Mapping[str, list[Counts]] = defaultdict(list)
    for cost in graded:
        told[cost.wording.block].append(cost.counts)
    form = graded[0].wording.form
    blocks = {block.id: block for block in library.blocks}
    choices = []
    for name, counts in told.items():
        block = blocks.get(name)
        everybody = name == FRAME or (
            block is not None
            and not block.given_for
            and not block.withheld_from
            and (form == PAGE or block.kind in VITAL_KINDS)
        )
        times = 2 if block is not None and _PER_EAR in block.given_for else 1
        choices += [(everybody, counts)] * times
    return bound_of(formula, choices)

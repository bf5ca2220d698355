"""How hard the hardest message can be, over all that can be assembled.

A leaflet is a sum of parts, and so are its counts. A grade that is, or is minus, a weight
times words per sentence plus something additive per word has a bound:

    grade = weight * W / S + H / W

Two bounds follow, and the lower one is kept.

*Parts.* Of two parts, the one with the longer sentences has at least as large a share of the
words as of the sentences, so the whole is never harder than its harder part; by induction
that holds for any number of parts.

*Sums.* The most W / S and the most H / W over every choice of parts are found exactly
(Dinkelbach 1967, Management Science 13:492), with what everybody gets always in and every
other block in or out by itself. That allows more messages than patients can get, never fewer.

``weight_of`` tries whether a formula has that form. Coleman-Liau and Gulpease have it with a
weight of nothing; SMOG, RIX and Pisarek's root have not, and no bound is claimed for them.

``tests/proof/test_reading.py`` holds both by property.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import combinations
from math import inf, isclose

from aftercare.errors import BadInput
from aftercare.model import VITAL_KINDS, Block, Counts, Library
from aftercare.proof.wordings import FORMS, FRAME, PAGE, SMS, SMS_DETAIL, Wording, wordings
from aftercare.score import add, count_lines
from aftercare.score.formula import Formula, Scale
from aftercare.score.reading import reading

# A length is told for each ear apart, so its block can come twice (see ``choose``).
_PER_EAR = "length:noted"
_EXACT = 1e-12
# Parts to try a formula on; between them no two counts are in proportion.
_PROBES = tuple(
    Counts(
        words=words, sentences=sentences, syllables=words * 2 - sentences, polysyllables=many,
        monosyllables=words - many - 5, four_syllables=many // 2, letters=words * 5 - many,
        strokes=words * 5 + sentences, long_words=many + sentences, complex_words=many - 3,
        unfamiliar_1948=many + 7, unfamiliar_1995=many + 2, stems=stems,
    )
    for words, sentences, many, stems in ((97, 8, 23, 1), (61, 11, 10, 3), (143, 9, 31, 2))
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """A wording's counts, and its grade by the formula its language is held to, if any."""

    wording: Wording
    counts: Counts
    grade: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Proved:
    """One language and one form of message: nothing that can be assembled is above ``bound``.

    ``formula`` and ``bound`` are None where the language has no formula with a limit that can
    be proved. ``hardest`` is the hardest single part, ``longest`` the wording with the longest
    sentence. ``costs`` are of every wording such a message can hold.
    """

    language: str
    form: str
    formula: Formula | None
    limit: float | None
    bound: float | None
    hardest: Cost | None
    longest: Cost | None
    costs: tuple[Cost, ...]


def held_to(language: str, library: Library) -> Formula | None:
    """The first formula of a language that this clinic has a limit for and that has a bound."""
    formulas = reading(language).formulas
    named = ("flesch_kincaid", *library.limits.formulas)
    found = (formulas.get(name) for name in named)
    return next((one for one in found if one is not None and weight_of(one) is not None), None)


def over_limit(formula: Formula, value: float, library: Library) -> float | None:
    """The limit that a value breaks, if this clinic holds texts to one for the formula."""
    limit = library.limits.formulas.get(formula.name)
    return limit if limit is not None and formula.harder(value, limit) else None


def costs(library: Library, language: str) -> Iterator[Cost]:
    """What every wording of a language costs its reader."""
    formula = held_to(language, library)
    for wording in wordings(library, language, formula):
        counts = count_lines(wording.lines, language)
        grade = formula.compute(counts) if formula and counts.words and counts.sentences else None
        yield Cost(wording=wording, counts=counts, grade=grade)


def prove_reading(library: Library) -> tuple[Proved, ...]:
    """The bound for every language and form, over every message that can be assembled."""
    languages = (library.source_language, *sorted(library.catalogues))
    return tuple(one for language in languages for one in prove_language(library, language))


def prove_language(library: Library, language: str) -> tuple[Proved, ...]:
    """The bound of one language, form by form."""
    known = list(costs(library, language))
    return tuple(_proved(language, form, known, library) for form in FORMS)


def _proved(language: str, form: str, known: Sequence[Cost], library: Library) -> Proved:
    mine = _met_in(form, known)
    formula = held_to(language, library)
    graded = [cost for cost in mine if cost.grade is not None]
    turn = -1.0 if formula is not None and formula.scale is Scale.EASE else 1.0
    return Proved(
        language=language,
        form=form,
        formula=formula,
        limit=library.limits.formulas.get(formula.name) if formula else None,
        bound=bound_of(formula, _choices(mine, form, library)) if formula and graded else None,
        hardest=max(graded, key=lambda cost: turn * (cost.grade or 0.0)) if graded else None,
        longest=max(mine, key=lambda cost: cost.counts.longest_sentence) if mine else None,
        costs=mine,
    )


def _met_in(form: str, known: Sequence[Cost]) -> tuple[Cost, ...]:
    """The wordings a message of this form can hold.

    Whoever asked for detail in texts gets the plain short form of a block that has no other.
    """
    mine = {cost.wording.block for cost in known if cost.wording.form == form}
    return tuple(
        cost
        for cost in known
        if cost.wording.form == form
        or (form == SMS_DETAIL and cost.wording.form == SMS and cost.wording.block not in mine)
    )


def _choices(
    mine: Iterable[Cost], form: str, library: Library
) -> list[tuple[bool, Sequence[Counts]]]:
    """Each block's counts and whether it is in every message, as ``bound_of`` takes them.

    Whether everybody gets a block says nothing of one that has a wording without words.
    """
    told: dict[str, list[Counts]] = defaultdict(list)
    for cost in mine:
        told[cost.wording.block].append(cost.counts)
    blocks = {block.id: block for block in library.blocks}
    choices: list[tuple[bool, Sequence[Counts]]] = []
    for name, counts in told.items():
        graded = [one for one in counts if one.words and one.sentences]
        always = len(graded) == len(counts) and (name == FRAME or _always(blocks[name], form))
        times = 2 if name in blocks and _PER_EAR in blocks[name].given_for else 1
        choices += [(always, graded)] * times if graded else []
    return choices


def _always(block: Block, form: str) -> bool:
    """Whether every message of a form has this block; a text is cut short down to what is vital."""
    everybody = not block.given_for and not block.withheld_from
    return everybody and (form == PAGE or block.kind in VITAL_KINDS)


# --- the bound --------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Part:
    """A wording as the bound sees it: words, sentences, and what is additive per word."""

    words: float
    sentences: float
    per_word: float


# Blocks to choose from: each with its wordings, and whether everybody gets one of them.
_Choices = Sequence[tuple[bool, Sequence[Part]]]


def bound_of(formula: Formula, choices: Sequence[tuple[bool, Sequence[Counts]]]) -> float:
    """The hardest a sum of parts can be, one wording at most of each block.

    ``choices`` says of each block whether it is always there, and the counts of its wordings,
    every one with a word. The value is on the formula's own scale: a most for a grade, a least
    for an ease. Raises ``BadInput`` for a formula that has no such bound.
    """
    weight = weight_of(formula)
    if weight is None:
        raise BadInput(formula.name, "no bound is known for this formula", "prove another one")
    turn = -1.0 if formula.scale is Scale.EASE else 1.0
    parts = [
        (always, [part_of(formula, turn, weight, c) for c in told]) for always, told in choices
    ]
    by_parts = max(turn * formula.compute(c) for _, told in choices for c in told)
    length = _most(parts, lambda part: part.words, lambda part: part.sentences)
    per_word = _most(parts, lambda part: part.per_word, lambda part: part.words)
    return turn * min(by_parts, weight * length + per_word)


@cache
def weight_of(formula: Formula) -> float | None:
    """What one more word per sentence adds to the difficulty; None if that is not all it does.

    Tried on parts whose counts have nothing in common: what is left of the grade without the
    weight must add up from part to part.
    """
    turn = -1.0 if formula.scale is Scale.EASE else 1.0
    one = _PROBES[0]
    halved = replace(one, sentences=2 * one.sentences)
    step = one.words / one.sentences / 2
    slope = turn * (formula.compute(one) - formula.compute(halved)) / step
    return next((w for w in (0.0, slope) if w >= 0 and _adds_up(formula, turn, w)), None)


def _adds_up(formula: Formula, turn: float, weight: float) -> bool:
    rests = {c: part_of(formula, turn, weight, c).per_word for c in _PROBES}
    pairs = combinations(_PROBES, 2)
    both = ((part_of(formula, turn, weight, add(pair)), pair) for pair in pairs)
    return all(isclose(one.per_word, sum(rests[c] for c in pair)) for one, pair in both)


def part_of(formula: Formula, turn: float, weight: float, counts: Counts) -> Part:
    """What a formula sees of counts; ``turn`` is -1 for an ease, where less is harder."""
    rest = turn * formula.compute(counts) - weight * counts.words / counts.sentences
    return Part(counts.words, counts.sentences, rest * counts.words)


_Take = Callable[[Part], float]


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


def _taken(choices: _Choices, ratio: float, over: _Take, under: _Take) -> Iterator[Part]:
    """What is best at this ratio: the best wording of what is always there, and all that helps."""
    for always, told in choices:
        best = max(told, key=lambda part: over(part) - ratio * under(part))
        if always or over(best) - ratio * under(best) > 0:
            yield best

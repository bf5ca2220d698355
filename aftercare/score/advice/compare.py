"""What a rewrite gained: the old and the new version, sentence by sentence and as a whole."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from enum import StrEnum
from math import hypot, inf

from aftercare.model import Counts
from aftercare.score.advice.kinds import AdviceLimits, Kind, Standing
from aftercare.score.advice.lists import words
from aftercare.score.advice.page import read
from aftercare.score.advice.rules import advice_on
from aftercare.score.formula import FormulaScore
from aftercare.score.text import score_text

_ALIKE = 0.3  # of the content words of the shorter sentence must stand in the other one
_NEAR = 40  # sentences of a rewritten stretch that are looked at for a match


class Turn(StrEnum):
    """What became of a sentence."""

    SAME = "same"
    REWRITTEN = "rewritten"
    ADDED = "added"
    DROPPED = "dropped"


class Difference(StrEnum):
    """Whether two grades of a formula differ by more than chance would make them."""

    CLEAR = "clear"
    WITHIN_INTERVAL = "within the interval"
    NOT_SCORED = "not scored"


@dataclass(frozen=True, slots=True, kw_only=True)
class SentenceCost:
    """One sentence of a version: its words, its counts and its open advice.

    ``content`` are the words that say what it is about, by which a rewrite is recognised.
    """

    line: int
    words: str
    count: int
    syllables: int
    long_words: int
    advice: tuple[Kind, ...]
    content: frozenset[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """Sentences that belong together; a rewrite may turn one into two, or two into one."""

    turn: Turn
    old: tuple[SentenceCost, ...]
    new: tuple[SentenceCost, ...]

    @property
    def advice_gone(self) -> tuple[Kind, ...]:
        """Open advice of the old words that the new ones no longer get."""
        return _less(_kinds(self.old), _kinds(self.new))

    @property
    def advice_new(self) -> tuple[Kind, ...]:
        """Open advice that only the new words get."""
        return _less(_kinds(self.new), _kinds(self.old))


@dataclass(frozen=True, slots=True, kw_only=True)
class FormulaChange:
    """One formula before and after. ``gain`` is new less old, None where either has no value."""

    old: FormulaScore
    new: FormulaScore
    gain: float | None
    difference: Difference


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """What a rewrite gained. ``formulas`` are by name; ``advice`` counts the open advice."""

    changes: tuple[Change, ...]
    old_counts: Counts
    new_counts: Counts
    old_advice: Mapping[Kind, int]
    new_advice: Mapping[Kind, int]
    formulas: Mapping[str, FormulaChange]


def compare(
    old: str,
    new: str,
    *,
    glossary: Mapping[str, str],
    plain_words: Mapping[str, str],
    limits: AdviceLimits,
) -> Comparison:
    """Two versions of one English text: each sentence, the counts and the grades.

    A difference of two grades is clear when it is larger than the interval of the difference:
    the two 95% half-widths added as for independent samples, which is cautious here.
    """
    before, after = (
        _costs(text, glossary=glossary, plain_words=plain_words, limits=limits)
        for text in (old, new)
    )
    old_score, new_score = score_text(old), score_text(new)
    return Comparison(
        changes=tuple(_changes(before, after)),
        old_counts=old_score.counts,
        new_counts=new_score.counts,
        old_advice=Counter(_kinds(before)),
        new_advice=Counter(_kinds(after)),
        formulas={
            name: _formula_change(one, new_score.formulas[name])
            for name, one in old_score.formulas.items()
        },
    )


def _costs(
    text: str,
    *,
    glossary: Mapping[str, str],
    plain_words: Mapping[str, str],
    limits: AdviceLimits,
) -> list[SentenceCost]:
    page = read(text)
    kinds: list[list[Kind]] = [[] for _ in page.sentences]
    for one in advice_on(page, glossary=glossary, plain_words=plain_words, limits=limits):
        if one.standing is Standing.OPEN:
            kinds[page.sentence_at(one.start)].append(one.kind)
    return [
        SentenceCost(
            line=page.placed.line_of(start),
            words=sentence.text,
            count=sentence.count("words"),
            syllables=sentence.count("syllables"),
            long_words=sentence.count("long_words"),
            advice=tuple(found),
            content=frozenset(word.text for word in sentence.words) - words("function"),
        )
        for sentence, start, found in zip(page.sentences, page.starts, kinds, strict=True)
    ]


def _changes(old: Sequence[SentenceCost], new: Sequence[SentenceCost]) -> Iterator[Change]:
    """Every sentence of both versions once, in reading order."""
    matcher = SequenceMatcher(None, [one.words for one in old], [one.words for one in new])
    for tag, a, b, c, d in matcher.get_opcodes():
        if tag == "equal":
            for one, other in zip(old[a:b], new[c:d], strict=True):
                yield Change(turn=Turn.SAME, old=(one,), new=(other,))
        else:
            yield from _rewritten(old[a:b], new[c:d])


def _rewritten(old: Sequence[SentenceCost], new: Sequence[SentenceCost]) -> Iterator[Change]:
    """The sentences of a stretch that changed, each group as one change.

    A new sentence joins the old one it shares most with, never one before its neighbour's, and
    takes along what stands between; an old one that nothing joined then joins the group of the
    new one it shares most with.
    """
    homes = _homes(old, new)
    written = 0
    for olds, news in _groups(old, new, homes):
        while news and written < news[0]:
            yield Change(turn=Turn.ADDED, old=(), new=(new[written],))
            written += 1
        yield Change(
            turn=Turn.REWRITTEN if news else Turn.DROPPED,
            old=tuple(old[one] for one in olds),
            new=tuple(new[one] for one in news),
        )
        written += len(news)
    for other in new[written:]:
        yield Change(turn=Turn.ADDED, old=(), new=(other,))


def _homes(old: Sequence[SentenceCost], new: Sequence[SentenceCost]) -> list[int | None]:
    """For each new sentence the old one it was made from, or None."""
    homes: list[int | None] = []
    reached = 0
    for other in new:
        best = _most_alike(other, old, reached)
        homes.append(best)
        reached = reached if best is None else best
    for place, home in _ends(homes).items():
        homes[home[0] : home[1] + 1] = [place] * (home[1] + 1 - home[0])
    return homes


def _ends(homes: Sequence[int | None]) -> dict[int, tuple[int, int]]:
    """For each old sentence the first and the last new one that was made from it."""
    ends: dict[int, tuple[int, int]] = {}
    for place, home in enumerate(homes):
        if home is not None:
            ends[home] = (ends.get(home, (place, place))[0], place)
    return ends


def _groups(
    old: Sequence[SentenceCost], new: Sequence[SentenceCost], homes: Sequence[int | None]
) -> list[tuple[list[int], range]]:
    """The old sentences that were made into the same new ones, with those, in order."""
    groups = {one: ([one], range(a, b + 1)) for one, (a, b) in _ends(homes).items()}
    for one in range(len(old)):
        if one not in groups:
            like = _most_alike(old[one], new, max(0, one - _NEAR // 2))
            home = homes[like] if like is not None else None
            if home is None:
                groups[one] = ([one], range(0))
            else:
                groups[home][0].append(one)
    return [(sorted(olds), news) for _, (olds, news) in sorted(groups.items(), key=_first)]


def _first(group: tuple[int, object]) -> int:
    return group[0]


def _most_alike(one: SentenceCost, among: Sequence[SentenceCost], begin: int) -> int | None:
    """The sentence near a place that shares most with this one, or None if none is alike."""
    near = range(begin, min(len(among), begin + _NEAR))
    best = max(near, key=lambda place: (_shared(one, among[place]), -place), default=None)
    return best if best is not None and _shared(one, among[best]) >= _ALIKE else None


def _shared(one: SentenceCost, other: SentenceCost) -> float:
    """The share of the shorter sentence's content words that the other one has too."""
    fewest = min(len(one.content), len(other.content))
    return len(one.content & other.content) / fewest if fewest else 0.0


def _formula_change(old: FormulaScore, new: FormulaScore) -> FormulaChange:
    if old.value is None or new.value is None:
        return FormulaChange(old=old, new=new, gain=None, difference=Difference.NOT_SCORED)
    gain = new.value - old.value
    clear = abs(gain) > hypot(_half_width(old), _half_width(new))
    difference = Difference.CLEAR if clear else Difference.WITHIN_INTERVAL
    return FormulaChange(old=old, new=new, gain=gain, difference=difference)


def _half_width(score: FormulaScore) -> float:
    """Half the interval; one without an interval is sure of nothing."""
    if score.low is None or score.high is None:
        return inf
    return (score.high - score.low) / 2


def _kinds(costs: Sequence[SentenceCost]) -> list[Kind]:
    return [kind for cost in costs for kind in cost.advice]


def _less(some: Sequence[Kind], others: Sequence[Kind]) -> tuple[Kind, ...]:
    return tuple((Counter(some) - Counter(others)).elements())

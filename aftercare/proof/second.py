"""Where the independent second scorer disagrees, and why if it is known."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import combinations

from aftercare.model import Counts, Fact, Library, Line, Role, Span
from aftercare.proof.reading import costs
from aftercare.proof.wordings import PAGE
from aftercare.score import count_lines, second_opinion
from aftercare.score.english import FLESCH_KINCAID
from aftercare.score.second import second_syllables

# textstat and this engine may differ by this much before an editor is told.
MAY_DIFFER = 1.0
_SHORTEST_TOLD = 2
_DECIMAL = re.compile(r"(?<=\d)\.(?=\d)")
_ENDS = re.compile(r"[.?!]+")
_WORD = re.compile(r"[^\W\d_]+(?:['’-][^\W\d_]+)*")


@dataclass(frozen=True, slots=True, kw_only=True)
class Disagreement:
    """Where textstat and this engine are more than a grade apart, and why if it is known.

    ``when`` are the facts that choose these words among the block's own.
    """

    block: str
    when: tuple[Fact, ...]
    ours: float
    theirs: float
    why: str


def disagreements(library: Library) -> Iterator[Disagreement]:
    """English pages on which the independent second scorer differs by more than a grade.

    textstat gets every line with a full stop and without slots, since it runs lists together
    and reads addresses as words.
    """
    for cost in costs(library, library.source_language):
        if cost.wording.form != PAGE or not cost.counts.words:
            continue
        text = " ".join(map(_closed, cost.wording.lines))
        ours = FLESCH_KINCAID.compute(cost.counts)
        theirs = _theirs(text)
        if abs(theirs - ours) > MAY_DIFFER:
            yield Disagreement(
                block=cost.wording.block,
                when=cost.wording.when,
                ours=ours,
                theirs=theirs,
                why=why(text, cost.counts),
            )


def _closed(line: Line) -> str:
    kept = (Role.WORDS, Role.DATE)
    text = "".join(span.text for span in line.spans if span.role in kept).strip()
    return text if text.endswith((".", "?", "!")) else f"{text}."


def _theirs(text: str) -> float:
    return second_opinion(text)["flesch_kincaid"]


def why(text: str, counts: Counts) -> str:
    """The known differences that, taken away, bring the two scorers together: as few as will do.

    A difference is never named on suspicion: without it the grades must agree.
    """
    for many in range(1, len(_DIFFERENCES) + 1):
        for some in combinations(_DIFFERENCES, many):
            if _agree_without(some, text, counts):
                return "; ".join(one.named(text) for one in some)
    return "not known; look at its sentences and syllables by hand"


def _agree_without(some: Iterable[_Difference], text: str, counts: Counts) -> bool:
    for one in some:
        text, counts = one.without(text, counts)
    return abs(_theirs(text) - FLESCH_KINCAID.compute(counts)) <= MAY_DIFFER


@dataclass(frozen=True, slots=True)
class _Difference:
    """A known difference: what it is called in a text, and the text and counts without it."""

    named: Callable[[str], str]
    without: Callable[[str, Counts], tuple[str, Counts]]


def _whole_decimals(text: str, counts: Counts) -> tuple[str, Counts]:
    return _DECIMAL.sub("", text), counts


def _no_short_sentences(text: str, counts: Counts) -> tuple[str, Counts]:
    sentences = [one.split() for one in _ENDS.split(text)]
    short = sum(0 < len(words) <= _SHORTEST_TOLD for words in sentences)
    return text, replace(counts, sentences=max(1, counts.sentences - short))


def _their_syllables(text: str, counts: Counts) -> tuple[str, Counts]:
    return text, replace(counts, syllables=second_syllables(text))


def _other_syllables(text: str) -> str:
    """The words in which the two count different syllables."""
    found = []
    for word in dict.fromkeys(_WORD.findall(text)):
        line = Line((Span(word),), "", approved=True)
        ours, theirs = count_lines([line], "en").syllables, second_syllables(word)
        if ours != theirs:
            found.append(f"{word} {ours} here, {theirs} there")
    return f"they count other syllables ({', '.join(found)})"


_DIFFERENCES = (
    _Difference(lambda _: "textstat ends a sentence inside a decimal number", _whole_decimals),
    _Difference(lambda _: "textstat counts no sentence of one or two words", _no_short_sentences),
    _Difference(_other_syllables, _their_syllables),
)

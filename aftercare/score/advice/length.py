"""Long sentences, and the place to cut each."""

from __future__ import annotations

from collections.abc import Iterator

from aftercare.score.advice.kinds import AdviceLimits, Kind
from aftercare.score.advice.lists import words
from aftercare.score.advice.orders import order
from aftercare.score.advice.page import Found, Sentence, one_line

_LEAST_HALF = 4  # words
_LISTED = 3  # commas that make a list rather than one sentence


def long_sentence(sentence: Sentence, limits: AdviceLimits) -> Iterator[Found]:
    """A sentence with more words than the limit."""
    count = sentence.count("words")
    if count > limits.sentence_words:
        yield Found(
            Kind.LONG_SENTENCE,
            0,
            len(sentence.words) - 1,
            f"{count} words; the limit is {limits.sentence_words}",
            _cut(sentence),
        )


def _cut(sentence: Sentence) -> str:
    """Where to cut, and the two halves."""
    last = len(sentence.words) - 1
    middle = len(sentence.words) / 2
    places = [
        (abs(place - middle) - gain, place)
        for place in range(max(_LEAST_HALF, _main_part(sentence)), last - _LEAST_HALF + 2)
        if (gain := _boundary(sentence, place)) is not None
    ]
    commas = sum("," in sentence.gap(place) for place in range(last))
    listed = "; or make it a list, one line for each part" if commas >= _LISTED else ""
    if not places:
        return f"find two thoughts in it and give each a sentence{listed}"
    _, place = min(places)
    word = sentence.word(place)
    first, second = sentence.said(0, place - 1), _second_half(sentence, place)
    return f"cut before “{word}”: “{first}.” / “{second}.”{listed}"


def _main_part(sentence: Sentence) -> int:
    """Where the instruction begins when a part comes before it: a cut before that leaves scraps."""
    return (order(sentence) or 0) + 1 if sentence.word(0) in words("fronted") else 0


def _second_half(sentence: Sentence, place: int) -> str:
    """The words from a place on as a sentence of its own."""
    word = sentence.word(place)
    rest = sentence.said(place + (word in {"and", "which"}), len(sentence.words) - 1)
    return f"This {rest}" if word == "which" else rest[:1].upper() + rest[1:]


def _boundary(sentence: Sentence, place: int) -> float | None:
    """How good a cut before this word is, in words of distance from the middle; None for none."""
    gap = one_line(sentence.gap(place - 1))
    word, following = sentence.word(place), sentence.word(place + 1)
    if gap[:1] in {";", ":", "—", "–"} or gap == "-":
        return 6.0
    begins_clause = following in words("clause_openers") or following in words("verbs")
    if word in words("joins") and begins_clause and word != "or":
        return 5.0 if gap else 3.0
    if word in words("joins") and gap == ",":
        return 1.0
    return 0.0 if gap == "," and word in words("clause_openers") else None

"""What a score says in words beside its numbers."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from aftercare.model import Counts
from aftercare.score.formula import LONGEST_MEAN
from aftercare.score.tally import MASK, SHIFT, WORDS, Tally
from aftercare.score.tokens import TokenTable

LEAST_WORDS = 100  # Flesch 1948, Gunning 1952: samples of 100 words
MOST_NAMED = 10  # hard words
MOST_SHOWN = 60  # words of the longest sentence
_ENOUGH_TO_TELL = 20  # words
# In English prose above a third, in this project's English leaflets at least 0.12 in each; 0.03
# to 0.07 in Polish, Dutch and French ones, which have words such as "do", "is" and "on" too.
_EVERYDAY_SHARE = 0.08
_SCRIPT_SHARE = 0.1
# Of the words of another language; 0.03 in this project's Polish leaflets, 0.29 in its English.
_ENGLISH_SHARE = 0.15


@dataclass(frozen=True, slots=True)
class Finding:
    """One remark: what it is about, and the remark."""

    about: str
    text: str


def other_script(tally: Tally, counts: Counts) -> bool:
    """Whether too many words are in a script English is not written in."""
    return tally.checked("other_script") > _SCRIPT_SHARE * counts.words


def unlike_english(tally: Tally, counts: Counts) -> bool:
    """Whether the commonest English words are all but missing."""
    return (
        counts.words >= _ENOUGH_TO_TELL
        and tally.checked("everyday") < _EVERYDAY_SHARE * counts.words
    )


def length_findings(counts: Counts) -> Iterator[Finding]:
    """Too few words, no sentence ends."""
    if counts.words == 0:
        yield Finding("length", "there are no words to score")
    elif counts.words < LEAST_WORDS:
        yield Finding(
            "length",
            f"too short for a single grade ({counts.words} of {LEAST_WORDS} words needed): "
            "look at the longest sentence, the hard words and the interval",
        )
    if counts.words > LONGEST_MEAN * max(1, counts.sentences):
        yield Finding("sentences", "hardly any sentence ends were found: no grade is given")


def english_findings(tally: Tally, counts: Counts) -> Iterator[Finding]:
    """Signs that the text is not English."""
    if other_script(tally, counts):
        yield Finding(
            "language", "many words are not in Latin letters: English formulas do not apply"
        )
    elif unlike_english(tally, counts):
        yield Finding(
            "language", "this does not read like English: check which language was declared"
        )


def foreign_findings(tally: Tally, counts: Counts) -> Iterator[Finding]:
    """Signs that a text declared as another language is English.

    The tally and the counts are those of its words read as English.
    """
    enough = counts.words >= _ENOUGH_TO_TELL
    if enough and tally.checked("everyday") > _ENGLISH_SHARE * counts.words:
        yield Finding("language", "this reads like English: check which language was declared")


def longest_sentence(sentences: Iterable[list[str]], packed: Sequence[int], length: int) -> str:
    """The first sentence of so many words; a very long one is cut short.

    ``sentences`` are the tokens of what ``packed`` counts, in the same order.
    """
    for tokens, counted in zip(sentences, packed, strict=True):
        if counted >> WORDS & MASK == length:
            more = " …" if len(tokens) > MOST_SHOWN else ""
            return " ".join(tokens[:MOST_SHOWN]) + more
    return ""


def hard_words(sentences: Iterable[list[str]], table: TokenTable) -> tuple[str, ...]:
    """Words of three syllables or more that fourth-graders do not know, as first met."""
    poly, unknown = SHIFT["polysyllables"], SHIFT["unfamiliar_1995"]
    found: dict[str, str] = {}
    for tokens in sentences:
        for token in (tokens[0].lower(), *tokens[1:]):
            packed = table[token]
            if packed >> poly & MASK and packed >> unknown & MASK:
                word = token.strip(".,;:!?\"'“”‘’()[]")
                found.setdefault(word.lower(), word)
    return tuple(found.values())

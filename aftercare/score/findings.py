"""What a score says in words beside its numbers."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import chain

from aftercare.model import Counts
from aftercare.score.dictionary import Dictionary
from aftercare.score.formula import LONGEST_MEAN
from aftercare.score.sentences import sentence_texts
from aftercare.score.tally import MASK, SHIFT, Tally
from aftercare.score.tokens import token_table

LEAST_WORDS = 100  # Flesch 1948, Gunning 1952: samples of 100 words
MOST_NAMED = 10
_ENOUGH_TO_TELL = 20  # words
_EVERYDAY_SHARE = 0.04  # in English prose it is above a third
_SCRIPT_SHARE = 0.1


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
            f"{counts.words} words are too few for a single grade ({LEAST_WORDS} are needed): "
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


def longest_sentence(lines: Iterable[str], length: int, dictionary: Dictionary) -> str:
    """The first English sentence that is as long as the longest."""
    table = token_table(dictionary)
    for line in lines:
        for tokens in sentence_texts(line, table):
            if sum(table[token] >> SHIFT["words"] & MASK for token in tokens) >= length:
                return " ".join(tokens)
    return ""


def hard_words(lines: Iterable[str], dictionary: Dictionary) -> tuple[str, ...]:
    """Words of three syllables or more that fourth-graders do not know, as first met."""
    table = token_table(dictionary)
    poly, unknown = SHIFT["polysyllables"], SHIFT["unfamiliar_1995"]
    found: dict[str, str] = {}
    for sentence in chain.from_iterable(sentence_texts(line, table) for line in lines):
        for place, token in enumerate(sentence):
            packed = table[token if place else token.lower()]
            if packed >> poly & MASK and packed >> unknown & MASK:
                word = token.strip(".,;:!?\"'“”‘’()[]")
                found.setdefault(word.lower(), word)
    return tuple(found.values())

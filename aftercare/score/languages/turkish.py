"""Turkish: as many syllables as vowel letters (common grammar); Ateşman."""

from __future__ import annotations

from math import inf

from aftercare.model import Counts
from aftercare.score.formula import Band, Formula, Scale
from aftercare.score.languages.letters import folded
from aftercare.score.languages.ratios import profile, sentence_length, word_length

_VOWELS = "aeıioöuüâîû"


def syllables(word: str) -> int:
    """The syllables of a Turkish word; at least one."""
    return sum(map(folded(word).count, _VOWELS)) or 1


def _atesman(c: Counts) -> float:
    return 198.825 - 40.175 * word_length(c) - 2.610 * sentence_length(c)


FORMULAS = (
    Formula(
        name="atesman",
        title="Ateşman",
        languages=frozenset({"tr"}),
        needs=("words", "sentences", "syllables"),
        scale=Scale.EASE,
        profile=profile("Turkish", syllables="one for each vowel letter"),
        source="Ateşman 1997, Dil Dergisi 58:71; words of the bands from memory",
        compute=_atesman,
        bands=(
            Band(30, "very hard"),
            Band(50, "hard"),
            Band(70, "of medium difficulty"),
            Band(90, "easy"),
            Band(inf, "very easy"),
        ),
    ),
)

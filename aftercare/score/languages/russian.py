"""Russian: as many syllables as vowel letters (common grammar); Oborneva."""

from __future__ import annotations

from aftercare.model import Counts
from aftercare.score.formula import Formula, Scale
from aftercare.score.languages.letters import folded
from aftercare.score.languages.ratios import profile, sentence_length, word_length

_VOWELS = "аеёиоуыэюя"


def syllables(word: str) -> int:
    """The syllables of a Russian word; none for a lone consonant (в, к, с), else at least one."""
    plain = folded(word)
    return sum(map(plain.count, _VOWELS)) or int(len(plain) > 1 or not plain.isalpha())


def _oborneva(c: Counts) -> float:
    return 206.835 - 1.3 * sentence_length(c) - 60.1 * word_length(c)


FORMULAS = (
    Formula(
        name="oborneva",
        title="Oborneva",
        languages=frozenset({"ru"}),
        needs=("words", "sentences", "syllables"),
        scale=Scale.EASE,
        profile=profile("Russian", syllables="one for each vowel letter"),
        source="Oborneva 2006, thesis, Moscow",
        compute=_oborneva,
        conflict="a variant with 1.52 and 65.14 in place of 1.3 and 60.1 also circulates",
    ),
)

"""Polish: syllables by rule; FOG-PL and Pisarek's two forms.

Rules (common grammar, from memory): every vowel letter is a syllable, but an i before a vowel
only softens (siedzieć 2), and au and eu of loan words are one (auto 2) where no prefix ends
between them (nauka 3, nieuczciwy 4). One consonant alone (w, z) has no syllable.
"""

from __future__ import annotations

import re
from math import inf, sqrt

from aftercare.model import Counts
from aftercare.score.formula import Band, Formula, Scale
from aftercare.score.languages.letters import folded
from aftercare.score.languages.ratios import percent, profile, sentence_length

_NUCLEUS = re.compile(r"i(?![aąeęioóu])|(?<=psych)i|au|eu(?!m|sz)|[aąeęoóuyáéíöüäô]")
_HIATUS = re.compile(r"\b(?:nie)?(?:na|za)u(?!t)|ieu|rzeu")


def syllables(word: str) -> int:
    """The syllables of a Polish word; none for a lone consonant, else at least one."""
    plain = folded(word)
    count = len(_NUCLEUS.findall(plain))
    if "au" in plain or "eu" in plain:
        count += len(_HIATUS.findall(plain))
    return count or int(len(plain) > 1 or not plain.isalpha())


def _fog(c: Counts) -> float:
    return 0.4 * (sentence_length(c) + percent(c.four_syllables, c))


def _pisarek_linear(c: Counts) -> float:
    return (sentence_length(c) + percent(c.four_syllables, c)) / 3 + 1


def _pisarek_root(c: Counts) -> float:
    return sqrt(sentence_length(c) ** 2 + percent(c.four_syllables, c) ** 2) / 2


_PL = frozenset({"pl"})
_NEEDS = ("words", "sentences", "four_syllables")
_PROFILE = profile("Polish", syllables="long words have four or more")
_PISAREK = "Pisarek 1969, Zeszyty Prasoznawcze 42:35; form from memory, not seen in print"
FORMULAS = (
    Formula(
        name="fog_pl",
        title="FOG-PL",
        languages=_PL,
        needs=_NEEDS,
        scale=Scale.INDEX,
        profile=_PROFILE,
        source="Gunning's index with four syllables for Polish; words of the bands from memory",
        compute=_fog,
        least=0,
        bands=(
            Band(7, "very plain, for pupils of primary school"),
            Band(10, "plain, for lower secondary school"),
            Band(13, "fairly plain, for upper secondary school"),
            Band(16, "fairly hard, for students"),
            Band(18, "hard, for graduates"),
            Band(inf, "very hard, for specialists"),
        ),
    ),
    Formula(
        name="pisarek_linear",
        title="Pisarek (linear)",
        languages=_PL,
        needs=_NEEDS,
        scale=Scale.INDEX,
        profile=_PROFILE,
        source=_PISAREK,
        compute=_pisarek_linear,
        least=0,
    ),
    Formula(
        name="pisarek_non_linear",
        title="Pisarek (non-linear)",
        languages=_PL,
        needs=_NEEDS,
        scale=Scale.INDEX,
        profile=_PROFILE,
        source=_PISAREK,
        compute=_pisarek_root,
        least=0,
    ),
)

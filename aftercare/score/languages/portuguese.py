"""Portuguese of Portugal and Brazil: syllables by rule, and Martins et al.

Rules (common grammar, from memory): i and u after a vowel join it (pai 1), unless l, m, n, r or
z closes the syllable with them (sair 2, rainha 3); before a vowel they are a syllable (dia 2,
paciente 4), but not after qu and gu, nor at the end of a word with an accent before it
(farmácia 3), where grammars allow both and the shorter count is taken.
"""

from __future__ import annotations

import re
from math import inf

from aftercare.model import Counts
from aftercare.score.formula import Band, Formula, Scale
from aftercare.score.languages.letters import folded
from aftercare.score.languages.ratios import profile, sentence_length, word_length

_VOWELS = "aeiouáéíóúâêîôûãõàèòüy"
_OPEN = rf"(?![lmnz](?![{_VOWELS}])|r(?![{_VOWELS}r]))"
_NUCLEUS = re.compile(
    rf"ã[eio]|õe|\bao(?=s?\b)|[aeoáéóâêô][iu]{_OPEN}|(?:ui|iu){_OPEN}|[{_VOWELS}]"
)
_GLIDE_U = re.compile(rf"(?<=[qg])u(?=[{_VOWELS}])")
_HIATUS = re.compile(r"proib|reini|reu[nt]")
_LIGHT_END = re.compile(r"[áéíóúâêô][iu]?[bcdfghjklmnpqrstvwxzç]++[ieou][aeo]s?\b")


def syllables(word: str) -> int:
    """The syllables of a Portuguese word; at least one."""
    plain = _GLIDE_U.sub("", folded(word))
    count = len(_NUCLEUS.findall(plain)) + (_HIATUS.search(plain) is not None)
    if not plain.isascii() and _LIGHT_END.search(plain):
        count -= 1
    return count or 1


def _martins(c: Counts) -> float:
    return 248.835 - 1.015 * sentence_length(c) - 84.6 * word_length(c)


FORMULAS = (
    Formula(
        name="martins",
        title="Martins et al.",
        languages=frozenset({"pt"}),
        needs=("words", "sentences", "syllables"),
        scale=Scale.EASE,
        profile=profile("Portuguese", syllables="by the rules of hiatus and diphthong"),
        source=(
            "Martins, Ghiraldelo, Nunes & Oliveira Jr 1996, Notas do ICMC 28, São Carlos; bands "
            "from memory"
        ),
        compute=_martins,
        bands=(
            Band(25, "very hard"),
            Band(50, "hard"),
            Band(75, "easy"),
            Band(inf, "very easy"),
        ),
    ),
)

"""Spanish: syllables by rule; Szigriszt-Pazos with the INFLESZ bands, and Fernández-Huerta.

Rules (RAE, Ortografía de la lengua española 2010, as this author remembers them): a, e, o and
accented í, ú are each a syllable; unaccented i and u join the vowel beside them, and each
other; an h between vowels changes nothing. So written, guion and cliente have one fewer
syllable than some speakers give them.
"""

from __future__ import annotations

import re
from math import inf

from aftercare.model import Counts
from aftercare.score.formula import Band, Formula, Scale
from aftercare.score.languages.letters import folded
from aftercare.score.languages.ratios import profile, sentence_length, word_length

_STRONG = "aeoáéíóúàèìòùâêôäëöãõåæœ"
_WEAK = "iuüîûï"
_NUCLEUS = re.compile(
    rf"i(?=[ií])|[{_WEAK}]*+[{_STRONG}][{_WEAK}]*+|[{_WEAK}]++|y(?![{_WEAK}{_STRONG}])"
)
_GLIDE_Y = re.compile(rf"(?<=[{_STRONG}{_WEAK}])y(?![{_STRONG}{_WEAK}])")  # muy, rey
_GLIDE_HU = re.compile(rf"hu(?=[{_STRONG}])")  # cacahuete, marihuana


def syllables(word: str) -> int:
    """The syllables of a Spanish word; at least one."""
    plain = folded(word)
    if "h" in plain:
        plain = _GLIDE_HU.sub("w", plain).replace("h", "")
    if "y" in plain:
        plain = _GLIDE_Y.sub("i", plain)
    return len(_NUCLEUS.findall(plain)) or 1


def _szigriszt_pazos(c: Counts) -> float:
    return 206.835 - 62.3 * word_length(c) - sentence_length(c)


def _fernandez_huerta(c: Counts) -> float:
    return 206.84 - 60 * word_length(c) - 1.02 * sentence_length(c)


_ES = frozenset({"es"})
_NEEDS = ("words", "sentences", "syllables")
_PROFILE = profile("Spanish", syllables="as written, by the rules of hiatus and diphthong")
FORMULAS = (
    Formula(
        name="szigriszt_pazos",
        title="Szigriszt-Pazos",
        languages=_ES,
        needs=_NEEDS,
        scale=Scale.EASE,
        profile=_PROFILE,
        source=(
            "Szigriszt Pazos 1993, thesis, Universidad Complutense de Madrid; INFLESZ bands: "
            "Barrio-Cantalejo et al. 2008, An Sist Sanit Navar 31:135"
        ),
        compute=_szigriszt_pazos,
        bands=(
            Band(40, "very difficult"),
            Band(55, "somewhat difficult"),
            Band(65, "normal"),
            Band(80, "fairly easy"),
            Band(inf, "very easy"),
        ),
    ),
    Formula(
        name="fernandez_huerta",
        title="Fernández-Huerta",
        languages=_ES,
        needs=_NEEDS,
        scale=Scale.EASE,
        profile=_PROFILE,
        source="Fernández Huerta 1959, Consigna 214:29; bands from memory",
        compute=_fernandez_huerta,
        bands=(
            Band(30, "very difficult"),
            Band(50, "difficult"),
            Band(60, "fairly difficult"),
            Band(70, "standard"),
            Band(80, "fairly easy"),
            Band(90, "easy"),
            Band(inf, "very easy"),
        ),
        conflict=(
            "usually printed with sentences per hundred words, which turns its sign round; here "
            "words per sentence are used (Law 2011, LINGUIST List 22.2332)"
        ),
    ),
)

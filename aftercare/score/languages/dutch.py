"""Dutch: syllables by rule; Douma and Brouwer.

Rules: the syllables of writing (as the Groene Boekje parts words; from memory), so sociaal has
three and nationaal four although they are often said in fewer. Two or three letters that
spell one vowel are one; a diaeresis parts (geïnfecteerd), and so does the -um of museum.
"""

from __future__ import annotations

import re

from aftercare.model import Counts
from aftercare.score.formula import Formula, Scale
from aftercare.score.languages.letters import folded
from aftercare.score.languages.ratios import profile, sentence_length, word_length

_NUCLEUS = re.compile(
    r"eau|ieu|eeu|oeu|aai|ooi|oei|aa|ee|oo|uu|éé|óó|áá|ie|oe|eu(?!ms?\b)|ui|ei|ou|au|ai|oi"
    r"|[aeo]y(?![aeiou])|[aeiouäëïöüéèêáàâíóôúûĳ]|\By|y(?![aeou])"
)


def syllables(word: str) -> int:
    """The syllables of a Dutch word as it is written; at least one."""
    return len(_NUCLEUS.findall(folded(word).replace("qu", "q"))) or 1


def _douma(c: Counts) -> float:
    return 206.835 - 0.93 * sentence_length(c) - 77 * word_length(c)


def _brouwer(c: Counts) -> float:
    return 195 - 2 * sentence_length(c) - 67 * word_length(c)


_NL = frozenset({"nl"})
_NEEDS = ("words", "sentences", "syllables")
_PROFILE = profile("Dutch", syllables="as written and parted")
FORMULAS = (
    Formula(
        name="douma",
        title="Douma",
        languages=_NL,
        needs=_NEEDS,
        scale=Scale.EASE,
        profile=_PROFILE,
        source="Douma 1960 (year from memory), De leesbaarheid van landbouwbladen",
        compute=_douma,
    ),
    Formula(
        name="brouwer",
        title="Brouwer",
        languages=_NL,
        needs=_NEEDS,
        scale=Scale.EASE,
        profile=_PROFILE,
        source="Brouwer 1963 (year from memory), Pedagogische Studiën 40:454",
        compute=_brouwer,
    ),
)

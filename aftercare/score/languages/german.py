"""German: syllables by rule; Amstad and the four Wiener Sachtextformeln.

Rules: the syllables of writing (Sprechsilben, as Duden parts words; from memory), so Operation
has five although it is often said in four. ai, au, äu, ei, eu, ie and doubled vowels are one.
The listed places are two: ie in loan words (Familie, Patient), and vowels that a prefix or a
compound brings together (beurteilen, geimpft).
"""

from __future__ import annotations

import re
from math import inf

from aftercare.model import Counts
from aftercare.score.formula import Band, Formula, Scale
from aftercare.score.languages.letters import folded
from aftercare.score.languages.ratios import percent, profile, sentence_length, word_length

_VOWELS = "aeiouäöüéèêëáàâíïóôúûœæ"
_NUCLEUS = re.compile(
    rf"eau(?=x|s?\b)|aa|ai|ay|au|äu|ee|ei|eu|ey|ie(?![{_VOWELS}])|oo|oi|oy|ou|[{_VOWELS}]"
    r"|\By|y(?![aeou])"
)
_HIATUS = re.compile(
    r"""
    \b(?:un)?be(?=en|erd|u[rn]|inh|irr)                   # beenden, beurteilen, beinhalten
    |\bge(?=e[hnr]|imp|irr|u[rn])                         # geehrt, geimpft
    |eunter                                               # Nachsorgeuntersuchung
    |(?:famil|lin|ser|stud|fol|akt|präm|bakter|arter|mater|petersil|lil|kastan|komöd|tragöd|hern
      |fer|med|kriter|immobil|ital)ie(?!r)                # Familie, Arterien
    |(?:karr|prem|barr)iere|spanier
    |(?<![adeuw])(?<!sch)iens?\b|\bindien                 # Therapien; not Wien, schien, seien
    |iell(?:e[mnrs]?)?\b|(?<=[lrtz])ient|ienz             # speziell, Patient, Effizienz
    |een\b|e(?=ell)                                       # Ideen, ideell
    |(?<=e)ums?\b|(?<=lä)ums?\b                           # Museum, Jubiläum
    |oi(?=d|st|sch)                                       # Steroid, Mastoiditis, heroisch
    |koo(?=p|rd)                                          # Kooperation
    |(?:kaff|koff|prot|kas|cas)ein|(?:mos|arch|pros)ai|ukrai|naiv
    """,
    re.VERBOSE,
)


def syllables(word: str) -> int:
    """The syllables of a German word as it is written; at least one."""
    plain = folded(word).replace("qu", "q")
    return len(_NUCLEUS.findall(plain)) + len(_HIATUS.findall(plain)) or 1


def _amstad(c: Counts) -> float:
    return 180 - sentence_length(c) - 58.5 * word_length(c)


def _sachtext_1(c: Counts) -> float:
    return (
        0.1935 * percent(c.polysyllables, c)
        + 0.1672 * sentence_length(c)
        + 0.1297 * percent(c.long_words, c)
        - 0.0327 * percent(c.monosyllables, c)
        - 0.875
    )


def _sachtext_2(c: Counts) -> float:
    return (
        0.2007 * percent(c.polysyllables, c)
        + 0.1682 * sentence_length(c)
        + 0.1373 * percent(c.long_words, c)
        - 2.779
    )


def _sachtext_3(c: Counts) -> float:
    return 0.2963 * percent(c.polysyllables, c) + 0.1905 * sentence_length(c) - 1.1144


def _sachtext_4(c: Counts) -> float:
    return 0.2744 * percent(c.polysyllables, c) + 0.2656 * sentence_length(c) - 1.693


_DE = frozenset({"de"})
_PROFILE = profile("German", syllables="as written and parted (Sprechsilben)")
_VIENNA = "Bamberger & Vanecek 1984, Lesen - Verstehen - Lernen - Schreiben"
_SCHOOL_YEARS = (
    Band(4.5, "school year 4 or below: very easy"),
    *(Band(year + 0.5, f"school year {year}") for year in range(5, 15)),
    Band(inf, "school year 15 or above: very hard"),
)
FORMULAS = (
    Formula(
        name="amstad",
        title="Amstad",
        languages=_DE,
        needs=("words", "sentences", "syllables"),
        scale=Scale.EASE,
        profile=_PROFILE,
        source="Amstad 1978, Wie verständlich sind unsere Zeitungen?, thesis, Zürich",
        compute=_amstad,
    ),
    *(
        Formula(
            name=f"wiener_sachtextformel_{number}",
            title=f"Wiener Sachtextformel {number}",
            languages=_DE,
            needs=("words", "sentences", *needs),
            scale=Scale.INDEX,
            profile=_PROFILE,
            source=f"{_VIENNA}; names of the school years 4 to 15 from memory",
            compute=compute,
            bands=_SCHOOL_YEARS,
        )
        for number, needs, compute in (
            (1, ("polysyllables", "long_words", "monosyllables"), _sachtext_1),
            (2, ("polysyllables", "long_words"), _sachtext_2),
            (3, ("polysyllables",), _sachtext_3),
            (4, ("polysyllables",), _sachtext_4),
        )
    ),
)

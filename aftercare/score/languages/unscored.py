"""Languages that are counted but not scored, and why; and where LIX has been tried.

No constants are borrowed: a formula fitted to the readers of one language says nothing about
those of another.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

REASONS: Mapping[str, str] = MappingProxyType(
    {
        "cy": "No readability formula for Welsh was found, which is no proof that there is none.",
        "ur": "No readability formula for Urdu was found, which is no proof that there is none.",
        "pa": "No readability formula for Punjabi was found, which is no proof that there is none.",
        "ro": (
            "No readability formula for Romanian was found, which is no proof that there is none."
        ),
        "so": "No readability formula for Somali was found, which is no proof that there is none.",
        "ta": "No readability formula for Tamil was found, which is no proof that there is none.",
        "bn": (
            "Formulas for Bengali exist (Das & Roychoudhury 2006; Sinha et al. 2012; Sinha & Basu "
            "2016), but none was validated on adults reading patient text."
        ),
        "gu": (
            "Work on Gujarati exists (Modh et al. 2022 on idioms; a 2024 model on 50 literary "
            "passages), but none was validated on adults reading patient text."
        ),
        "zh": (
            "Two indices for Chinese disagree (81% against 25% of 31 hearing websites above grade "
            "6; doi 10.1080/2050571X.2019.1702240), and neither was validated on adults reading "
            "patient text."
        ),
        "ar": (
            "OSMAN for Arabic (El-Haj & Rayson 2016, LREC) was evaluated only against English "
            "formulas on parallel United Nations text, not on readers, and needs diacritics."
        ),
    }
)
UNKNOWN = "No formula for this language is known here, and none is borrowed from another."

# LIX and RIX count letters, so they can be computed almost anywhere; that is no validation.
LIX_TRIED: Mapping[str, str] = MappingProxyType(
    {
        "sv": "Björnsson 1968, Läsbarhet: made for Swedish, the bands are Swedish.",
        "en": "Anderson 1983, J Reading 26:490: RIX, with grade bands for English.",
    }
)

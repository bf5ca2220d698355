"""Where a sentence ends, language by language: the marks that end one, and abbreviations.

All of it is common practice of each written language, from memory, no source; a full stop
after a listed abbreviation ends no sentence. Entries are lower case without their full stop.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

_LATIN_ENDERS = ".!?…"
_ENDERS: Mapping[str, str] = MappingProxyType(
    {
        "ar": ".!?…؟",
        "ur": ".!?…؟۔",
        "bn": "!?…।॥",  # a full stop is for abbreviations there
        "pa": ".!?…।॥؟۔",  # Gurmukhi, and the Arabic script of Pakistan
        "gu": ".!?…।॥",
        "zh": "!?…。！？",
    }
)

# Marks that end a sentence whatever follows, with or without a blank.
ALWAYS_END = "؟۔।॥。！？"


@dataclass(frozen=True, slots=True)
class Abbreviations:
    """``never_end`` end no sentence; ``may_end`` end one when a capital letter follows."""

    never_end: frozenset[str] = frozenset()
    may_end: frozenset[str] = frozenset()


_NEVER_END: Mapping[str, str] = MappingProxyType(
    {
        "es": (
            "sr sra sres srta dr dra dres dña prof profa ud uds vd vds av avda núm nro tel teléf"
            " pág págs ej aprox máx mín lic ing sto sta dto dpto ext ref ee hnos vs"
        ),
        "it": (
            "sig sigg sigra dott prof avv ing arch rag geom spett gent egr tel pag pagg es cap"
            " fig max min ca art dr vs"
        ),
        "fr": (
            "mm mr mme mlle dr pr mgr av bd boul tél tel pp chap fig env cf max min réf vol st ste"
        ),
        "de": (
            "dr med prof hr hrn fr str tel nr bzw ca evtl ggf inkl exkl max min mind vgl zzgl sog"
            " ehem st dipl ing priv doz abs gem lt jh std tägl wö zb dh ua jan feb mär apr jun jul"
            " aug sept okt nov dez"
        ),
        "nl": (
            "dr drs prof mr mw mevr dhr ir ing tel nr bijv ca max min evt incl excl resp st str vgl"
            " jl dwz oa nl zgn"
        ),
        "pl": (
            "np ul al pl os godz prof hab med lek dr inż mgr tel nr tzn tzw tj św pn str min maks"
            " max wg zob por ds wyd tab rys pon wt śr czw pt sob niedz tys mln"
        ),
        "pt": (
            "sr sra srs sras dr dra drs prof profa av tel pág págs ex exmo exma eng enf aprox máx"
            " mín cel ltda cia ref núm art"
        ),
        "ru": (
            "г гг ул кв корп стр тел им проф доц акад пр ср напр мин макс обл тыс млн млрд сек св"
            " просп пер"
        ),
        "tr": "dr prof doç op uzm örn sn bkz tel no cad sok mah apt yrd öğr hz",
        "cy": "dr mr mrs ms prof tel st",
        "ro": "dr dl dna d-na d-l prof str nr tel bd ex max min pag jud ing conf",
        "so": "dr mr mrs ms prof tel",
        "ar": "د أ م ص ت dr",
        "ur": "dr mr mrs prof",
        "pa": "ਡਾ ਪ੍ਰੋ ਨੰ dr",
        "gu": "ડૉ ડો પ્રો નં dr",
        "ta": "திரு dr",
        "bn": "ডা ড মো dr",
    }
)
_MAY_END: Mapping[str, str] = MappingProxyType(
    {
        "es": "etc uu",
        "it": "ecc etc",
        "fr": "etc",
        "de": "usw etc usf uvm ff",
        "nl": "enz etc aub",
        "pl": "itp itd",
        "pt": "etc",
        "ru": "др д п руб",
        "tr": "vb vs",
        "cy": "ayyb etc",
        "ro": "etc",
        "so": "iwm",
        "ar": "إلخ",
    }
)


def abbreviations(language: str) -> Abbreviations:
    """The abbreviations of a language by its ISO 639 code; none for one not listed."""
    return Abbreviations(
        never_end=frozenset(_NEVER_END.get(language, "").split()),
        may_end=frozenset(_MAY_END.get(language, "").split()),
    )


def sentence_enders(language: str) -> str:
    """The characters that can end a sentence in a language, by its ISO 639 code."""
    return _ENDERS.get(language, _LATIN_ENDERS)

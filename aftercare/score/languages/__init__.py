"""Languages other than English: their syllables, sentences and validated formulas.

Nine are scored, each in a module of its own that is imported when first asked for. Ten are
counted and not scored, and say why. A language is named by its ISO 639 code or a BCP 47 tag.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache
from importlib import import_module
from types import MappingProxyType
from typing import TYPE_CHECKING

from aftercare.score.languages import punctuation, unscored
from aftercare.score.languages.counting import sentence_counter

if TYPE_CHECKING:
    from aftercare.model import Limits
    from aftercare.score.formula import Formula, Language

SCORED: Mapping[str, str] = MappingProxyType(
    {
        "de": "german",
        "es": "spanish",
        "fr": "french",
        "it": "italian",
        "nl": "dutch",
        "pl": "polish",
        "pt": "portuguese",
        "ru": "russian",
        "tr": "turkish",
    }
)
COUNTED = frozenset(unscored.REASONS)
LIX_TRIED = unscored.LIX_TRIED

__all__ = [
    "COUNTED",
    "LIX_TRIED",
    "SCORED",
    "abbreviations",
    "find",
    "formulas",
    "sentence_enders",
    "sentence_limit",
    "syllable_counter",
    "why_not_scored",
    "word_unit",
]


def syllable_counter(language: str) -> Callable[[str], int] | None:
    """What counts the syllables of one word, or None in a language without rules here."""
    module = SCORED.get(_primary(language))
    if module is None:
        return None
    counter: Callable[[str], int] = import_module(f"{__name__}.{module}").syllables
    return counter


def formulas(language: str) -> tuple[Formula, ...]:
    """The formulas made for a language; none where none is validated."""
    module = SCORED.get(_primary(language))
    if module is None:
        return ()
    made: tuple[Formula, ...] = import_module(f"{__name__}.{module}").FORMULAS
    return made


def why_not_scored(language: str) -> str | None:
    """One sentence that says why a language is not scored, or None if it is."""
    code = _primary(language)
    if code == "en" or code in SCORED:
        return None
    return unscored.REASONS.get(code, unscored.UNKNOWN)


def abbreviations(language: str) -> punctuation.Abbreviations:
    """The abbreviations after which a full stop ends no sentence, in lower case."""
    return punctuation.abbreviations(_primary(language))


def sentence_enders(language: str) -> str:
    """The characters that can end a sentence."""
    return punctuation.sentence_enders(_primary(language))


def word_unit(language: str) -> str:
    """What the count of words counts: ``character`` in Chinese, which parts no words."""
    return "character" if _primary(language) == "zh" else "word"


def sentence_limit(language: str, limits: Limits) -> int:
    """The longest a sentence may be, in what ``word_unit`` counts."""
    by_character = word_unit(language) == "character"
    return limits.sentence_characters if by_character else limits.sentence_words


def find(language: str) -> Language | None:
    """What can be counted in a language and its formulas, or None for one not taught."""
    code = _primary(language)
    return _language(code) if code in SCORED or code in COUNTED else None


@cache
def _language(code: str) -> Language:
    from aftercare.score.formula import Language

    return Language(
        code=code,
        formulas=formulas(code),
        sentences=sentence_counter(code, syllable_counter(code)),
    )


def _primary(language: str) -> str:
    """The first subtag: ``pt`` of ``pt-BR``."""
    return language.replace("_", "-").partition("-")[0].lower()

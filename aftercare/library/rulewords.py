"""The words the contradiction rules look for: `shared/rules.toml`, checked name by name."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, RootModel

from aftercare.errors import BadContent
from aftercare.library.settings import checked, line_of, load
from aftercare.model import Opposing, RuleBook, Saying

SOURCE = "en"
# What the rules ask a sentence for. English must have each; another language may lack some.
THINGS = frozenset(
    {
        "side_left", "side_right", "self_bought_drops", "nothing_in", "keep_dry", "drops_told",
        "swim_ban", "swim_freely", "ask_before_swimming", "may_get_wet", "plug_for_washing",
        "irrigation", "wax_advice", "nut_oil", "infection", "no_better_in_72_hours",
        "aspirin_or_ibuprofen", "aspirin", "stop_medicine", "bleeding", "pain", "fluid",
        "hearing_change", "at_once", "later", "other_than_voice", "patient_voice", "adult_dose",
        "adult_timing", "parent_voice", "dizziness_line", "aid_out", "aid_in",
        "agent_aminoglycoside", "agent_quinolone", "agent_chloramphenicol", "agent_polymyxin",
        "agent_steroid", "agent_clotrimazole",
    }
)  # fmt: skip
# Patterns other entries refer to; nothing asks for them by itself.
SHARED = frozenset({"forbidden"})
_LANGUAGE = re.compile(r"[a-z]{2,3}(_[A-Z][a-z]{3})?(_[A-Z]{2})?")

Pattern = Annotated[str, Field(min_length=1, max_length=100)]


class SayingFile(BaseModel):
    """One entry of a language."""

    model_config = ConfigDict(extra="forbid", strict=True)

    said: Annotated[list[Pattern], Field(min_length=1)]
    unless: list[Pattern] = []


class OpposingFile(BaseModel):
    """One `[[opposing]]`."""

    model_config = ConfigDict(extra="forbid", strict=True)

    stricter: str
    looser: str


class RulesFile(RootModel[dict[str, Any]]):
    """`shared/rules.toml` as a whole: `opposing`, and a table for each language."""


class LanguageFile(RootModel[dict[str, SayingFile]]):
    """One language."""


class OpposingList(RootModel[list[OpposingFile]]):
    """Every `[[opposing]]`."""


def parse_rules(place: str, raw: bytes) -> RuleBook:
    """The rule words. Raises ``BadContent`` with file and line."""
    whole = load(place, raw, RulesFile).root
    pairs = checked(place, raw, OpposingList, whole.pop("opposing", []), ("opposing",)).root
    words = {language: _language(place, raw, language, table) for language, table in whole.items()}
    for key, problem, remedy in _faults(words, pairs):
        raise BadContent(f"{place}:{line_of(raw, key)}", problem, remedy)
    return RuleBook(
        words={language: _resolved(told) for language, told in words.items()},
        opposing=tuple(Opposing(pair.stricter, pair.looser) for pair in pairs),
    )


def _language(place: str, raw: bytes, language: str, table: Any) -> Mapping[str, SayingFile]:
    if not _LANGUAGE.fullmatch(language):
        line = line_of(raw, (language,))
        raise BadContent(f"{place}:{line}", f"'{language[:20]}' is no language", "write it like pl")
    return checked(place, raw, LanguageFile, table, (language,)).root


Fault = tuple[tuple[str, ...], str, str]


def _faults(
    words: Mapping[str, Mapping[str, SayingFile]], pairs: list[OpposingFile]
) -> Iterator[Fault]:
    lacking = sorted(THINGS - words.get(SOURCE, {}).keys())
    if lacking:
        yield (SOURCE,), f"[{SOURCE}] lacks '{lacking[0]}'", "the rules need it; add it"
    for language, told in words.items():
        for name, saying in told.items():
            if name not in THINGS | SHARED:
                yield (language, name), f"no rule asks for '{name[:40]}'", "remove it"
            for pattern in (*saying.said, *saying.unless):
                yield from _pattern_faults(language, name, pattern, told)
    for name in (name for pair in pairs for name in (pair.stricter, pair.looser)):
        if name not in THINGS:
            yield ("opposing",), f"nothing is called '{name[:40]}'", "name an entry of [en]"


def _pattern_faults(
    language: str, name: str, pattern: str, told: Mapping[str, SayingFile]
) -> Iterator[Fault]:
    if pattern.startswith("@"):
        if pattern[1:] not in told or pattern[1:] == name:
            yield (language, name), f"'{pattern[:40]}' refers to nothing", "name another entry"
        return
    parts = [part.strip() for part in pattern.split("&")]
    if all(part.startswith("!") for part in parts):
        yield (language, name), f"'{pattern[:40]}' asks for no word", "add a word to look for"
    for part in parts:
        words = part.removeprefix("!")
        if not re.search(r"\w", words) or re.search(r"[@!<>]|(?<!\w)\*|\*(?!\s|$)", words):
            yield (language, name), f"'{pattern[:40]}' is no pattern", "see the top of the file"


def _resolved(told: Mapping[str, SayingFile]) -> dict[str, Saying]:
    """The entries with every reference written out."""
    return {
        name: Saying(tuple(_written(saying.said, told)), tuple(_written(saying.unless, told)))
        for name, saying in told.items()
        if name not in SHARED
    }


def _written(patterns: list[str], told: Mapping[str, SayingFile]) -> Iterator[str]:
    for pattern in patterns:
        if pattern.startswith("@"):
            # One step only: what is referred to holds patterns, not references.
            yield from (one for one in told[pattern[1:]].said if not one.startswith("@"))
        else:
            yield pattern

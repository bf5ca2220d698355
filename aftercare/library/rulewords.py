"""The words the contradiction rules look for: `shared/rules.toml`, checked name by name."""

from __future__ import annotations

import re
import unicodedata
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
    book, faults = read_rules(place, raw)
    if faults:
        raise faults[0]
    return book


def read_rules(place: str, raw: bytes) -> tuple[RuleBook, tuple[BadContent, ...]]:
    """The rule words, and a fault with its line for each reference that had to be left out.

    A reference is left out when it leads nowhere or back to where it began. Raises
    ``BadContent`` when anything else is wrong.
    """
    whole = load(place, raw, RulesFile).root
    pairs = checked(place, raw, OpposingList, whole.pop("opposing", []), ("opposing",)).root
    words = {language: _language(place, raw, language, table) for language, table in whole.items()}
    for fault in _faults(words, pairs):
        raise _at(place, raw, fault)
    book = RuleBook(
        words={language: _resolved(told) for language, told in words.items()},
        opposing=tuple(Opposing(pair.stricter, pair.looser) for pair in pairs),
    )
    return book, tuple(_at(place, raw, fault) for fault in _bad_references(words))


Fault = tuple[tuple[str, ...], str, str]


def _at(place: str, raw: bytes, fault: Fault) -> BadContent:
    key, problem, remedy = fault
    return BadContent(f"{place}:{line_of(raw, key)}", problem, remedy)


def _language(place: str, raw: bytes, language: str, table: Any) -> Mapping[str, SayingFile]:
    if not _LANGUAGE.fullmatch(language):
        line = line_of(raw, (language,))
        raise BadContent(f"{place}:{line}", f"'{language[:20]}' is no language", "write it like pl")
    return checked(place, raw, LanguageFile, table, (language,)).root


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
                if not pattern.startswith("@"):
                    yield from _pattern_faults(language, name, pattern)
    for name in (name for pair in pairs for name in (pair.stricter, pair.looser)):
        if name not in THINGS:
            yield ("opposing",), f"nothing is called '{name[:40]}'", "name an entry of [en]"


def _pattern_faults(language: str, name: str, pattern: str) -> Iterator[Fault]:
    parts = [part.strip() for part in pattern.split("&")]
    if all(part.startswith("!") for part in parts):
        yield (language, name), f"'{pattern[:40]}' asks for no word", "add a word to look for"
    for part in parts:
        words = part.removeprefix("!")
        starred = all(map(_ends_in_its_star, (one for one in words.split() if "*" in one)))
        if not re.search(r"\w", words) or re.search("[@!<>]", words) or not starred:
            yield (language, name), f"'{pattern[:40]}' is no pattern", "see the top of the file"


def _ends_in_its_star(word: str) -> bool:
    """Whether a word has one star, after a letter; a vowel sign is as good as one."""
    before = unicodedata.category(word[-2:-1] or " ")
    return "*" not in word[:-1] and before[0] in "LMN"


def _bad_references(words: Mapping[str, Mapping[str, SayingFile]]) -> Iterator[Fault]:
    for language, told in words.items():
        reach = _reach(told)
        for name, saying in told.items():
            for pattern in dict.fromkeys((*saying.said, *saying.unless)):
                if not pattern.startswith("@"):
                    continue
                if pattern[1:] not in told:
                    problem = f"'{pattern[:40]}' refers to nothing"
                    yield (language, name), problem, "name another entry"
                elif name in reach[pattern[1:]]:
                    problem = f"'{pattern[:40]}' leads back to '{name}'"
                    yield (language, name), problem, "write the patterns out in one of them"


def _reach(told: Mapping[str, SayingFile]) -> dict[str, tuple[str, ...]]:
    """For each entry: itself and every entry its patterns refer to, near or far, each once."""
    nearest = {
        name: [one[1:] for one in dict.fromkeys(saying.said) if one.startswith("@")]
        for name, saying in told.items()
    }
    return {name: tuple(_reached(name, nearest)) for name in told}


def _reached(name: str, nearest: Mapping[str, list[str]]) -> Iterator[str]:
    seen: set[str] = set()
    ahead = [name]
    while ahead:
        at = ahead.pop()
        if at in nearest and at not in seen:
            seen.add(at)
            yield at
            ahead += reversed(nearest[at])


def _resolved(told: Mapping[str, SayingFile]) -> dict[str, Saying]:
    """The entries with every reference written out; one that leads nowhere or back is left out."""
    reach = _reach(told)

    def written(name: str, patterns: list[str]) -> Iterator[str]:
        for pattern in dict.fromkeys(patterns):
            if not pattern.startswith("@"):
                yield pattern
                continue
            through = reach.get(pattern[1:], ())
            for entry in through if name not in through else ():
                yield from (one for one in told[entry].said if not one.startswith("@"))

    return {
        name: Saying(tuple(written(name, saying.said)), tuple(written(name, saying.unless)))
        for name, saying in told.items()
        if name not in SHARED
    }

"""The word lists the advice is made from, read when first asked for."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any, NamedTuple


@cache
def words(name: str) -> frozenset[str]:
    """One list of ``english.toml`` by name."""
    return frozenset(_tables()["words"][name])


@cache
def phrases(name: str) -> tuple[tuple[str, ...], ...]:
    """One list of ``english.toml`` as phrases, each a tuple of words; longest first."""
    return tuple(sorted((tuple(one.split()) for one in _tables()["words"][name]), key=_shorter))


class Step(NamedTuple):
    """One word of a pattern: any of these, and whether it may be missing."""

    words: frozenset[str]
    optional: bool


Pattern = tuple[Step, ...]


@cache
def wrappers() -> Mapping[str, tuple[Pattern, ...]]:
    """The patterns of words around an instruction, by the word each begins with."""
    found: dict[str, tuple[Pattern, ...]] = {}
    for written in _tables()["words"]["wrappers"]:
        pattern = tuple(map(_step, written.split()))
        for word in pattern[0].words:
            found[word] = (*found.get(word, ()), pattern)
    return MappingProxyType(found)


@cache
def nominals() -> Mapping[str, str]:
    """Nouns that hide a verb, each with the verb."""
    return MappingProxyType(_tables()["nominals"])


def _step(written: str) -> Step:
    named = written.removesuffix("?")
    alternatives = words(named.lower()) if named.isupper() else frozenset(named.split("|"))
    return Step(alternatives, optional=named != written)


def _shorter(phrase: tuple[str, ...]) -> int:
    return -len(phrase)


@cache
def _tables() -> Mapping[str, Any]:
    text = (files("aftercare.score.advice") / "english.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)

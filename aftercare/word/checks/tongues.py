"""What the checks know of a language: its file in ``data/`` read when it is first needed."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import Enum, auto
from functools import cache
from importlib.resources import files
from typing import Any

from aftercare.errors import BadContent
from aftercare.word.checks.lexicon import Lexicon
from aftercare.word.checks.words import fold

DATA = "aftercare.word.checks"
ENGLISH = "en"


class Denial(Enum):
    """What a word says about denial.

    It denies; it may stand for a denial (English ``leave out``); it opens a clause that some
    languages deny and others do not (``until``: Polish ``dopóki nie``); it never denies; it
    says outright what others may say by a denial (German ``weglassen`` for ``leave out``); it
    carries a denial on to the next thing, which others deny anew (``not this or that``); it leaves
    something out of what is meant, which others deny (``no drops other than``); it denies where
    nothing else in its clause does (Spanish ``nadie``: ``nadie debe``, ``no deje que nadie``); it
    sets a condition that others open with a word or deny (``unless``: if not); it denies again
    what was denied before it, which others need not (``not even``); or it opens a clause that its
    own language denies for ``until`` (``dopóki nie``), so that this denial stands for no other.
    """

    DENIES = auto()
    MAY = auto()
    OPENS = auto()
    NEVER = auto()
    SAYS = auto()
    SHARES = auto()
    EXCEPTS = auto()
    ALONE = auto()
    UNLESS = auto()
    AGAIN = auto()
    TIED = auto()


@dataclass(frozen=True, slots=True)
class Amount:
    """A quantity; ``soft`` when a translation may well leave it out. ``clock`` is the time of day,
    in hours, that its figure may be: 9.5 for 9.30.
    """

    value: float
    unit: str | None = None
    soft: bool = False
    clock: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Looks:
    """What a language is known by: its script, commonest words, and letters that give it away."""

    name: str
    script: str
    common: frozenset[str]
    letters: frozenset[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tongue:
    """One language: what it is known by, letters of a neighbour that only look right, how many
    characters it takes for one of the English, its ways to say what must be kept, and letters that
    may be written before any of its words.
    """

    code: str
    looks: Looks
    foreign: frozenset[str]
    length: float
    numbers: Lexicon[Amount]
    units: Lexicon[str]
    weekdays: Lexicon[str]
    halves: Lexicon[str]
    denials: Lexicon[Denial]
    sides: Lexicon[str]
    urgent: Lexicon[str]
    urgent_with: Lexicon[str]
    joints: Lexicon[str]
    reach: Lexicon[str]
    clitics: tuple[str, ...] = ()


def code_of(language: str) -> str:
    """The language of a tag without its script and territory: ``zh`` for ``zh_Hans``."""
    return language.replace("-", "_").partition("_")[0].lower()


@cache
def known() -> frozenset[str]:
    """The codes of all languages with a file."""
    listed = files(DATA).joinpath("data").iterdir()
    return frozenset(one.name.removesuffix(".toml") for one in listed if one.name.endswith(".toml"))


@cache
def tongue(code: str) -> Tongue:
    """A language by its code. Raises ``BadContent`` if there is no usable file for it."""
    place = f"word/checks/data/{code}.toml"
    try:
        raw = tomllib.loads(files(DATA).joinpath("data", f"{code}.toml").read_text("utf-8"))
        return _tongue(code, raw)
    except (OSError, tomllib.TOMLDecodeError, KeyError, ValueError, TypeError) as error:
        raise BadContent(
            place, f"not a usable language file ({type(error).__name__})", "see en.toml beside it"
        ) from None


@cache
def looks() -> tuple[Looks, ...]:
    """All languages that can be told apart, those without checks of their own among them."""
    raw = tomllib.loads(files(DATA).joinpath("neighbours.toml").read_text("utf-8"))
    return (
        *(tongue(code).looks for code in sorted(known())),
        *(_looks(name, one) for name, one in raw.items()),
    )


def _looks(name: str, raw: Mapping[str, Any]) -> Looks:
    return Looks(
        name=name,
        script=raw["script"],
        common=frozenset(fold(raw["common"]).split()),
        letters=frozenset(raw.get("letters", "")),
    )


def _tongue(code: str, raw: Mapping[str, Any]) -> Tongue:
    clitics = tuple(map(fold, raw.get("clitics", ())))

    def lexicon(section: str) -> Lexicon[str]:
        return Lexicon(_meanings(raw.get(section, {})), clitics)

    return Tongue(
        code=code,
        looks=_looks(raw["name"], raw),
        length=float(raw["length"]),
        foreign=frozenset(raw.get("foreign", "")),
        numbers=Lexicon(_numbers(raw["numbers"], raw.get("amounts", {})), clitics),
        units=lexicon("units"),
        weekdays=lexicon("weekdays"),
        halves=lexicon("halves"),
        denials=Lexicon(
            ((said, Denial[name.upper()]) for said, name in _meanings(raw["denials"])), clitics
        ),
        sides=lexicon("sides"),
        urgent=lexicon("urgent"),
        urgent_with=lexicon("urgent_with"),
        joints=lexicon("joints"),
        reach=lexicon("reach"),
        clitics=clitics,
    )


def _meanings(section: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    """Each phrase of ``meaning = "phrase, phrase"`` with its meaning."""
    for meaning, listed in section.items():
        for phrase in _listed(listed):
            yield phrase, meaning


def _listed(text: str) -> list[str]:
    return [phrase.strip() for phrase in text.split(",") if phrase.strip()]


def _numbers(
    section: Mapping[str, Any], amounts: Mapping[str, str]
) -> Iterator[tuple[str, Amount]]:
    """What says a quantity; where a phrase stands twice, the first counts."""
    for listed, meant in amounts.items():
        for phrase in _listed(listed):
            yield phrase, _amount(meant)
    forms = {int(value): _listed(said) for value, said in section.items() if value.isdigit()}
    for value, said in forms.items():
        for phrase in said:
            yield phrase, Amount(value)
            for suffix in section.get("suffixes", ()):
                yield phrase + suffix, Amount(value)
    for way in section.get("joined", ()):
        for phrase, value in _joined(way, forms):
            yield phrase, Amount(value)


def _joined(way: str, forms: Mapping[int, list[str]]) -> Iterator[tuple[str, int]]:
    for ten in range(20, 100, 10):
        for unit in range(1, 10):
            if ten + unit not in forms:
                for said in forms.get(ten, ()):
                    for more in forms.get(unit, ()):
                        yield way.format(ten=said, unit=more), ten + unit


def _amount(meant: str) -> Amount:
    """``2``, ``2 week``, or ``2?`` for one that may be left out."""
    value, _, unit = meant.rstrip("?").partition(" ")
    return Amount(float(value), unit or None, soft=meant.endswith("?"))

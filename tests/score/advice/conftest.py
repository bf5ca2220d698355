"""What the tests of advice share: the checkout's own glossary and plain words, and limits."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest

from aftercare.score.advice import Advice, AdviceLimits, Kind, Standing, advise

SHARED = Path(__file__).resolve().parents[3] / "shared"
LIMITS = AdviceLimits(
    sentence_words=20, actions=7, words_before_action=12, paragraph_sentences=5, list_items=6
)


def table(name: str, key: str) -> dict[str, str]:
    found: dict[str, str] = tomllib.loads((SHARED / name).read_text("utf-8"))[key]
    return found


@pytest.fixture(scope="session")
def house() -> dict[str, object]:
    """The keyword arguments of every call."""
    return {
        "glossary": table("glossary.toml", "terms"),
        "plain_words": table("plain-words.toml", "words"),
        "limits": LIMITS,
    }


@pytest.fixture(scope="session")
def advised(house) -> Callable[..., tuple[Advice, ...]]:
    return lambda text, **more: advise(text, **(house | more))


@pytest.fixture(scope="session")
def flagged(advised) -> Callable[[str, Kind], list[str]]:
    """The words that get open advice of one kind."""

    def find(text: str, kind: Kind) -> list[str]:
        found = [one for one in advised(text) if one.kind is kind]
        return [one.words for one in found if one.standing is Standing.OPEN]

    return find

"""Phrases found in sentences: the longest wins, none overlaps, stars and clitics fit."""

from __future__ import annotations

import pytest

from aftercare.word.checks.lexicon import Lexicon
from aftercare.word.checks.words import sentences


def values(lexicon: Lexicon[str], text: str) -> list[str]:
    return lexicon.values(sentences(text))


@pytest.mark.parametrize(
    ("phrases", "text", "found"),
    [
        (["not", "not only"], "not only this, not that", ["not only", "not"]),
        (["minut*"], "10 minutes, 1 minute, minimum", ["minut*", "minut*"]),
        (["*ight"], "right, height, rights", ["*ight", "*ight"]),
        (["too *"], "too sore to touch it too", ["too *"]),
        (["two", "twenty two"], "twenty-two", ["twenty two"]),
        (["left"], "leftover", []),
        (["十", "十分钟"], "十分钟", ["十分钟"]),
        (["a b c", "b"], "a b d", ["b"]),
    ],
)
def test_phrases_are_found_longest_first(phrases: list[str], text: str, found: list[str]) -> None:
    assert values(Lexicon((phrase, phrase) for phrase in phrases), text) == found


def test_a_clitic_may_be_written_before_a_word() -> None:
    lexicon = Lexicon([("يمنى", "right")], ["وال", "ال", "ب"])

    assert values(lexicon, "الأذن اليمنى واليمنى") == ["right", "right"]


def test_where_a_phrase_stands_twice_the_first_counts() -> None:
    assert values(Lexicon([("nouă", "new"), ("nouă", "nine")]), "nouă") == ["new"]


def test_a_lexicon_of_nothing_finds_nothing() -> None:
    empty: Lexicon[str] = Lexicon([])

    assert not empty
    assert values(empty, "anything") == []

"""The syllables of each language, against words parted by hand in syllables/*.txt.

Parted by the author by the common grammar of each language, from memory: typical words of
patient leaflets with the traps of hiatus, diphthong and mute letters. French parts as read.
"""

from __future__ import annotations

import unicodedata
from pathlib import Path
from time import perf_counter

import pytest

from aftercare.score.languages import SCORED, syllable_counter

LISTS = Path(__file__).parent / "syllables"


def parted(language: str) -> list[str]:
    return (LISTS / f"{language}.txt").read_text(encoding="utf-8").split()


def counted(language: str, word: str) -> int:
    counter = syllable_counter(language)
    assert counter is not None
    return counter(word)


@pytest.mark.parametrize("language", sorted(SCORED))
def test_every_word_parted_by_hand_has_that_many_syllables(language: str) -> None:
    words = parted(language)
    wrong = {
        word: counted(language, word.replace("-", ""))
        for word in words
        if counted(language, word.replace("-", "")) != word.count("-") + 1
    }

    assert wrong == {}
    assert len(set(words)) >= 60


@pytest.mark.parametrize("language", sorted(SCORED))
def test_capitals_and_decomposed_accents_change_nothing(language: str) -> None:
    for word in parted(language):
        plain = word.replace("-", "")
        decomposed = unicodedata.normalize("NFD", plain)
        # The Turkish capital of i has a dot of its own, the Russian ё has none to lose.
        assert counted(language, decomposed) == counted(language, plain), plain
        assert counted(language, plain.upper()) == counted(language, plain), plain


@pytest.mark.parametrize(("language", "word"), [("pl", "w"), ("pl", "z"), ("ru", "в"), ("ru", "с")])
def test_a_preposition_without_a_vowel_has_no_syllable(language: str, word: str) -> None:
    assert counted(language, word) == 0


@pytest.mark.parametrize("language", sorted(SCORED))
def test_what_has_no_vowel_counts_one(language: str) -> None:
    assert [counted(language, word) for word in ("5", "2026", "km", "%")] == [1, 1, 1, 1]


@pytest.mark.parametrize("language", sorted(SCORED))
def test_a_very_long_run_of_letters_is_counted_in_time_that_grows_with_it(language: str) -> None:
    runs = ["a", "i", "e", "u", "y", "qu", "gu", "áb", "ie", "ent", "ph", "'", "eau", "я"]
    start = perf_counter()
    for run in runs:
        counted(language, run * 50_000)

    assert perf_counter() - start < 5  # a rule that backtracks would need hours

"""How many words a second each language's rules count; the answers are what is asserted."""

from __future__ import annotations

from time import perf_counter

import pytest

from aftercare.score.languages import SCORED, syllable_counter
from tests.score.languages.test_syllables import parted

ROUNDS = 200


@pytest.mark.bench
@pytest.mark.parametrize("language", sorted(SCORED))
def test_the_rules_count_many_words_a_second(language: str) -> None:
    counter = syllable_counter(language)
    assert counter is not None
    expected = sum(word.count("-") + 1 for word in parted(language)) * ROUNDS
    words = [word.replace("-", "") for word in parted(language)] * ROUNDS

    start = perf_counter()
    syllables = sum(map(counter, words))
    seconds = perf_counter() - start

    print(f"\n{language}: {len(words) / seconds:,.0f} words a second")
    assert syllables == expected

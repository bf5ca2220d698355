"""A second opinion from textstat, offline, for whoever wants to see two numbers.

Out of the box textstat 0.7.13 fetches a dictionary from the network for every English text;
here it is given this room's own table before it can ask. Its known faults stay its own: every
full stop ends a sentence, lists do not, sentences of one or two words are dropped, SMOG has
no least number of sentences, Coleman-Liau uses 0.058, ARI counts punctuation.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from functools import cache

from aftercare.score.dictionary import Pronounced, pronounced


class _Phones(Mapping[str, list[list[str]]]):
    """The table in the shape textstat reads: one pronunciation, one stressed sound a syllable."""

    def __init__(self, table: Pronounced) -> None:
        self._table = table

    def __getitem__(self, word: str) -> list[list[str]]:
        return [["0"] * self._table[word]]

    def __iter__(self) -> Iterator[str]:
        return iter(self._table)

    def __len__(self) -> int:
        return len(self._table)


def second_opinion(text: str) -> dict[str, float]:
    """What textstat makes of an English text, by this room's formula names; never fetches."""
    return {name: measure(text) for name, measure in _measures().items()}


def second_syllables(text: str) -> int:
    """The syllables textstat counts in an English text; never fetches."""
    import textstat

    _measures()
    return int(textstat.syllable_count(text))


@cache
def _measures() -> dict[str, Callable[[str], float]]:
    import textstat
    from textstat.backend.counts import _count_syllables

    phones = _Phones(pronounced())
    _count_syllables.get_cmudict = lambda language: phones if language[:2] == "en" else None
    return {
        "flesch": textstat.flesch_reading_ease,
        "flesch_kincaid": textstat.flesch_kincaid_grade,
        "smog": textstat.smog_index,
        "gunning_fog": textstat.gunning_fog,
        "coleman_liau": textstat.coleman_liau_index,
        "ari": textstat.automated_readability_index,
        "dale_chall_1948": textstat.dale_chall_readability_score,
        "lix": textstat.lix,
        "rix": textstat.rix,
    }

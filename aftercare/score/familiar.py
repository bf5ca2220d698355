"""Whether fourth-graders know a word: the Dale list with the papers' rules for endings.

The endings that keep a listed word familiar are those of Chall & Dale 1995, p. 16: 's, -s,
-es, -ies, -d, -ed, -ied, -ing, -r, -er, -est, -ier, -iest. The 1948 instructions also keep
the adverb in -ly (from memory). Numerals and the names of persons and places are familiar
in both; a hyphenated word is familiar when each part is.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from aftercare.score.dictionary import resource

# (ending, what stands in its place in the list)
_ENDINGS = (
    ("'s", ""),
    ("s'", ""),
    ("s'", "s"),
    ("ies", "y"),
    ("ied", "y"),
    ("ier", "y"),
    ("iest", "y"),
    ("es", ""),
    ("s", ""),
    ("ed", ""),
    ("d", ""),
    ("ing", ""),
    ("ing", "e"),
    ("ying", "ie"),
    ("er", ""),
    ("r", ""),
    ("est", ""),
    ("st", ""),
)
_DOUBLING = ("ed", "ing", "er", "est")
_SHORTEST_STEM = 2


@cache
def dale_list() -> frozenset[str]:
    """The 2,941 words of the list as textstat ships it; see data/README.md."""
    return frozenset(resource("familiar.txt").decode("ascii").split())


def familiar_1995(word: str) -> bool:
    """Whether a lower-case word, or each part of a hyphenated one, is familiar by 1995."""
    listed = dale_list()
    return word in listed or all(
        part in listed or any(stem in listed for stem in _stems(part)) for part in word.split("-")
    )


def familiar_1948(word: str) -> bool:
    """Whether a lower-case word is familiar by the 1948 instructions."""
    if familiar_1995(word):
        return True
    if word.endswith("ily"):
        return word[:-3] + "y" in dale_list()
    return word.endswith("ly") and (word[:-2] in dale_list() or word[:-1] + "e" in dale_list())


def _stems(word: str) -> Iterator[str]:
    for ending, instead in _ENDINGS:
        if word.endswith(ending) and len(word) - len(ending) >= _SHORTEST_STEM:
            yield word[: -len(ending)] + instead
    for ending in _DOUBLING:
        stem = word.removesuffix(ending)
        if stem != word and len(stem) > _SHORTEST_STEM and stem[-1] == stem[-2]:
            yield stem[:-1]

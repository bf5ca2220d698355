"""Across a file: sources that say different things may not have one and the same translation."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence

from aftercare.word.checks.pair import Finding, Pair, Severity, quoted
from aftercare.word.checks.words import sentences

TWIN = "same"
# Words a language may well do without.
_SMALL = frozenset(("a", "an", "the", "your", "you", "please", "us", "we", "our", "to"))


def twins(pairs: Sequence[Pair]) -> Iterator[tuple[int, Finding]]:
    """The index of each pair whose translation another, different source has too, and why."""
    alike: defaultdict[tuple[str, object], dict[frozenset[str], int]] = defaultdict(dict)
    for at, pair in enumerate(pairs):
        if not pair.target.strip():
            continue
        others = alike[pair.language, sentences(pair.target)]
        said = _said(pair.source)
        if others and said not in others:
            first = pairs[next(iter(others.values()))]
            why = f"{quoted(first.source)} has the same translation ({quoted(first.id)})"
            yield at, Finding(TWIN, Severity.WARN, why)
        others.setdefault(said, at)


def _said(source: str) -> frozenset[str]:
    return frozenset(word for one in sentences(source) for word in one) - _SMALL

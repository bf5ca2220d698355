"""``aftercare score --compare``: what a rewrite gained, sentence by sentence."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from aftercare.cli import DONE, say_json
from aftercare.cli.scoring import read_words
from aftercare.model import Library
from aftercare.proof import advice_limits
from aftercare.score.advice import Change, Comparison, Turn, compare

_MARKS = {Turn.SAME: " ", Turn.REWRITTEN: "~", Turn.ADDED: "+", Turn.DROPPED: "-"}


def compare_files(old: str, new: str, library: Library, *, as_json: bool) -> int:
    """Show what the second file gained over the first. Raises ``BadInput``."""
    found = compare(
        read_words(old),
        read_words(new),
        glossary=library.glossary,
        plain_words=library.plain_words,
        limits=advice_limits(library),
    )
    if as_json:
        say_json(as_dict(found))
    else:
        print("\n".join(_page(found)))
    return DONE


def as_dict(found: Comparison) -> dict[str, Any]:
    """The comparison as other programs read it."""
    return {
        "words": [found.old_counts.words, found.new_counts.words],
        "sentences": [found.old_counts.sentences, found.new_counts.sentences],
        "longest_sentence": [
            found.old_counts.longest_sentence,
            found.new_counts.longest_sentence,
        ],
        "formulas": {
            name: {
                "old": change.old.value,
                "new": change.new.value,
                "gain": change.gain,
                "difference": change.difference.value,
            }
            for name, change in found.formulas.items()
        },
        "changes": [_change(change) for change in found.changes],
    }


def _change(change: Change) -> dict[str, Any]:
    return {
        "turn": change.turn.value,
        "old": [one.words for one in change.old],
        "new": [one.words for one in change.new],
        "advice_gone": [kind.value for kind in change.advice_gone],
        "advice_new": [kind.value for kind in change.advice_new],
    }


def _page(found: Comparison) -> Iterator[str]:
    old, new = found.old_counts, found.new_counts
    yield f"words {old.words} -> {new.words}, sentences {old.sentences} -> {new.sentences}"
    yield f"longest sentence {old.longest_sentence} -> {new.longest_sentence} words"
    for name, formula in found.formulas.items():
        if formula.gain is not None:
            values = f"{formula.old.value:.1f} -> {formula.new.value:.1f}"
            yield f"  {name}: {values} ({formula.gain:+.1f}, {formula.difference})"
    yield ""
    for change in found.changes:
        yield from _lines(change)


def _lines(change: Change) -> Iterator[str]:
    mark = _MARKS[change.turn]
    if change.turn is Turn.SAME:
        yield from (f"{mark} {_said(one.words)}" for one in change.new)
        return
    for one in change.old:
        yield f"{mark} was ({one.count} words): {_said(one.words)}"
    for one in change.new:
        yield f"{mark} now ({one.count} words): {_said(one.words)}"
    if change.advice_gone:
        yield f"    gone: {', '.join(change.advice_gone)}"
    if change.advice_new:
        yield f"    new: {', '.join(change.advice_new)}"


def _said(words: str) -> str:
    return " ".join(words.split())

"""``aftercare score --compare``: what a rewrite gained, sentence by sentence."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from aftercare.cli import DONE, say_json
from aftercare.cli.lines import folded
from aftercare.cli.scoring import read_words
from aftercare.errors import BadInput
from aftercare.model import Library
from aftercare.proof import advice_limits
from aftercare.score.advice import Change, Comparison, Turn, compare
from aftercare.score.english import ENGLISH_FORMULAS

# A rewrite is looked at sentence by sentence; a text beyond that is not one leaflet.
LONGEST = 1_000_000
ENGLISH = {formula.name: formula.title for formula in ENGLISH_FORMULAS}
_MARKS = {Turn.SAME: " ", Turn.REWRITTEN: "~", Turn.ADDED: "+", Turn.DROPPED: "-"}


def compare_files(old: str, new: str, library: Library, *, as_json: bool) -> int:
    """Show what the second file gained over the first. Raises ``BadInput``."""
    found = compare(
        _text(old, library),
        _text(new, library),
        glossary=library.glossary,
        plain_words=library.plain_words,
        limits=advice_limits(library),
    )
    if as_json:
        say_json(as_dict(found))
    else:
        print("\n".join(_page(found)))
    return DONE


def _text(named: str, library: Library) -> str:
    text = read_words(named, library)
    if len(text) > LONGEST:
        raise BadInput(named, f"over {LONGEST:,} characters", "compare it in parts")
    return text


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
    rows = (
        ("", "Old", "New"),
        ("Words", old.words, new.words),
        ("Sentences", old.sentences, new.sentences),
        ("Longest sentence, in words", old.longest_sentence, new.longest_sentence),
    )
    yield from (f"  {what:<27} {was:>6} {now:>6}" for what, was, now in rows)
    yield from _formulas(found)
    yield ""
    for change in found.changes:
        yield from _lines(change)


def _formulas(found: Comparison) -> Iterator[str]:
    """Each formula that has a value for both; chance alone moves one within its interval."""
    for name, formula in found.formulas.items():
        if formula.gain is not None:
            values = f"{formula.old.value:>6.1f} {formula.new.value:>6.1f}"
            how = f"{formula.gain:+.1f}, {formula.difference}"
            yield f"  {ENGLISH[name]:<27} {values}  {how}"
    if all(formula.gain is None for formula in found.formulas.values()):
        yield "  No grades: one of the two is too short for any."


def _lines(change: Change) -> Iterator[str]:
    mark = _MARKS[change.turn]
    if change.turn is Turn.SAME:
        for one in change.new:
            yield from _said(mark, one.words)
        return
    for one in change.old:
        yield from _said(mark, f"was ({one.count} words): {one.words}")
    for one in change.new:
        yield from _said(mark, f"now ({one.count} words): {one.words}")
    if change.advice_gone:
        yield f"    gone: {', '.join(change.advice_gone)}"
    if change.advice_new:
        yield f"    new: {', '.join(change.advice_new)}"


def _said(mark: str, words: str) -> Iterator[str]:
    """A sentence with its mark in the margin."""
    first, *others = folded(words, "  ") or ["  "]
    yield f"{mark}{first[1:]}".rstrip()
    yield from others

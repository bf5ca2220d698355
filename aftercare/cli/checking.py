"""``aftercare content check``: what can be proved of the shelf, and what an editor must look at."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from aftercare.cli import DONE, FOUND, say_json
from aftercare.model import Library
from aftercare.proof import (
    Disagreement,
    Finding,
    Proved,
    disagreements,
    findings,
    prove_reading,
)
from aftercare.proof.wordings import PAGE
from aftercare.score.languages import why_not_scored


def check(library: Library, *, as_json: bool) -> int:
    """Prove what can be proved, list what was found; 1 if anything was."""
    proved = prove_reading(library)
    found = list(findings(library, proved))
    differing = list(disagreements(library))
    if as_json:
        say_json(as_dict(library, proved, found, differing), indent=1)
    else:
        print("\n".join(_page(library, proved, found, differing)))
    return FOUND if found else DONE


def as_dict(
    library: Library,
    proved: Sequence[Proved],
    found: Sequence[Finding],
    differing: Sequence[Disagreement],
) -> dict[str, Any]:
    """The check as other programs read it."""
    return {
        "library": library.fingerprint,
        "blocks": len(library.blocks),
        "proved": [_proved(one) for one in proved],
        "findings": [
            {"block": f.block, "language": f.language, "problem": f.problem, "help": f.help}
            for f in found
        ],
        "second_scorer": [
            {"block": d.block, "ours": d.ours, "textstat": d.theirs, "why": d.why}
            for d in differing
        ],
    }


def _proved(one: Proved) -> dict[str, Any]:
    return {
        "language": one.language,
        "form": one.form,
        "formula": one.formula.name if one.formula else None,
        "not_scored_because": None if one.formula else why_not_scored(one.language),
        "limit": one.limit,
        "no_message_above": one.bound,
        "hardest_part": one.hardest.wording.block if one.hardest else None,
        "hardest_part_value": one.hardest.grade if one.hardest else None,
        "longest_sentence": one.longest.counts.longest_sentence if one.longest else None,
        "longest_in": one.longest.wording.block if one.longest else None,
        "wordings": one.wordings,
    }


def _page(
    library: Library,
    proved: Sequence[Proved],
    found: Sequence[Finding],
    differing: Sequence[Disagreement],
) -> Iterator[str]:
    yield f"{len(library.blocks)} blocks, library {library.fingerprint}"
    yield ""
    yield "No message that can be put together from these blocks is harder than this:"
    yield from map(_bound, proved)
    yield ""
    if differing:
        yield "textstat and this engine are more than a grade apart on:"
        for one in differing:
            yield f"  {one.block}: here {one.ours:.1f}, textstat {one.theirs:.1f}; {one.why}"
        yield ""
    for one_found in found:
        yield f"{one_found.block} ({one_found.language}) {one_found.problem}"
        yield f"    {one_found.help}"
    yield f"{len(found)} to look at" if found else "Nothing to look at."


def _bound(one: Proved) -> str:
    longest = one.longest.counts.longest_sentence if one.longest else 0
    where = one.longest.wording.block if one.longest else "-"
    if one.formula is None or one.bound is None:
        grade = f"not scored: {why_not_scored(one.language)}"
    elif one.form != PAGE:
        grade = "too short for a grade"
    else:
        held = f" (limit {one.limit:g})" if one.limit is not None else ""
        grade = f"{one.formula.title} {one.bound:.1f}{held}"
    return f"  {one.language} {one.form}: {grade}; longest sentence {longest} words, in {where}"

"""``aftercare content check``: what can be proved of the shelf, and what an editor must look at."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from aftercare.cli import DONE, FOUND, say_json
from aftercare.cli.lines import folded
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

NO_LIMIT = "shared/limits.toml holds this language to no formula that a bound can be proved for"


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
            {
                "block": one.block,
                "file": one.file,
                "language": one.language,
                "problem": one.problem,
                "help": one.help,
            }
            for one in found
        ],
        "second_scorer": [
            {
                "block": one.block,
                "when": list(one.when),
                "ours": one.ours,
                "textstat": one.theirs,
                "why": one.why,
            }
            for one in differing
        ],
    }


def _proved(one: Proved) -> dict[str, Any]:
    return {
        "language": one.language,
        "form": one.form,
        "formula": one.formula.name if one.formula else None,
        "not_scored_because": _why_not(one),
        "limit": one.limit,
        "no_message_above": one.bound,
        "hardest_part": one.hardest.wording.block if one.hardest else None,
        "hardest_part_value": one.hardest.grade if one.hardest else None,
        "longest_sentence": one.longest.counts.longest_sentence if one.longest else None,
        "longest_in": one.longest.wording.block if one.longest else None,
        "wordings": len(one.costs),
    }


def _why_not(one: Proved) -> str | None:
    if one.formula is not None:
        return None
    return why_not_scored(one.language) or NO_LIMIT


# --- for people -------------------------------------------------------------------------


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
    for language, why in dict.fromkeys((one.language, _why_not(one)) for one in proved):
        yield from folded(f"{language}: {why}", "  ") if why else ()
    yield ""
    if differing:
        yield "textstat and this engine are more than a grade apart on:"
        for one in differing:
            when = f" for {' '.join(one.when)}" if one.when else ""
            yield f"  {one.block}{when}: here {one.ours:.1f}, textstat {one.theirs:.1f}"
            yield from folded(one.why, "      ")
        yield ""
    for one_found in found:
        yield f"{one_found.block} ({one_found.language}), {one_found.file}"
        yield from folded(one_found.problem, "  ")
        yield from folded(one_found.help, "      ")
    yield f"{len(found)} to look at" if found else "Nothing to look at."


def _bound(one: Proved) -> str:
    told = f"  {one.language:<5} {one.form:<14} {_grade(one):<41}"
    if one.longest is None:
        return told.rstrip()
    longest, where = one.longest.counts.longest_sentence, one.longest.wording.block
    return f"{told} sentences to {longest} words ({where})"


def _grade(one: Proved) -> str:
    if one.formula is None or one.bound is None:
        return "not scored"
    if one.form != PAGE:
        return "too short for a grade"
    held = f" (limit {one.limit:g})" if one.limit is not None else ""
    return f"{one.formula.title} {one.bound:.1f}{held}"

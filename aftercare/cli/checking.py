"""``aftercare content check``: what is proved of the shelf, and what an editor must look at."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from aftercare.cli import DONE, FOUND, say_json, tell
from aftercare.cli.bootstrap import Desk
from aftercare.cli.lines import folded
from aftercare.cli.proving import ShelfCheck, prove
from aftercare.cli.shelf import fault_rows
from aftercare.errors import AftercareError
from aftercare.model import Library
from aftercare.proof import (
    Disagreement,
    Finding,
    Proved,
    disagreements,
    findings,
    prove_reading,
)
from aftercare.proof.language import LanguageCheck
from aftercare.proof.reminders import of_reminders
from aftercare.proof.space import Asked
from aftercare.proof.wordings import PAGE
from aftercare.score.formula import Scale
from aftercare.score.languages import why_not_scored, word_unit

NO_LIMIT = "shared/limits.toml holds this language to no formula that a bound can be proved for"
_MORE = "and more"
_REASONS = "every block told or left out for a reason ({} kinds followed), in a fixed order"
# A case is told by its facts; the rest of a long one adds nothing to a screen.
_FACTS_SHOWN = 14


@dataclass(frozen=True, slots=True)
class _Checked:
    """Everything there is to say of a shelf."""

    library: Library
    proof: ShelfCheck
    proved: Sequence[Proved]
    found: Sequence[Finding]
    differing: Sequence[Disagreement]
    faults: Sequence[AftercareError]


def check(desk: Desk, *, as_json: bool) -> int:
    """Prove what can be proved, list what was found; 1 if anything was."""
    library = desk.library
    languages = (library.source_language, *sorted(library.catalogues))
    proof = prove(desk.home, languages, desk.today, tell)
    proved = prove_reading(library)
    checked = _Checked(
        library,
        proof,
        proved,
        [
            *map(_of_fault, desk.faults),
            *proof.findings,
            *(one for language in proof.languages for one in language.findings),
            *findings(library, proved),
            *of_reminders(library),
        ],
        list(disagreements(library)),
        desk.faults,
    )
    if as_json:
        say_json(as_dict(checked), indent=1)
    else:
        print("\n".join(_page(checked)))
    return FOUND if checked.found else DONE


def _of_fault(fault: AftercareError) -> Finding:
    return Finding(
        block="shelf", file=fault.place, language="", problem=fault.problem,
        help=fault.remedy or "mend it",
    )  # fmt: skip


# --- for machines -------------------------------------------------------------------------


def as_dict(checked: _Checked) -> dict[str, Any]:
    """The check as other programs read it."""
    totals = checked.proof.totals
    return {
        "library": checked.library.fingerprint,
        "blocks": len(checked.library.blocks),
        "faults": fault_rows(checked.faults),
        "patients": totals.patients,
        "leaflets": totals.leaflets,
        "reasons_followed": checked.proof.reasons.followed,
        "most_actions_called_for": totals.actions.most,
        "most_actions_case": _case(totals.actions.held),
        "patients_with_something_left_out": totals.shortened,
        "left_out": dict(totals.left_out),
        "languages": [_language(one) for one in checked.proof.languages],
        "proved": [_proved(one) for one in checked.proved],
        "findings": [_finding(one) for one in checked.found],
        "second_scorer": [
            {
                "block": one.block,
                "when": list(one.when),
                "ours": one.ours,
                "textstat": one.theirs,
                "why": one.why,
            }
            for one in checked.differing
        ],
    }


def _language(one: LanguageCheck) -> dict[str, Any]:
    texts, pages = one.texts, one.pages
    return {
        "language": one.language,
        "hardest_leaflet": one.hardest.value if one.hardest else None,
        "no_leaflet_harder": one.hardest.bound if one.hardest else None,
        "hardest_case": _case(one.hardest.held) if one.hardest else None,
        "longest_sms_parts": texts.whole.size.parts,
        "longest_sms_units": texts.whole.size.units,
        "longest_sms_case": _case(texts.whole.held),
        "longest_vital_sms_parts": texts.vital.size.parts,
        "sms_may_drop": list(texts.droppable),
        "pages": [
            {
                "size": size.size,
                "found": size.found,
                "no_leaflet_above": size.most,
                "limit": size.limit,
                "case": _case(size.held),
            }
            for size in pages.sizes
        ],
        "groups_told_apart": one.groups,
        "held_at_release": [
            {"rule": held.rule, "why": held.why, "patients": held.patients} for held in one.held
        ],
    }


def _case(held: frozenset[Asked]) -> list[str]:
    return [str(asked) for asked in sorted(held)]


def _finding(one: Finding) -> dict[str, Any]:
    return {
        "block": one.block,
        "file": one.file,
        "language": one.language,
        "problem": one.problem,
        "help": one.help,
        "patients": one.patients,
        "case": list(one.case),
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


def _page(checked: _Checked) -> Iterator[str]:
    yield f"{len(checked.library.blocks)} blocks, library {checked.library.fingerprint}"
    yield ""
    yield from _everybody(checked)
    for one in checked.proof.languages:
        yield ""
        yield from _of_language(one, checked)
    yield ""
    yield "Whoever were told whichever of these blocks, no message would be harder than this:"
    yield from map(_bound, checked.proved)
    for language, why in dict.fromkeys((one.language, _why_not(one)) for one in checked.proved):
        yield from folded(f"{language}: {why}", "  ") if why else ()
    yield ""
    yield from _second(checked.differing)
    yield from _listed(checked.found)


def _everybody(checked: _Checked) -> Iterator[str]:
    totals, most = checked.proof.totals, checked.library.limits.actions
    yield "Everybody who can walk in, counted and not sampled:"
    yield f"  {totals.patients:,} combinations of what a visit records"
    yield f"  {totals.leaflets:,} different leaflets"
    if not checked.proof.reasons.findings:
        yield f"  {_REASONS.format(checked.proof.reasons.followed)}"
    if totals.actions.most <= most:
        yield f"  at most {totals.actions.most} things asked of a reader (limit {most})"
        return
    yield f"  up to {totals.actions.most} things would be asked of a reader"
    yield from _told_case(totals.actions.held)
    names = ", ".join(name for name, _ in totals.left_out)
    yield from folded(
        f"beyond {most} the least needed is left out, and the clinician is told; it can be: "
        f"{names}", "    ",
    )  # fmt: skip


def _of_language(one: LanguageCheck, checked: _Checked) -> Iterator[str]:
    yield f"{one.language}: {one.groups:,} groups of patients told apart by the rules"
    page = next(p for p in checked.proved if (p.language, p.form) == (one.language, PAGE))
    if one.hardest and page.formula:
        none = "above" if page.formula.scale is not Scale.EASE else "below"
        yield (
            f"  hardest leaflet: {page.formula.title} {one.hardest.value:.1f};"
            f" none is {none} {one.hardest.bound:.1f}"
        )
        yield from _told_case(one.hardest.held)
    whole, vital = one.texts.whole, one.texts.vital
    yield f"  longest SMS: {whole.size.parts} parts, {whole.size.units:,} units"
    yield from _told_case(whole.held)
    if one.texts.droppable:
        yield from folded(
            "over the limit the least needed goes; it can be, the least needed last: "
            f"{', '.join(one.texts.droppable)}; "
            f"what is vital takes {vital.size.parts} parts at most", "    ",
        )  # fmt: skip
    for size in one.pages.sizes:
        found = "not laid out" if size.found is None else f"{size.found} pages"
        yield f"  longest leaflet in {size.size}: {found}; none takes more than {size.most}"
    if one.pages.sizes:
        yield from _told_case(one.pages.sizes[-1].held)
    for held in one.held:
        yield from folded(f"held at release for what was recorded: {held.rule}: {held.why}", "  ")


def _told_case(held: frozenset[Asked]) -> Iterator[str]:
    """A case by its facts, one ear after the other."""
    facts = [str(asked) for asked in sorted(held) if asked.fact != "seen"]
    yield from folded("for " + "; ".join(facts), "    ")


def _second(differing: Sequence[Disagreement]) -> Iterator[str]:
    if not differing:
        return
    yield "textstat and this engine are more than a grade apart on:"
    for one in differing:
        when = f" for {' '.join(one.when)}" if one.when else ""
        yield f"  {one.block}{when}: here {one.ours:.1f}, textstat {one.theirs:.1f}"
        yield from folded(one.why, "      ")
    yield ""


def _listed(found: Sequence[Finding]) -> Iterator[str]:
    for one in found:
        language = f" ({one.language})" if one.language else ""
        yield f"{one.block}{language}, {one.file}"
        yield from folded(one.problem, "  ")
        if one.case:
            met = f"{one.patients:,} combinations, such as: " if one.patients else "such as: "
            shown = one.case[:_FACTS_SHOWN]
            more = [_MORE] if len(one.case) > _FACTS_SHOWN else []
            yield from folded(met + "; ".join([*shown, *more]), "    ")
        yield from folded(one.help, "      ")
    yield f"{len(found)} to look at" if found else "Nothing to look at."


def _bound(one: Proved) -> str:
    told = f"  {one.language:<5} {one.form:<14} {_grade(one):<41}"
    if one.longest is None:
        return told.rstrip()
    longest, where = one.longest.counts.longest_sentence, one.longest.wording.block
    return f"{told} sentences to {longest} {word_unit(one.language)}s ({where})"


def _grade(one: Proved) -> str:
    if one.formula is None or one.bound is None:
        return "not scored"
    if one.form != PAGE:
        return "too short for a grade"
    held = f" (limit {one.limit:g})" if one.limit is not None else ""
    return f"{one.formula.title} {one.bound:.1f}{held}"

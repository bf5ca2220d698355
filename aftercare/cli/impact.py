"""``aftercare content impact``: who is told a block, and what a pending edit changes for whom."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from aftercare.cli import DONE, FOUND, say_json
from aftercare.cli.bootstrap import Desk
from aftercare.cli.lines import folded
from aftercare.cli.shelf import find_block, tell_faults
from aftercare.edges.folder import read_input
from aftercare.errors import BadInput
from aftercare.library import last_approved
from aftercare.library.blocks import parse_block
from aftercare.library.header import BLOCK_BYTES
from aftercare.library.paths import FRAME, kept_path
from aftercare.model import Block, Library
from aftercare.proof.impact import TEXT, Audience, Change, Telling, audiences, changes
from aftercare.proof.reach import Reach

_WITHOUT_BEFORE = "nothing to compare with: it was never approved here; name a file with --before"


def impact(desk: Desk, wanted: str, before: str | None, *, as_json: bool) -> int:
    """Who is told a block, and every change since it was approved, or since ``before``.

    1 when a file of the shelf cannot be read. Raises ``BadInput`` for an unknown block.
    """
    if wanted == FRAME:
        raise BadInput(FRAME, "everybody gets it", "name a block; see 'aftercare content list'")
    block = find_block(desk.library, wanted)
    if block.moments:
        raise BadInput(
            wanted, f"it is told in recall messages alone: {', '.join(block.moments)}",
            f"'aftercare content show {wanted}' says to whom",
        )  # fmt: skip
    old = _before(desk, block, before)
    reach = Reach(desk.library)
    told = list(audiences(reach, block))
    edits = None if old is None else list(changes(reach, block, old))
    if as_json:
        say_json(_as_dict(reach, block, told, edits), indent=1)
    else:
        print("\n".join(_page(reach, block, told, edits)))
    tell_faults(desk.faults)
    return FOUND if desk.faults else DONE


def _before(desk: Desk, block: Block, named: str | None) -> Block | None:
    """The block to compare with: the named file's, or the words as they were last approved."""
    if named is not None:
        place, raw = named, read_input(Path(named), BLOCK_BYTES)
    else:
        place, kept = kept_path(block.id), last_approved(desk.files, block.id)
        if kept is None:
            return None
        raw = kept
    old = parse_block(place, raw, desk.library.facts)
    if old.id != block.id:
        raise BadInput(place, f"it holds '{old.id[:60]}', not '{block.id}'", "name another file")
    return old


# --- for machines -------------------------------------------------------------------------


def _as_dict(
    reach: Reach, block: Block, told: Sequence[Audience], edits: Sequence[Change] | None
) -> dict[str, Any]:
    return {
        "block": block.id,
        "library": reach.library.fingerprint,
        "patients": reach.space.count(reach.gets(block)),
        "of_patients": reach.space.count(reach.space.anybody),
        "left_out_for_actions": _left_out(reach, block),
        "told": [
            {
                **_telling(one.telling),
                "words": list(one.words),
                "leaflets": one.leaflets,
                **one.met,
            }
            for one in told
        ],
        "changes": None
        if edits is None
        else [
            {
                "block": one.block,
                **(_telling(one.telling) if one.telling else {}),
                "before": list(one.before),
                "after": list(one.after),
                "leaflets": one.leaflets,
                **one.met,
            }
            for one in edits
        ],
    }


def _left_out(reach: Reach, block: Block) -> int:
    who = reach.left_out.get(block.id)
    return 0 if who is None else reach.space.count(who)


def _telling(one: Telling) -> dict[str, Any]:
    return {
        "form": one.form,
        "ear": one.side.value,
        "when": list(one.when),
        "detail": one.detail if one.form == TEXT else None,
    }


# --- for people ---------------------------------------------------------------------------


def _page(
    reach: Reach, block: Block, told: Sequence[Audience], edits: Sequence[Change] | None
) -> Iterator[str]:
    yield f"{block.id} {block.version} ({block.kind}), {block.place}"
    yield from folded(f"for {_labels(block.given_for, reach.library) or 'everyone'}", "  ")
    if block.withheld_from:
        yield from folded(f"never with {_any_of(block.withheld_from, reach.library)}", "  ")
    gets, everybody = reach.space.count(reach.gets(block)), reach.space.count(reach.space.anybody)
    yield f"  told to {gets:,} of {everybody:,} combinations of recorded facts"
    if block.id in reach.left_out:
        yield f"  left out of {_left_out(reach, block):,}, where too much is asked with it"
    yield ""
    for one in told:
        yield from folded(f"{_kind(one.telling)}: {_met(one.leaflets, one.met['patients'])}", "")
        yield from folded(f"such as {'; '.join(one.met['case'])}", "    ")
        for words in one.words:
            yield from folded(words, "  ")
    yield ""
    yield from _edits(edits)


def _edits(edits: Sequence[Change] | None) -> Iterator[str]:
    if edits is None:
        yield from folded(_WITHOUT_BEFORE, "")
        return
    if not edits:
        yield "No leaflet has changed."
    for one in edits:
        name = _kind(one.telling) if one.telling else f"{one.block}, which gives way or comes back"
        yield from folded(f"{name}: {_met(one.leaflets, one.met['patients'])}", "")
        yield from folded(f"such as {'; '.join(one.met['case'])}", "    ")
        for sign, words in (("-", one.before), ("+", one.after)):
            for line in words:
                yield from folded(f"{sign} {line}", "  ")


def _met(leaflets: int, patients: int) -> str:
    return f"{leaflets:,} leaflets, {patients:,} combinations"


def _kind(one: Telling) -> str:
    """A telling as an editor would say it."""
    form = one.form if one.form != TEXT else f"{TEXT}{' in detail' if one.detail else ''}"
    ear = "both ears" if one.side == "both" else f"the {one.side} ear"
    return f"{form}, of {ear}{', ' if one.when else ''}{' '.join(one.when)}"


def _any_of(facts: Sequence[str], library: Library) -> str:
    """Facts in plain words, any of which will do."""
    return " or ".join(_label(fact, library) for fact in facts)


def _label(fact: str, library: Library) -> str:
    group, _, value = fact.partition(":")
    return library.facts[group].values[value]


def _labels(facts: Sequence[str], library: Library) -> str:
    """Facts in plain words: one of each group must hold, and in a group any will do."""
    groups: dict[str, list[str]] = {}
    for fact in facts:
        groups.setdefault(fact.partition(":")[0], []).append(_label(fact, library))
    return "; and ".join(" or ".join(said) for said in groups.values())

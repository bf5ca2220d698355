"""``aftercare content list, show, approve, retire``: the editor's shelf, block by block."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from aftercare.cli import DONE, FOUND, say_json, tell
from aftercare.edges.folder import find_home, is_shipped, read_home, rewrite
from aftercare.errors import BadInput
from aftercare.library import read
from aftercare.library.approval import Signature, approve_block, approve_frame, retire_block
from aftercare.model import Approval, ApprovalState, Block, Library

FRAME = "frame"
FRAME_PATH = "content/frame.toml"
# An editor is told this long before a text is due for review (proposed).
DUE_SOON = timedelta(days=60)


def list_blocks(library: Library, today: date, *, as_json: bool) -> int:
    """Every block with its state; 1 when one is past its review date."""
    rows = [_row(block, library, today) for block in library.blocks]
    late = [row for row in rows if row["review"] == "past"]
    if as_json:
        say_json(rows, indent=1)
    else:
        print("\n".join(_lines(rows)))
    return FOUND if late else DONE


def _row(block: Block, library: Library, today: date) -> dict[str, Any]:
    return {
        "id": block.id,
        "kind": block.kind.value,
        "version": block.version,
        "state": _state(block.approval),
        "approved_by": block.approval.by,
        "review_by": block.review_by.isoformat(),
        "review": _review(block.review_by, today),
        "for": list(block.given_for),
        "not_for": list(block.withheld_from),
        "translations_approved": _approved_languages(block, library),
        "file": block.place,
    }


def _state(approval: Approval) -> str:
    if approval.undone:
        return "draft (edited since it was approved)"
    if approval.state is ApprovalState.APPROVED and not approval.sealed:
        return "approved by hand (an edit would not be noticed)"
    return approval.state.value


def _review(due: date, today: date) -> str:
    if due < today:
        return "past"
    return "due soon" if due - today <= DUE_SOON else ""


def _approved_languages(block: Block, library: Library) -> list[str]:
    """The languages in which every phrase of a block has an approved translation."""
    phrases = [variant.phrase.msgid for unit in block.units() for variant in unit.variants]
    return [
        language
        for language, catalogue in sorted(library.catalogues.items())
        if all(
            (found := catalogue.phrases.get((block.id, msgid))) and found.approved
            for msgid in phrases
        )
    ]


def _lines(rows: list[dict[str, Any]]) -> Iterator[str]:
    width = max(len(row["id"]) for row in rows)
    for row in rows:
        review = f"  review {row['review']}: {row['review_by']}" if row["review"] else ""
        languages = ", ".join(row["translations_approved"])
        spoken = f"  translations approved: {languages}" if languages else ""
        yield f"{row['id']:<{width}}  {row['kind']:<8} {row['state']}{review}{spoken}"
    drafts = sum(not row["state"].startswith("approved") for row in rows)
    yield f"{len(rows)} blocks, {drafts} of them not approved"


def show_block(library: Library, wanted: str, today: date, *, as_json: bool) -> int:
    """One block whole: who gets it, its words, its sources, who stands behind it."""
    block = _find(library, wanted)
    row = _row(block, library, today)
    if as_json:
        say_json({**row, "sources": list(block.sources), "words": list(_words(block))}, indent=1)
    else:
        print("\n".join(_page(block, row)))
    return DONE


def _find(library: Library, wanted: str) -> Block:
    found = next((block for block in library.blocks if block.id == wanted), None)
    if found is None:
        near = ", ".join(block.id for block in library.blocks if wanted[:5] in block.id)
        raise BadInput(wanted[:60], "no block has this id", near or "see 'aftercare content list'")
    return found


def _words(block: Block) -> Iterator[dict[str, Any]]:
    for unit in block.units():
        for variant in unit.variants:
            yield {
                "when": sorted(variant.when),
                "words": variant.phrase.msgid,
                "line": variant.line,
            }


def _page(block: Block, row: dict[str, Any]) -> Iterator[str]:
    yield f"{block.id} {block.version} ({block.kind}), {block.place}"
    yield f"  {row['state']}{f': {block.approval.by}' if block.approval.by else ''}"
    yield f"  for {', '.join(block.given_for) or 'everyone'}"
    if block.withheld_from:
        yield f"  never for {', '.join(block.withheld_from)}"
    yield f"  review by {block.review_by} {row['review']}".rstrip()
    for told in _words(block):
        when = f"[{' '.join(told['when'])}] " if told["when"] else ""
        yield f"    {told['line']:>3}  {when}{told['words']}"
    yield from (f"  source: {source}" for source in block.sources)
    yield from (f"  accepted {one.kind} “{one.words}”: {one.reason}" for one in block.accepted)


# --- decisions --------------------------------------------------------------------------


def approve(home: str | None, wanted: str, by: Signature) -> int:
    """Put a named clinician behind a block's words as they stand, and say what that covers."""
    return _decide(home, wanted, by, approve_block, approve_frame, "approved")


def retire(home: str | None, wanted: str, by: Signature) -> int:
    """Take a block out of use, keeping its file."""
    return _decide(home, wanted, by, retire_block, None, "retired")


Edit = Callable[[str, str, Signature], str]


def _decide(
    home: str | None, wanted: str, by: Signature, block: Edit, frame: Edit | None, done: str
) -> int:
    folder = find_home(home, os.environ, Path.cwd())
    if is_shipped(folder):
        raise BadInput(
            str(folder), "the shelf that ships with aftercare is not yours to approve",
            "'aftercare init DIR' makes your own; name it with --home",
        )  # fmt: skip
    files = read_home(folder)
    library = read(files, wanted=())
    if wanted == FRAME and frame is not None:
        path, edit = FRAME_PATH, frame
    else:
        path, edit = _find(library, wanted).place, block
    written = edit(path, files[path].decode("utf-8-sig"), by)
    # Read again before anything is put in place: a decision never leaves a broken shelf.
    read({**files, path: written.encode()}, wanted=())
    rewrite(folder / path, written.encode())
    tell(f"{wanted} is {done} by {by.name}, {by.role}, {by.on}: {path}")
    return DONE

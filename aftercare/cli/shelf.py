"""``aftercare content list, show, approve, retire``: the editor's shelf, block by block."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from aftercare.cli import DONE, FOUND, say_json, tell
from aftercare.cli.bootstrap import Desk
from aftercare.edges.folder import find_home, is_shipped, read_home, rewrite
from aftercare.errors import AftercareError, BadInput
from aftercare.library import read
from aftercare.library.approval import (
    Signature,
    approve_block,
    approve_frame,
    latest_review,
    retire_block,
)
from aftercare.library.paths import FRAME, FRAME_PATH, kept_path
from aftercare.model import Approval, ApprovalState, Block, Library

# An editor is told this long before a text is due for review (proposed).
DUE_SOON = timedelta(days=60)
PAST, SOON, TOO_FAR = "past", "due soon", "too far off"


def tell_faults(faults: Sequence[AftercareError]) -> None:
    """What could not be read of a shelf, for people."""
    for fault in faults:
        tell(str(fault))
    of_languages = [one for one in faults if _language_of(one)]
    if len(of_languages) < len(faults):
        said = _faults(len(faults) - len(of_languages))
        tell(f"{said} on the shelf; nothing of it is sent or approved until that is mended")
    for language in sorted({_language_of(one) for one in of_languages}):
        said = _faults(sum(_language_of(one) == language for one in of_languages))
        tell(f"{said} in locales/{language}; nothing is sent in {language} until that is mended")


def _faults(many: int) -> str:
    return "1 fault" if many == 1 else f"{many} faults"


def _language_of(fault: AftercareError) -> str:
    """The language whose catalogue a fault is in, the only one it withholds; else nothing."""
    folder, _, rest = fault.place.partition("/")
    return rest.partition("/")[0] if folder == "locales" and "/" in rest else ""


def fault_rows(faults: Sequence[AftercareError]) -> list[dict[str, Any]]:
    """What could not be read of a shelf, for other programs; the line is None for a whole file."""
    return [
        {
            "file": file if line.isdecimal() else fault.place,
            "line": int(line) if line.isdecimal() else None,
            "problem": fault.problem,
            "help": fault.remedy,
        }
        for fault in faults
        for file, _, line in [fault.place.rpartition(":")]
    ]


def list_blocks(desk: Desk, *, as_json: bool) -> int:
    """Every block with its state; 1 when a review date or a file is not as it must be."""
    rows = [_row(block, desk.library, desk.today) for block in desk.library.shelf]
    if as_json:
        say_json(rows, indent=1)
    else:
        print("\n".join(_lines(rows)))
    tell_faults(desk.faults)
    wrong = [row for row in rows if row["review"] in (PAST, TOO_FAR)]
    return FOUND if wrong or desk.faults else DONE


def _row(block: Block, library: Library, today: date) -> dict[str, Any]:
    return {
        "id": block.id,
        "kind": block.kind.value,
        "moments": [moment.value for moment in block.moments],
        "version": block.version,
        "state": _state(block.approval),
        "approved_by": block.approval.by,
        "review_by": block.review_by.isoformat(),
        "review": _review(block, today, library.limits.review_months),
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


def _review(block: Block, today: date, months: int) -> str:
    if block.approval.state is ApprovalState.RETIRED:
        return ""
    if block.review_by < today:
        return PAST
    approved = block.approval.on or today
    if block.review_by > latest_review(min(approved, today), months):
        return TOO_FAR
    return SOON if block.review_by - today <= DUE_SOON else ""


def _approved_languages(block: Block, library: Library) -> list[str]:
    """The languages in which every phrase of a block has an approved translation."""
    phrases = [variant.phrase.source for unit in block.units() for variant in unit.variants]
    return [
        language
        for language, catalogue in sorted(library.catalogues.items())
        if all(
            (found := catalogue.phrases.get((block.id, msgid))) and found.approved
            for msgid in phrases
        )
    ]


def _lines(rows: list[dict[str, Any]]) -> Iterator[str]:
    width = max((len(row["id"]) for row in rows), default=0)
    for row in rows:
        review = f"  review {row['review']}: {row['review_by']}" if row["review"] else ""
        languages = ", ".join(row["translations_approved"])
        spoken = f"  translations approved: {languages}" if languages else ""
        yield f"{row['id']:<{width}}  {row['kind']:<8} {row['state']}{review}{spoken}"
    drafts = sum(not row["state"].startswith("approved") for row in rows)
    yield f"{len(rows)} blocks, {drafts} of them not approved"


def show_block(desk: Desk, wanted: str, *, as_json: bool) -> int:
    """One block whole: who gets it, its words, its sources, who stands behind it.

    1 when some file of the shelf, be it another one, cannot be read.
    """
    tell_faults(desk.faults)
    block = find_block(desk.library, wanted)
    row = _row(block, desk.library, desk.today)
    if as_json:
        whole = {"sources": list(block.sources), "words": list(_words(block))}
        say_json({**row, **whole, "faults": fault_rows(desk.faults)}, indent=1)
    else:
        print("\n".join(_page(block, row)))
    return FOUND if desk.faults else DONE


def find_block(library: Library, wanted: str) -> Block:
    """The block with this id. Raises ``BadInput`` that names those like it."""
    found = next((block for block in library.shelf if block.id == wanted), None)
    if found is None:
        near = ", ".join(block.id for block in library.shelf if wanted[:5] in block.id)
        raise BadInput(wanted[:60], "no block has this id", near or "see 'aftercare content list'")
    return found


def _words(block: Block) -> Iterator[dict[str, Any]]:
    for unit in block.units():
        for variant in unit.variants:
            yield {
                "when": sorted(variant.when),
                "words": " / ".join(form.msgid for form in variant.phrase.forms),
                "line": variant.line,
            }


def _page(block: Block, row: dict[str, Any]) -> Iterator[str]:
    yield f"{block.id} {block.version} ({block.kind}), {block.place}"
    yield f"  {row['state']}{f': {block.approval.by}' if block.approval.by else ''}"
    yield f"  for {', '.join(block.given_for) or 'everyone'}"
    if block.moments:
        where = f" by {', '.join(block.channels)}" if block.channels else ""
        yield f"  in recall messages alone: {', '.join(block.moments)}{where}"
    if block.withheld_from:
        yield f"  never for {', '.join(block.withheld_from)}"
    yield f"  review by {block.review_by} {row['review']}".rstrip()
    for told in _words(block):
        when = f"[{' '.join(told['when'])}] " if told["when"] else ""
        yield f"    {told['line']:>3}  {when}{told['words']}"
    yield from (f"  source: {source}" for source in block.sources)
    yield from (f"  accepted {one.kind} “{one.words}”: {one.reason}" for one in block.accepted)


# --- decisions --------------------------------------------------------------------------

Edit = Callable[[str, str, Library], str]


def approve(home: str | None, wanted: str, by: Signature) -> int:
    """Put a named clinician behind a block's words as they stand, and keep these words."""

    def edit(path: str, text: str, library: Library) -> str:
        write = approve_frame if path == FRAME_PATH else approve_block
        return write(path, text, by, library.limits.review_months)

    folder, path, written = _decided(home, wanted, edit)
    # The block comes last: a text is never approved without the words that were approved.
    rewrite({folder / kept_path(wanted): written, folder / path: written})
    return _told(f"{wanted} is approved", by, path)


def retire(home: str | None, wanted: str, by: Signature) -> int:
    """Take a block out of use, keeping its file."""

    def edit(path: str, text: str, library: Library) -> str:
        if path == FRAME_PATH:
            raise BadInput(FRAME, "every message needs the frame", "change its words instead")
        return retire_block(path, text, by)

    folder, path, written = _decided(home, wanted, edit)
    rewrite({folder / path: written})
    return _told(f"{wanted} is retired", by, path)


def _decided(home: str | None, wanted: str, edit: Edit) -> tuple[Path, str, bytes]:
    """The clinic's folder, the file a decision is about, and what it is to hold from now on."""
    folder = find_home(home, os.environ, Path.cwd())
    if is_shipped(folder):
        raise BadInput(
            str(folder), "the shelf that ships with aftercare is not yours to approve",
            "'aftercare init DIR' makes your own; name it with --home",
        )  # fmt: skip
    files = read_home(folder)
    library = read(files, wanted=())
    path = FRAME_PATH if wanted == FRAME else find_block(library, wanted).place
    written = edit(path, files[path].decode("utf-8-sig"), library).encode()
    # Read again before anything is put in place: a decision never leaves a broken shelf.
    read({**files, path: written}, wanted=())
    return folder, path, written


def _told(done: str, by: Signature, path: str) -> int:
    tell(f"{done} by {by.name}, {by.role}, {by.on}: {path}")
    return DONE

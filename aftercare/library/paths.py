"""Which file of a clinic's folder is what, by its path alone."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping

from aftercare.errors import BadContent

# Paths from the home folder, with `/`, and what the files hold.
Files = Mapping[str, bytes]
FRAME, FRAME_PATH = "frame", "content/frame.toml"
# The words as they were last approved. Kept to compare with; nothing is chosen from them.
KEPT = "content/.approved"
# Words about blocks, not blocks.
_NOT_BLOCKS = frozenset({"README.md", "HAZARDS.md"})


def fingerprint(files: Files) -> str:
    """The edition of a shelf: a digest of names and bytes, whatever order they came in."""
    total = hashlib.sha256()
    for path in sorted(path for path in files if _counts(path)):
        # A name on disk may be bytes that are no text; they still name the file.
        name = path.encode("utf-8", "surrogateescape")
        total.update(name + b"\0" + hashlib.sha256(files[path]).digest())
    return f"sha256:{total.hexdigest()[:32]}"


def _counts(path: str) -> bool:
    """Whether a file is part of the edition; what is only kept or shown changes no message."""
    return not path.startswith((f"{KEPT}/", "shared/demo/"))


def block_paths(files: Files) -> Iterator[str]:
    """The paths of the block files, in order of name."""
    for path in sorted(files):
        steps = path.split("/")
        in_topic = steps[0] == "content" and len(steps) > 2
        if in_topic and path.endswith(".md") and steps[-1] not in _NOT_BLOCKS and _counts(path):
            yield path


def strays(files: Files) -> Iterator[BadContent]:
    """Files that were meant as blocks and would be passed over in silence."""
    blocks = frozenset(block_paths(files))
    for path in sorted(files):
        name = path.rpartition("/")[2]
        meant = path.startswith("content/") and ".md" in name.lower() and _counts(path)
        if meant and path not in blocks and name not in _NOT_BLOCKS:
            yield BadContent(
                f"{path}:1", "not where a block is looked for",
                "name it content/<topic>/<name>.md, or move it out of content/",
            )  # fmt: skip


def kept_path(wanted: str) -> str:
    """Where the approved words of a block, or of the frame, are kept."""
    return f"{KEPT}/{FRAME}.toml" if wanted == FRAME else f"{KEPT}/{wanted}.md"


def last_approved(files: Files, wanted: str) -> bytes | None:
    """The file of a block, or of ``frame``, as ``content approve`` last left it; None if never.

    A file approved by hand is not kept. The bytes are as they were found: parse them with care.
    """
    return files.get(kept_path(wanted))

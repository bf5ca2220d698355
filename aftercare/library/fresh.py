"""A shelf to start from: another's words, and nobody's approvals."""

from __future__ import annotations

import re

from aftercare.library.approval import draft_block, draft_frame
from aftercare.library.blocks import decode
from aftercare.library.header import BLOCK_BYTES, split
from aftercare.library.paths import FRAME_PATH, KEPT, Files, block_paths
from aftercare.library.settings import SETTINGS_BYTES, FrameFile, load

_OF_TRANSLATIONS = re.compile(r"locales/[^/]+/approvals\.toml")


def as_drafts(files: Files) -> dict[str, bytes]:
    """The files with every block and the frame a draft, and no approval of a translation.

    What is a draft already keeps its bytes. Raises ``BadContent`` for a file in which an
    approval cannot be found, so that none is carried over unseen.
    """
    blocks = frozenset(block_paths(files))
    return {
        path: _drafted(path, raw, blocks)
        for path, raw in files.items()
        if not path.startswith(f"{KEPT}/") and not _OF_TRANSLATIONS.fullmatch(path)
    }


def _drafted(path: str, raw: bytes, blocks: frozenset[str]) -> bytes:
    if path == FRAME_PATH and load(path, raw, FrameFile).approval.state != "draft":
        return draft_frame(path, decode(path, raw, SETTINGS_BYTES)).encode()
    if path in blocks:
        text = decode(path, raw, BLOCK_BYTES)
        if split(path, text).header.approval.state != "draft":
            return draft_block(path, text).encode()
    return raw

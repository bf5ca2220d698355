"""Approvals: whose name stands behind which words, and what undoes it.

An approval carries a digest of what was approved. Words that no longer have that digest are a
draft again. An approval written by hand without a digest counts, and cannot notice an edit.
"""

from __future__ import annotations

import hashlib
import json
import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from aftercare.errors import BadContent, BadInput
from aftercare.library.header import ApprovalHeader, BlockHeader, split
from aftercare.model import Approval, ApprovalState

# Not part of what a clinician reads and approves.
_BESIDE = frozenset({"approval", "author", "accepted"})
SHORTEST_NAME = 3


@dataclass(frozen=True, slots=True)
class Signature:
    """Who decided, in which role, and when."""

    name: str
    role: str
    on: date


def approval(header: ApprovalHeader, digest: str) -> Approval:
    """The approval as it stands for words with this digest: an edit makes them a draft again."""
    by = ", ".join(filter(None, (header.approver, header.role))) or None
    state = ApprovalState(header.state)
    if state is ApprovalState.APPROVED and header.digest not in (None, digest):
        return Approval(ApprovalState.DRAFT, undone=True)
    return Approval(state, by, header.date, sealed=header.digest is not None)


def block_digest(header: BlockHeader, body: str) -> str:
    """What an approval of a block is tied to: words, who gets them, rank, sources, review date."""
    said = header.model_dump(mode="json", exclude=set(_BESIDE))
    return _digest([json.dumps(said, sort_keys=True), body.strip()])


def frame_digest(version: str, review_by: date, texts: Mapping[str, str]) -> str:
    """What an approval of the frame is tied to."""
    return _digest([version, review_by.isoformat(), json.dumps(texts, sort_keys=True)])


def _digest(parts: Iterable[str]) -> str:
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()[:24]


def approve_block(place: str, text: str, by: Signature) -> str:
    """The block's file with the approval of these very words in its header."""
    parts = split(place, text)
    digest = block_digest(parts.header, parts.body)
    return _with(text, parts.key_lines, f"{{state: approved, {_signed(by)}, digest: {digest}}}")


def retire_block(place: str, text: str, by: Signature) -> str:
    """The block's file marked as retired: kept, and given to nobody."""
    parts = split(place, text)
    return _with(text, parts.key_lines, f"{{state: retired, {_signed(by)}}}")


def _signed(by: Signature, equals: str = ": ") -> str:
    for named in (by.name, by.role):
        if len(named.strip()) < SHORTEST_NAME or not named.isprintable():
            raise BadInput("--by, --role", "a name and a role are needed", "give both in words")
    said = {"approver": _quoted(by.name), "role": _quoted(by.role), "date": by.on.isoformat()}
    return ", ".join(f"{key}{equals}{value}" for key, value in said.items())


def _quoted(text: str) -> str:
    # A string of JSON is one of YAML and of TOML too.
    return json.dumps(text, ensure_ascii=False)


def _with(text: str, key_lines: Mapping[str, int], written: str) -> str:
    """The file with its `approval` entry, however many lines it takes, written anew on one."""
    lines = text.split("\n")
    first = key_lines["approval"] - 1
    # The value of a key written as a block begins on the line below it.
    first = next(n for n in range(first, -1, -1) if lines[n].startswith("approval:"))
    last = next(n for n in range(first + 1, len(lines)) if not lines[n].startswith((" ", "\t")))
    return "\n".join([*lines[:first], f"approval: {written}", *lines[last:]])


def approve_frame(place: str, text: str, by: Signature) -> str:
    """The frame's file with the approval of these very words.

    Raises ``BadContent`` unless its approval stands on one line.
    """
    data = tomllib.loads(text)
    digest = frame_digest(data["version"], data["review_by"], data["texts"])
    written = f'approval = {{ state = "approved", {_signed(by, " = ")}, digest = "{digest}" }}'
    changed, times = re.subn(r"(?m)^approval *=.*\{.*\} *$", lambda _: written, text)
    if times != 1:
        raise BadContent(place, "its approval is not on one line", "write approval = { ... }")
    return changed

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

from dateutil.relativedelta import relativedelta

from aftercare.errors import BadContent, BadInput
from aftercare.library.header import ApprovalHeader, BlockHeader, split
from aftercare.model import Approval, ApprovalState

# Not part of what a clinician reads and approves.
_BESIDE = frozenset({"approval", "author", "accepted"})
# Keys that came later: without them a block has the digest it was once approved with.
_LATER = ("moments", "channels", "subject")
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
    absent = {key for key in _LATER if getattr(header, key) is None}
    said = header.model_dump(mode="json", exclude={*_BESIDE, *absent})
    return _digest([json.dumps(said, sort_keys=True), body.strip()])


def frame_digest(version: str, review_by: date, texts: Mapping[str, str]) -> str:
    """What an approval of the frame is tied to."""
    return _digest([version, review_by.isoformat(), json.dumps(texts, sort_keys=True)])


def _digest(parts: Iterable[str]) -> str:
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()[:24]


def latest_review(start: date, months: int) -> date:
    """The last day a text may wait for its review when it was approved on ``start``."""
    return start + relativedelta(months=months)


def approve_block(place: str, text: str, by: Signature, months: int) -> str:
    """The block's file with the approval of these very words in its header.

    Raises ``BadInput`` when its review date is past, or more than ``months`` after this day.
    """
    plain = _plain(text)
    parts = split(place, plain)
    _check_review(f"{place}:{parts.key_lines['review_by']}", parts.header.review_by, by.on, months)
    digest = block_digest(parts.header, parts.body)
    written = f"{{state: approved, {_signed(by)}, digest: {digest}}}"
    return _ended_as(text, _with(place, plain, parts.key_lines, written))


def retire_block(place: str, text: str, by: Signature) -> str:
    """The block's file marked as retired: kept, and given to nobody."""
    plain = _plain(text)
    written = f"{{state: retired, {_signed(by)}}}"
    return _ended_as(text, _with(place, plain, split(place, plain).key_lines, written))


def draft_block(place: str, text: str) -> str:
    """The block's file as a draft in nobody's name."""
    plain = _plain(text)
    return _ended_as(text, _with(place, plain, split(place, plain).key_lines, "{state: draft}"))


def approve_frame(place: str, text: str, by: Signature, months: int) -> str:
    """The frame's file with the approval of these very words.

    Raises ``BadContent`` unless its approval stands on one line, and ``BadInput`` when its
    review date is past, or more than ``months`` after this day.
    """
    data = tomllib.loads(_plain(text))
    lines = _plain(text).split("\n")
    line = next((n for n, one in enumerate(lines, 1) if one.startswith("review_by")), 1)
    _check_review(f"{place}:{line}", data["review_by"], by.on, months)
    digest = frame_digest(data["version"], data["review_by"], data["texts"])
    return _with_frame(
        place, text, f'{{ state = "approved", {_signed(by, " = ")}, digest = "{digest}" }}'
    )


def draft_frame(place: str, text: str) -> str:
    """The frame's file as a draft in nobody's name."""
    return _with_frame(place, text, '{ state = "draft" }')


def _check_review(place: str, review_by: date, on: date, months: int) -> None:
    latest = latest_review(on, months)
    if review_by < on:
        problem = f"its review date {review_by} is past"
    elif review_by > latest:
        problem = f"its review date {review_by} is more than {months} months away"
    else:
        return
    raise BadInput(place, problem, f"set review_by to {latest} or earlier, then approve it")


def _signed(by: Signature, equals: str = ": ") -> str:
    for named in (by.name, by.role):
        if len(named.strip()) < SHORTEST_NAME or not named.isprintable():
            raise BadInput("--by, --role", "a name and a role are needed", "give both in words")
    said = {"approver": _quoted(by.name), "role": _quoted(by.role), "date": by.on.isoformat()}
    return ", ".join(f"{key}{equals}{value}" for key, value in said.items())


def _quoted(text: str) -> str:
    # A string of JSON is one of YAML and of TOML too.
    return json.dumps(text, ensure_ascii=False)


def _plain(text: str) -> str:
    """The text with the line ends it is read with: a digest of others would fit no reading."""
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _ended_as(text: str, written: str) -> str:
    return written.replace("\n", "\r\n") if "\r\n" in text else written


def _with(place: str, text: str, key_lines: Mapping[str, int], written: str) -> str:
    """The file with its `approval` entry, however many lines it takes, written anew on one."""
    lines = text.split("\n")
    at = key_lines["approval"]
    # The value of a key written as a block begins on the line below it.
    first = next((n for n in range(at - 1, -1, -1) if lines[n].startswith("approval:")), None)
    if first is None:
        raise BadContent(f"{place}:{at}", "no line begins with approval:", "write it so")
    last = next(n for n in range(first + 1, len(lines)) if not lines[n].startswith((" ", "\t")))
    return "\n".join([*lines[:first], f"approval: {written}", *lines[last:]])


def _with_frame(place: str, text: str, written: str) -> str:
    line = f"approval = {written}"
    changed, times = re.subn(r"(?m)^approval *=.*\{.*\} *$", lambda _: line, _plain(text))
    if times != 1:
        raise BadContent(place, "its approval is not on one line", "write approval = { ... }")
    return _ended_as(text, changed)

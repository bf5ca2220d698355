"""Translations approved: a name and a role beside the digest of each sentence, only ever added."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping

from aftercare.errors import BadInput
from aftercare.library.approval import SHORTEST_NAME, Signature
from aftercare.library.blocks import decode
from aftercare.library.catalogues import ApprovalFile, digest
from aftercare.library.po import Key
from aftercare.library.settings import SETTINGS_BYTES, load


def approvals_path(language: str) -> str:
    """Where the approvals of a language are kept."""
    return f"locales/{language}/approvals.toml"


def signed(place: str, raw: bytes | None, by: Signature, words: Mapping[Key, str]) -> bytes:
    """The approvals file with one more approval: of these translations, by their sources.

    What was there stays as it was. Raises ``BadInput`` for a name or a role that is none, and
    ``BadContent`` when the file cannot be read.
    """
    before = "" if raw is None else decode(place, raw, SETTINGS_BYTES)
    load(place, before.encode(), ApprovalFile)
    gap = "\n" if before and not before.endswith("\n\n") else ""
    if before and not before.endswith("\n"):
        before += "\n"
    written = (before + gap + "\n".join(_approval(by, words)) + "\n").encode()
    load(place, written, ApprovalFile)
    return written


def _approval(by: Signature, words: Mapping[Key, str]) -> Iterator[str]:
    for named in (by.name, by.role):
        if len(named.strip()) < SHORTEST_NAME or not named.isprintable():
            raise BadInput("--by, --role", "a name and a role are needed", "give both in words")
    yield "[[approval]]"
    # A string of JSON is one of TOML too.
    yield f"by = {json.dumps(by.name.strip(), ensure_ascii=False)}"
    yield f"role = {json.dumps(by.role.strip(), ensure_ascii=False)}"
    yield f"date = {by.on.isoformat()}"
    yield "strings = ["
    for (context, msgid), msgstr in words.items():
        yield f'    "{digest(context, msgid, msgstr)}", # {context}'
    yield "]"

"""The Babel extractor: content files to translators' messages, one per paragraph or item.

Babel finds it by the entry point ``aftercare_content``; ``locales/babel.cfg`` says which
files it reads. Every message has the block's id as its context, and a comment that says when
the words are used.
"""

from __future__ import annotations

import tomllib
from collections.abc import Collection, Iterator, Mapping
from pathlib import PurePath
from typing import BinaryIO

from aftercare.library.header import split
from aftercare.library.phrases import parse_body, parse_short
from aftercare.model import Unit

FRAME, CLINIC = "frame", "clinic"
# What Babel calls a message with a context.
WITH_CONTEXT = "pgettext"
Found = tuple[int, str, tuple[str, str], list[str]]


def extract(
    fileobj: BinaryIO,
    keywords: Mapping[str, object],
    comment_tags: Collection[str],
    options: Mapping[str, object],
) -> Iterator[Found]:
    """Babel's protocol: (line, function, (context, msgid), comments) for every piece of text.

    Raises ``BadContent`` for a file that could not be read as content either.
    """
    path = PurePath(getattr(fileobj, "name", "content"))
    text = fileobj.read().decode("utf-8-sig").replace("\r\n", "\n")
    if path.suffix == ".md":
        yield from _block(path.name, text)
    elif path.name == "frame.toml":
        for key, words in tomllib.loads(text)["texts"].items():
            yield _line_of(text, key), WITH_CONTEXT, (FRAME, words), [f"page furniture: {key}"]
    else:
        hours = tomllib.loads(text)["hours"]
        yield _line_of(text, "hours"), WITH_CONTEXT, (CLINIC, hours), ["opening hours"]


def _block(place: str, text: str) -> Iterator[Found]:
    parts = split(place, text)
    header, lines = parts.header, parts.key_lines
    for part in parse_body(place, parts.body, parts.body_line):
        for unit in part.units:
            yield from _unit(header.id, unit, f"{header.kind}, {part.shape}")
    for key, short in (("sms", header.sms), ("sms_detail", header.sms_detail)):
        told = parse_short(place, short, lines.get(key, 1))
        if told is not None:
            safe = " (locked screen: name no ear, illness or treatment)" if key == "sms" else ""
            yield from _unit(header.id, told, f"text message, keep it short{safe}")


def _unit(context: str, unit: Unit, said: str) -> Iterator[Found]:
    for variant in unit.variants:
        when = f"; used when {', '.join(sorted(variant.when))}" if variant.when else ""
        yield variant.line, WITH_CONTEXT, (context, variant.phrase.msgid), [said + when]


def _line_of(text: str, key: str) -> int:
    lines = text.split("\n")
    return next((n for n, line in enumerate(lines, 1) if line.startswith(f"{key} ")), 1)

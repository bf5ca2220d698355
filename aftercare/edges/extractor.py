"""The Babel extractor: content files to translators' messages, one per paragraph or item.

Babel finds it by the entry point ``aftercare_content``; ``locales/babel.cfg`` says which
files it reads. Every message has the block's id as its context, and a comment that says when
the words are used.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from pathlib import PurePath
from typing import BinaryIO

from aftercare.library.blocks import decode
from aftercare.library.header import BLOCK_BYTES, split
from aftercare.library.phrases import parse_body, parse_short
from aftercare.library.settings import SETTINGS_BYTES, parse_clinic, parse_frame
from aftercare.model import COUNTS, Phrase, Unit

FRAME, CLINIC = "frame", "clinic"
# What Babel calls a message with a context.
WITH_CONTEXT = "pgettext"
COUNTED = "npgettext"
_SAFE = " (locked screen: name no ear, illness or treatment)"
_SHORT = {
    "sms": f"text message, keep it short{_SAFE}",
    "sms_detail": "text message, keep it short",
    "subject": f"subject of an e-mail, keep it short{_SAFE}",
}
# The context, the source, and where it tells a number the source for other numbers than one.
Words = tuple[str, str] | tuple[str, str, str]
Found = tuple[int, str, Words, list[str]]


def extract(
    fileobj: BinaryIO,
    keywords: Mapping[str, object],
    comment_tags: Collection[str],
    options: Mapping[str, object],
) -> Iterator[Found]:
    """Babel's protocol: (line, function, words, comments) for every piece of text.

    The words are context and source; of a sentence that tells a number also its other form.

    Raises ``BadContent`` for a file that could not be read as content either.
    """
    place = str(getattr(fileobj, "name", "content"))
    path, raw = PurePath(place), fileobj.read()
    if path.suffix == ".md":
        yield from _block(place, decode(place, raw, BLOCK_BYTES))
    elif path.name == "frame.toml":
        text = decode(place, raw, SETTINGS_BYTES)
        for key, phrase in parse_frame(place, raw).texts.items():
            yield (
                _line_of(text, key), WITH_CONTEXT, (FRAME, phrase.msgid), [f"page furniture: {key}"]
            )  # fmt: skip
    else:
        hours = parse_clinic(place, raw).hours
        if isinstance(hours, str):
            text = decode(place, raw, SETTINGS_BYTES)
            yield _line_of(text, "hours"), WITH_CONTEXT, (CLINIC, hours), ["opening hours"]


def _block(place: str, text: str) -> Iterator[Found]:
    parts = split(place, text)
    header, lines = parts.header, parts.key_lines
    for part in parse_body(place, parts.body, parts.body_line):
        for unit in part.units:
            said = f"recall message, {part.shape}{_SAFE}" if header.moments else None
            yield from _unit(header.id, unit, said or f"{header.kind}, {part.shape}")
    for key, short in (
        ("sms", header.sms), ("sms_detail", header.sms_detail), ("subject", header.subject),
    ):  # fmt: skip
        told = parse_short(place, short, lines.get(key, 1), parts.item_lines(key))
        if told is not None:
            yield from _unit(header.id, told, _SHORT[key])


def _unit(context: str, unit: Unit, said: str) -> Iterator[Found]:
    for variant in unit.variants:
        when = f"; used when {', '.join(sorted(variant.when))}" if variant.when else ""
        phrase = variant.phrase
        if phrase.others:
            told = f"{said}{when}; with a number in {_count(phrase)}"
            words = (context, phrase.msgid, phrase.others[0].msgid)
            yield variant.line, COUNTED, words, [told]
        else:
            yield variant.line, WITH_CONTEXT, (context, phrase.msgid), [said + when]


def _count(phrase: Phrase) -> str:
    return next(f"{{{slot}}}" for slot in phrase.every_slot if slot in COUNTS)


def _line_of(text: str, key: str) -> int:
    """The line of ``key = ...``; 1 when it is written another way."""
    begins = re.compile(rf"\s*[\"']?{re.escape(key)}[\"']?\s*=")
    return next((n for n, line in enumerate(text.split("\n"), 1) if begins.match(line)), 1)

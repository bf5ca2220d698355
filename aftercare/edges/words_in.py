"""The words in a file somebody wants scored: Markdown, plain text, a block, or an e-mail."""

from __future__ import annotations

import email
import email.policy
import re
from collections.abc import Mapping
from email.message import EmailMessage, MIMEPart
from pathlib import PurePath
from types import MappingProxyType

from aftercare.edges.html_words import html_words
from aftercare.errors import BadInput
from aftercare.library.header import split
from aftercare.library.phrases import parse_body
from aftercare.model import Shape

TEXT_BYTES = 16_000_000
UNFILLED: Mapping[str, str] = MappingProxyType({})
# A header of YAML before a text: a line of ---, keys, a line of ---.
_HEADER = re.compile(
    r"---[ \t]*\n(?=[\w\"'-]+[ \t]*:)(.*?\n)(?:---|\.\.\.)[ \t]*(?:\n|\Z)", re.DOTALL
)
# Only a block says who it is for and of which kind it is.
_BLOCK_KEYS = frozenset({"id", "kind", "for"})
_KEY = re.compile(r"^([a-z_]+)[ \t]*:", re.MULTILINE)
_SLOT = re.compile(r"\{([a-z_]+)\}")
_MARKS = {Shape.PARAGRAPHS: "", Shape.BULLETS: "- "}


def words_in(name: str, raw: bytes, slots: Mapping[str, str] = UNFILLED) -> str:
    """The text of a file as Markdown, so that its headings and lists are known for what they are.

    ``name`` decides by its ending: ``.eml`` is read as an e-mail, its HTML part first. ``slots``
    fills the slots of a block. Raises ``BadInput`` for what is no text, and ``BadContent`` for
    a block with a fault.
    """
    if len(raw) > TEXT_BYTES:
        raise BadInput(name, f"over {TEXT_BYTES:,} bytes", "score it in parts")
    if PurePath(name).suffix.lower() == ".eml":
        return _whole(name, _mail(name, raw))
    text = _whole(name, _decoded(name, raw))
    header = _HEADER.match(text)
    if header is None:
        return text
    if set(_KEY.findall(header[1])) >= _BLOCK_KEYS:
        return block_words(name, text, slots)
    # The lines of a header are left empty, so that those below keep their numbers.
    return "\n" * header[0].count("\n") + text[header.end() :]


def _decoded(name: str, raw: bytes) -> str:
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        problem = f"not text: byte {error.start} is not UTF-8"
        raise BadInput(name, problem, "save it as UTF-8 text") from None
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _whole(name: str, text: str) -> str:
    """The text, unless it has what only a binary or a damaged file has."""
    if "\0" in text:
        problem = f"not text: a NUL character (U+0000) at position {text.index(chr(0))}"
        raise BadInput(name, problem, "save it as UTF-8 text")
    return text


def block_words(name: str, text: str, slots: Mapping[str, str] = UNFILLED) -> str:
    """A block's body as a patient would read it: the first wording of each unit, slots filled.
    Of a sentence that tells a number it is the form for several.

    Each unit stands on its own line of the file. A slot without a value stays as it is written
    and counts as no word.
    """
    parts = split(name, text)
    lines = [""] * (text.count("\n") + 1)
    for part in parse_body(name, parts.body, parts.body_line):
        for number, unit in enumerate(part.units, 1):
            first = unit.variants[0]
            mark = _MARKS.get(part.shape, f"{number}. ")
            lines[first.line - 1] = mark + _filled(first.phrase.forms[-1].msgid, slots)
    return "\n".join(lines) + "\n"


def _filled(words: str, slots: Mapping[str, str]) -> str:
    return _SLOT.sub(lambda slot: slots.get(slot[1], slot[0]), words)


def _mail(name: str, raw: bytes) -> str:
    """The words of an e-mail: of its HTML part, or of the plain one if that says nothing."""
    try:
        message = email.message_from_bytes(raw, _class=EmailMessage, policy=email.policy.default)
        parts = [message.get_body((kind,)) for kind in ("html", "plain")]
        told = [_part(part) for part in parts if part is not None]
    # An unknown set of letters, one that is no encoding of text, parts inside parts without end.
    except (LookupError, RecursionError, ValueError):
        raise BadInput(name, "an e-mail that cannot be read", "save it again as .eml") from None
    if not told:
        raise BadInput(name, "an e-mail without text", "save the message with its body")
    text = next((words for words in told if words.strip()), "")
    if "\ufffd" in text:
        raise BadInput(name, "some letters cannot be read", "save the e-mail as UTF-8")
    return text


def _part(part: MIMEPart) -> str:
    content = str(part.get_content()).replace("\r\n", "\n").replace("\r", "\n")
    return html_words(content) if part.get_content_subtype() == "html" else content

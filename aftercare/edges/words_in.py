"""The words in a file somebody wants scored: Markdown, plain text, a block, or an e-mail."""

from __future__ import annotations

import email
import email.policy
from email.message import EmailMessage
from html.parser import HTMLParser
from pathlib import PurePath

from aftercare.errors import BadInput
from aftercare.library.header import split
from aftercare.library.phrases import parse_body
from aftercare.model import SLOTS, Phrase, Role, Shape

TEXT_BYTES = 16_000_000
_HEADINGS = frozenset({"h1", "h2", "h3", "h4", "h5", "h6"})
_BREAKS = frozenset({"p", "div", "li", "ul", "ol", "tr", "td", "th", "table", "br"}) | _HEADINGS
_UNSEEN = frozenset({"head", "style", "script", "title"})
# What stands in for a slot whose value is read as words.
_DATE_LIKE = "24 November 2026"


def words_in(name: str, raw: bytes) -> str:
    """The text of a file as Markdown, so that its headings and lists are known for what they are.

    ``name`` decides by its ending: ``.eml`` is read as an e-mail, its HTML part first. Raises
    ``BadInput`` for what is no text.
    """
    if len(raw) > TEXT_BYTES:
        raise BadInput(name, f"over {TEXT_BYTES:,} bytes", "score it in parts")
    if PurePath(name).suffix.lower() == ".eml":
        return _mail(name, raw)
    text = _decoded(name, raw)
    if PurePath(name).suffix == ".md" and text.startswith("---\n"):
        return block_words(name, text)
    return text


def _decoded(name: str, raw: bytes) -> str:
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        problem = f"not text: byte {error.start} is not UTF-8"
        raise BadInput(name, problem, "save it as UTF-8 text") from None
    return text.replace("\r\n", "\n").replace("\r", "\n")


def block_words(name: str, text: str) -> str:
    """A block's body as a patient would read it: the first wording of each unit, slots filled.

    Names, numbers and addresses are not words, so their slots are left empty.
    """
    parts = split(name, text)
    told: list[str] = []
    for part in parse_body(name, parts.body, parts.body_line):
        mark = "" if part.shape is Shape.PARAGRAPHS else "- "
        lines = [mark + _filled(unit.variants[0].phrase) for unit in part.units]
        told.append(("\n\n" if not mark else "\n").join(lines))
    return "\n\n".join(told) + "\n"


def _filled(phrase: Phrase) -> str:
    return "".join(
        (_DATE_LIKE if SLOTS[piece.text] is Role.DATE else "") if piece.slot else piece.text
        for piece in phrase.pieces
    )


def _mail(name: str, raw: bytes) -> str:
    message = email.message_from_bytes(raw, _class=EmailMessage, policy=email.policy.default)
    part = message.get_body(("html", "plain"))
    if part is None:
        raise BadInput(name, "an e-mail without text", "save the message with its body")
    try:
        content = str(part.get_content())
    except (LookupError, UnicodeError):
        raise BadInput(name, "its letters cannot be read", "save the e-mail as UTF-8") from None
    return _from_html(content) if part.get_content_subtype() == "html" else content


def _from_html(page: str) -> str:
    reader = _Page()
    reader.feed(page)
    reader.close()
    return reader.text()


class _Page(HTMLParser):
    """Keeps paragraphs, list items and headings of a page apart; styles and scripts go."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self._done: list[str] = []
        self._open: list[str] = []
        self._mark = ""
        self._unseen = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in _UNSEEN:
            self._unseen += 1
        if tag in _BREAKS:
            self._close()
            self._mark = "# " if tag in _HEADINGS else "- " if tag == "li" else ""

    def handle_endtag(self, tag: str) -> None:
        if tag in _UNSEEN:
            self._unseen = max(0, self._unseen - 1)
        if tag in _BREAKS:
            self._close()
            self._mark = ""

    def handle_data(self, data: str) -> None:
        if not self._unseen:
            self._open.append(data)

    def _close(self) -> None:
        line = " ".join("".join(self._open).split())
        self._open.clear()
        if line:
            self._done.append(self._mark + line)

    def text(self) -> str:
        """What was read, as Markdown."""
        self._close()
        return "\n\n".join(self._done) + "\n"

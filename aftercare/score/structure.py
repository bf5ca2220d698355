"""The paragraphs and list items of a text, from markdown's own tree.

A heading is no sentence; code, rules, images and raw HTML are no words; a table cell, a list
item and a paragraph each stand alone. A line that begins with a typed bullet is an item.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from markdown_it import MarkdownIt
    from markdown_it.token import Token

# Without these no line of a text can be anything but a paragraph's.
_INLINE = "`*_[<&\\|~•·‣▪\r\0"
_LINE_STARTS = frozenset("#>-+= \t:–0123456789")
_BULLET = re.compile(r"[•·‣▪–]\s")
_BLANK_LINES = re.compile(r"\n\s*\n")


def paragraphs(text: str) -> list[str]:
    """Each paragraph, list item and table cell of a text, in order, as plain words."""
    if not is_plain(text):
        return list(_from_tree(text))
    if "\n" not in text:
        return [text]
    return _BLANK_LINES.split(text)


def is_plain(text: str) -> bool:
    """Whether markdown can find nothing in a text but paragraphs."""
    for mark in _INLINE:
        if mark in text:
            return False
    if "\n" not in text:
        return text[:1] not in _LINE_STARTS
    return _LINE_STARTS.isdisjoint([line[:1] for line in text.split("\n")])


@cache
def _parser() -> MarkdownIt:
    from markdown_it import MarkdownIt

    return MarkdownIt("commonmark").enable("table")


def _from_tree(text: str) -> Iterator[str]:
    inside = ""
    for token in _parser().parse(text):
        if token.type == "inline" and inside != "heading_open":
            yield from _lines(token)
        inside = token.type


def _lines(inline: Token) -> Iterator[str]:
    """The words of one inline token, cut before each typed bullet."""
    words: list[str] = []
    for child in inline.children or ():
        if child.type in {"softbreak", "hardbreak"}:
            words.append("\n")
        elif child.type in {"text", "text_special", "code_inline"}:
            words.append(child.content)
    item: list[str] = []
    for line in "".join(words).split("\n"):
        if item and _BULLET.match(line):
            yield " ".join(item)
            item = []
        item.append(line)
    yield " ".join(item)

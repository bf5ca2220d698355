"""The words of an HTML page as Markdown: paragraphs, list items and headings kept apart.

The standard library's HTML parser stops at some broken pages and takes minutes for others of
a few hundred kilobytes; this one reads on, in time that grows with the page.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape

_TAG = re.compile(r"<(/?)([a-zA-Z][^\s/>]*)(?:[^>\"']|\"[^\"]*\"|'[^']*')*+>")
_NAME = re.compile(r"(/?)([a-zA-Z][^\s/>]*)")
_LONGEST_TAG = 2000  # characters; in a longer one quotes do not hide a >
_END_OF = {name: re.compile(rf"</{name}\b[^>]*>?", re.IGNORECASE) for name in ("style", "script")}
_HEADINGS = frozenset({"h1", "h2", "h3", "h4", "h5", "h6"})
_LISTS = {"ul": "- ", "menu": "- ", "ol": "1. "}
# What stands inside a line; any other tag ends the line it meets.
_INLINE = frozenset(
    {
        "a", "abbr", "acronym", "b", "bdi", "bdo", "big", "cite", "code", "data", "del", "dfn",
        "em", "font", "i", "img", "input", "ins", "kbd", "label", "mark", "o:p", "q", "s", "samp",
        "small", "span", "strike", "strong", "sub", "sup", "time", "tt", "u", "var", "wbr",
    }
)  # fmt: skip
# What Markdown would take for a mark or for HTML.
_MARKS = re.compile(r"([\\`<])")


def html_words(page: str) -> str:
    """The words a reader of the page sees; styles, scripts, comments and its title are none."""
    lines = _Lines()
    for tag, text in _pieces(page):
        if tag:
            lines.tag(tag)
        else:
            lines.say(unescape(text))
    return lines.text()


def _pieces(page: str) -> Iterator[tuple[str, str]]:
    """The page in order: tags as ``name`` or ``/name``, and the text between them."""
    place = 0
    while place < len(page):
        begin = page.find("<", place)
        if begin < 0:
            begin = len(page)
        if begin > place:
            yield "", page[place:begin]
        place, tag = _after(page, begin)
        if tag:
            yield tag, ""
        elif page[begin : begin + 1] == "<" and place == begin + 1:
            yield "", "<"


def _after(page: str, begin: int) -> tuple[int, str]:
    """Where what begins with ``<`` ends, and the tag it is, if it is one."""
    if page.startswith("<!--", begin):
        return _past(page, "-->", begin + 4), ""
    if page.startswith(("<!", "<?"), begin):
        return _past(page, ">", begin), ""
    named = _NAME.match(page, begin + 1)
    if named is None:
        return begin + 1, ""
    whole = _TAG.match(page, begin, begin + _LONGEST_TAG)
    end = whole.end() if whole else _past(page, ">", begin)
    name = named[2].lower()
    if not named[1] and name in _END_OF:
        closed = _END_OF[name].search(page, end)
        return closed.end() if closed else len(page), ""
    return end, named[1] + name


def _past(page: str, mark: str, begin: int) -> int:
    """The place after a mark; the end of the page if it never comes, as browsers have it."""
    found = page.find(mark, begin)
    return found + len(mark) if found >= 0 else len(page)


class _Lines:
    """Gathers the lines of a page, each with the mark of what it is."""

    def __init__(self) -> None:
        self._done: list[str] = []
        self._open: list[str] = []
        self._lists: list[str] = []
        self._mark = ""
        self._in_title = False

    def say(self, text: str) -> None:
        if not self._in_title:
            self._open.append(text)

    def tag(self, tag: str) -> None:
        name = tag.removeprefix("/")
        if name in _INLINE:
            return
        self._in_title = tag == "title"  # one that nobody closed ends with the next line
        self._end_line()
        if tag in _HEADINGS:
            self._mark = "# "
        elif tag == "li":
            self._mark = self._lists[-1] if self._lists else "- "
        elif name in _HEADINGS or name == "li":
            self._mark = ""
        elif tag in _LISTS:
            self._lists.append(_LISTS[tag])
        elif name in _LISTS and self._lists:
            self._lists.pop()

    def _end_line(self) -> None:
        """Put away what was said; the mark of an item is for its first line."""
        line = " ".join("".join(self._open).split())
        self._open.clear()
        if line:
            self._done.append(self._mark + _MARKS.sub(r"\\\1", line))
            self._mark = ""

    def text(self) -> str:
        """What was read, as Markdown."""
        self._end_line()
        return "\n\n".join(self._done) + "\n" if self._done else ""

"""The words of a Markdown text, each with its place in the source.

Markdown's own parser reads the text, with one addition: each inline token notes where it
began. The paragraphs are the ones ``structure.paragraphs`` gives to the scores, and headings
besides.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import TYPE_CHECKING, Literal, NamedTuple

from aftercare.score.structure import is_plain

if TYPE_CHECKING:
    from markdown_it import MarkdownIt
    from markdown_it.token import Token

_LINE_END = re.compile(r"\r\n?|\n")
_BLANK_LINES = re.compile(r"\n\s*\n")
_TYPED_BULLET = re.compile(r"\n(?=[•·‣▪–][^\S\n])")


class Shape(StrEnum):
    """What a stretch of words is on the page."""

    PARAGRAPH = "paragraph"
    ITEM = "item"
    STEP = "step"
    CELL = "cell"
    HEADING = "heading"


class Run(NamedTuple):
    """``length`` characters of plain words from ``plain`` on, and their place in the source.

    Both are equally long unless one stands for the other, as ``&`` for ``&amp;``.
    """

    plain: int
    length: int
    source: int
    end: int


@dataclass(frozen=True, slots=True)
class Stretch:
    """One paragraph, list item, table cell or heading: its plain words and their places.

    ``first`` is where the words begin in what ``runs`` cover; ``items`` numbers the list the
    stretch belongs to, 0 outside lists.
    """

    words: str
    shape: Shape
    runs: tuple[Run, ...]
    first: int = 0
    items: int = 0

    def source_start(self, place: int) -> int:
        """Where in the source the character at ``place`` of the words begins."""
        run = self._run(self.first + place)
        return min(run.source + self.first + place - run.plain, run.end)

    def source_end(self, place: int) -> int:
        """Where in the source the words up to ``place`` end."""
        after = self.first + place
        run = self._run(after - 1)
        if after - run.plain == run.length:
            return run.end
        return run.source + after - run.plain

    def _run(self, place: int) -> Run:
        found = bisect_right(self.runs, place, key=_begin_of)
        return self.runs[max(0, found - 1)]


@dataclass(frozen=True, slots=True)
class Placed:
    """A text's stretches in order, and what else stands on the page.

    ``line_starts`` are the offsets of its lines.
    """

    stretches: tuple[Stretch, ...]
    line_starts: tuple[int, ...]
    images: int = 0
    tables: int = 0
    bold: int = 0

    def line_of(self, offset: int) -> int:
        """The line of an offset, counted from 1."""
        return bisect_right(self.line_starts, offset)


def placed(text: str) -> Placed:
    """The words of a text with their places; cost grows with its length."""
    starts = (0, *(end.end() for end in _LINE_END.finditer(text)))
    if is_plain(text):
        return Placed(tuple(_plain_stretches(text)), starts)
    tokens = _parser().parse(text)
    inside = [child for token in tokens for child in token.children or ()]
    return Placed(
        tuple(_stretches(text, tokens, starts)),
        starts,
        images=sum(token.type == "image" for token in inside),
        tables=sum(token.type == "table_open" for token in tokens),
        bold=sum(token.type == "strong_open" for token in inside),
    )


def _plain_stretches(text: str) -> Iterator[Stretch]:
    begin = 0
    for end, following in [*(gap.span() for gap in _BLANK_LINES.finditer(text)), (len(text), 0)]:
        yield Stretch(text[begin:end], Shape.PARAGRAPH, (Run(0, end - begin, begin, end),))
        begin = following


@cache
def _parser() -> MarkdownIt:
    from markdown_it import MarkdownIt
    from markdown_it.rules_core import StateCore
    from markdown_it.rules_inline import StateInline

    class Placing(StateInline):
        """Notes on each token where in the inline source it began."""

        reached = 0

        def pushPending(self) -> Token:  # noqa: N802 - the parser's own name
            found = self.src.rfind(self.pending, self.reached, max(self.pos, self.reached))
            token = super().pushPending()
            return self._note(token, found, len(token.content))

        def push(self, ttype: str, tag: str, nesting: Literal[-1, 0, 1]) -> Token:
            token = super().push(ttype, tag, nesting)
            return self._note(token, max(self.pos, self.reached), int(ttype == "text"))

        def _note(self, token: Token, begin: int, length: int) -> Token:
            token.meta["at"] = begin
            self.reached = begin + length
            return token

    def inline(state: StateCore) -> None:
        for token in state.tokens:
            if token.type == "inline":
                line = Placing(token.content, state.md, state.env, [])
                state.md.inline.tokenize(line)
                for rule in state.md.inline.ruler2.getRules(""):
                    rule(line)
                token.children = line.tokens

    parser = MarkdownIt("commonmark").enable("table").disable(["fragments_join", "text_join"])
    parser.core.ruler.at("inline", inline)
    return parser


def _stretches(text: str, tokens: list[Token], starts: tuple[int, ...]) -> Iterator[Stretch]:
    lists: list[tuple[Shape, int]] = []
    opened = reached = 0
    before = ""
    for token in tokens:
        if token.type in {"bullet_list_open", "ordered_list_open"}:
            opened += 1
            lists.append((Shape.STEP if token.type[0] == "o" else Shape.ITEM, opened))
        elif token.type in {"bullet_list_close", "ordered_list_close"}:
            lists.pop()
        elif token.type == "inline":
            first, beyond = token.map or (0, len(starts))
            if before in {"th_open", "td_open"}:
                shape, number = Shape.CELL, 0
                places = _cell_places(text, token.content, max(starts[first], reached))
            else:
                shape, number = lists[-1] if lists else (Shape.PARAGRAPH, 0)
                if before == "heading_open":
                    shape, number = Shape.HEADING, 0
                places = _line_places(text, token.content, starts, range(first, beyond))
            reached = places[-1].source + len(token.content) - places[-1].plain
            yield from _cut(tuple(_runs(token, places)), shape, number)
        before = token.type


class _Place(NamedTuple):
    """From ``plain`` on, an inline token's content is the source's from ``source`` on."""

    plain: int
    source: int

    def at(self, within: int) -> int:
        """Where in the source an offset of the content is."""
        return self.source + within - self.plain


def _begin_of(one: Run | _Place) -> int:
    return one.plain


def _line_places(text: str, content: str, starts: tuple[int, ...], numbers: range) -> list[_Place]:
    """Where each line of an inline token stands: it is the end of its source line."""
    places: list[_Place] = []
    lines = content.split("\n")
    offset = 0
    for number in numbers:
        begin = starts[number]
        source = text[begin : starts[number + 1] if number + 1 < len(starts) else None].rstrip()
        line = lines[len(places)]
        bare = line.strip()
        last_chance = len(numbers) - (number - numbers.start) <= len(lines) - len(places)
        if not (source.endswith(bare) or last_chance):
            continue  # a line of nothing but odd blanks, which markdown takes away
        within = source.rfind(bare) if bare else len(source)  # a heading has marks after it
        blanks = len(line) - len(line.lstrip())  # a tab may have become blanks
        places.append(_Place(offset, begin + max(0, within) - blanks))
        offset += len(line) + 1
        if len(places) == len(lines):
            break
    return places


def _cell_places(text: str, content: str, begin: int) -> list[_Place]:
    """Where a table cell stands in its row; each bar in it was written with a backslash."""
    places = []
    offset = 0
    for piece in re.split(r"(\|)", content):
        begin = max(begin, text.find(piece, begin))
        places.append(_Place(offset, begin))
        offset += len(piece)
        begin += len(piece)
    return places


def _runs(inline: Token, places: list[_Place]) -> Iterator[tuple[str, int, int]]:
    """The plain words of an inline token, run by run, with their ends in the source."""

    for words, begin, end in _inner_runs(inline):
        first = bisect_right(places, begin, key=_begin_of)
        last = bisect_right(places, end - 1, key=_begin_of)
        if len(words) == end - begin:
            for place in places[first:last]:  # a bar in a cell
                cut = place.plain
                yield words[: cut - begin], places[first - 1].at(begin), places[first - 1].at(cut)
                words, begin, first = words[cut - begin :], cut, first + 1
        yield words, places[first - 1].at(begin), places[last - 1].at(end)


def _inner_runs(inline: Token) -> Iterator[tuple[str, int, int]]:
    """The same with places inside the inline token's own content."""
    bracket = 0
    for child in inline.children or ():
        begin = child.meta["at"]
        if child.type in {"softbreak", "hardbreak"}:
            yield "\n", begin, begin + 1
        elif child.type == "text_special":
            yield child.content, begin, begin + len(child.markup)
        elif child.type == "text" and child.content:
            yield child.content, begin + bracket, begin + bracket + len(child.content)
        elif child.type == "code_inline":
            yield from _code_runs(inline.content, child, begin + len(child.markup))
        bracket = int(child.type == "link_open" and child.info == "auto")  # <an address>


def _code_runs(content: str, code: Token, begin: int) -> Iterator[tuple[str, int, int]]:
    raw = content[begin : begin + len(code.content)]
    if raw.replace("\n", " ") != code.content:
        begin += 1  # one blank inside each end is no part of the code
        raw = content[begin : begin + len(code.content)]
    for piece in re.split("(\n)", raw):
        if piece:
            yield piece.replace("\n", " "), begin, begin + len(piece)
        begin += len(piece)


def _cut(pieces: tuple[tuple[str, int, int], ...], shape: Shape, items: int) -> Iterator[Stretch]:
    """The stretches of one inline token, cut before each typed bullet."""
    runs = []
    reached = 0
    for words, source, end in pieces:
        runs.append(Run(reached, len(words), source, end))
        reached += len(words)
    if not runs:
        return
    plain = "".join(words for words, _, _ in pieces)
    begin = 0
    for cut in [*(gap.start() for gap in _TYPED_BULLET.finditer(plain)), len(plain)]:
        yield Stretch(plain[begin:cut].replace("\n", " "), shape, tuple(runs), begin, items)
        begin = cut + 1

"""Markdown to phrases: the words between the marks, the slots in the words, and nothing else."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache

from markdown_it import MarkdownIt
from markdown_it.token import Token

from aftercare.errors import BadContent
from aftercare.model import SLOTS, Part, Phrase, Piece, Shape, Unit, Variant

_FACT = r"[a-z][a-z-]*:[A-Za-z][A-Za-z0-9-]*"
_TAG = re.compile(rf"\[({_FACT}(?: {_FACT})*)\]\s+")
_SLOT = re.compile(r"\{([^{}]*)\}")
_SPACE = re.compile(r"\s+")
_SHAPES = {"bullet_list_open": Shape.BULLETS, "ordered_list_open": Shape.STEPS}
_ALLOWED = frozenset(
    {
        "paragraph_open", "paragraph_close", "inline", "list_item_open", "list_item_close",
        "bullet_list_open", "bullet_list_close", "ordered_list_open", "ordered_list_close",
    }
)  # fmt: skip


@cache
def _markdown() -> MarkdownIt:
    # HTML stays text: a block can never carry markup or a script to a page.
    return MarkdownIt("commonmark", {"html": False}).disable(
        ["autolink", "entity", "link", "image"]
    )


def parse_body(place: str, body: str, first_line: int) -> tuple[Part, ...]:
    """The paragraphs and lists of a block's body, each unit with its variants and lines.

    Raises ``BadContent`` for anything but paragraphs, flat lists and bold.
    """
    parts: list[tuple[Shape, list[Variant]]] = []
    shape, depth = Shape.PARAGRAPHS, 0
    for token in _markdown().parse(body):
        line = first_line + (token.map[0] if token.map else 0)
        if token.type not in _ALLOWED:
            raise BadContent(
                f"{place}:{line}", f"'{token.markup or token.type}' is not for blocks",
                "use paragraphs, - lists, 1. steps and **bold**",
            )  # fmt: skip
        if token.type in _SHAPES:
            depth += 1
            shape = _SHAPES[token.type]
            parts.append((shape, []))
        elif token.type.endswith("list_close"):
            depth, shape = depth - 1, Shape.PARAGRAPHS
        elif token.type == "inline":
            if shape is Shape.PARAGRAPHS and (not parts or parts[-1][0] is not shape):
                parts.append((shape, []))
            parts[-1][1].append(_variant(place, token.content, line))
        if depth > 1:
            raise BadContent(f"{place}:{line}", "a list inside a list", "make it one flat list")
    return tuple(Part(shape, tuple(group(variants))) for shape, variants in parts if variants)


def parse_short(place: str, short: str | list[str] | None, line: int) -> Unit | None:
    """A short form from the header: one text, or one per variant."""
    if short is None:
        return None
    texts = [short] if isinstance(short, str) else short
    units = list(group([_variant(place, text, line) for text in texts]))
    if len(units) != 1:
        raise BadContent(f"{place}:{line}", "a short form is one text", "tag its variants apart")
    return units[0]


def group(variants: list[Variant]) -> Iterator[Unit]:
    """Neighbouring variants that differ only in their facts make one unit."""
    current: list[Variant] = []
    for variant in variants:
        if current and not _alternative(variant, current):
            yield Unit(tuple(current))
            current = []
        current.append(variant)
    if current:
        yield Unit(tuple(current))


def _alternative(variant: Variant, current: list[Variant]) -> bool:
    """Whether the variant is one more wording of the unit being gathered."""
    repeats = any(variant.when == one.when for one in current)
    return bool(variant.when) and not repeats and _groups(variant) == _groups(current[0])


def _groups(variant: Variant) -> frozenset[str]:
    return frozenset(fact.partition(":")[0] for fact in variant.when)


def _variant(place: str, source: str, line: int) -> Variant:
    tagged = _TAG.match(source)
    when = frozenset(tagged[1].split(" ")) if tagged else frozenset()
    text = source[tagged.end() :] if tagged else source
    return Variant(when, parse_phrase(f"{place}:{line}", text), line)


def parse_phrase(place: str, text: str) -> Phrase:
    """One sentence or short paragraph: literal runs, bold runs and declared slots.

    The same parser reads the source and every translation. Raises ``BadContent``.
    """
    msgid = _SPACE.sub(" ", text).strip()
    if not msgid:
        raise BadContent(place, "an empty sentence", "write it or remove it")
    pieces: list[Piece] = []
    strong = False
    for token in _inline(msgid):
        if token.type == "strong_open" or token.type == "strong_close":
            strong = token.type == "strong_open"
        elif token.type == "text":
            pieces.extend(_pieces(place, token.content, strong=strong))
        else:
            raise BadContent(
                place, f"the mark '{token.markup or token.type}' is not for blocks",
                "use **bold** or plain words",
            )  # fmt: skip
    return Phrase(msgid, tuple(pieces))


def _inline(text: str) -> list[Token]:
    return _markdown().parseInline(text)[0].children or []


def _pieces(place: str, text: str, *, strong: bool) -> Iterator[Piece]:
    end = 0
    for found in _SLOT.finditer(text):
        name = found[1]
        if name not in SLOTS:
            raise BadContent(place, f"no slot is called {{{name}}}", "see content/README.md")
        if found.start() > end:
            yield Piece(text[end : found.start()], strong=strong)
        yield Piece(name, slot=True, strong=strong)
        end = found.end()
    if end < len(text):
        rest = text[end:]
        if "{" in rest or "}" in rest:
            raise BadContent(place, "a brace without its partner", "write slots as {name}")
        yield Piece(rest, strong=strong)

"""Markdown to phrases: the words between the marks, the slots in the words, and nothing else."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from functools import cache

from markdown_it import MarkdownIt
from markdown_it.token import Token

from aftercare.errors import BadContent
from aftercare.model import COUNTS, SLOTS, Part, Phrase, Piece, Shape, Unit, Variant

_FACT = r"[a-z][a-z-]*:[A-Za-z][A-Za-z0-9-]*"
# The categories of CLDR that English parts whole numbers into.
ONE, OTHER = "one", "other"
_TAGGED = rf"(?:{_FACT}|{ONE}|{OTHER})"
_TAG = re.compile(rf"\[({_TAGGED}(?: {_TAGGED})*)\]\s+")
# What no page can print and what could hide or reorder words: controls, surrogates, private
# use, the replacement character, line separators, and the marks that steer direction by force.
UNFIT = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ue000-\uf8ff\ufffd-\uffff"
    "\u2028-\u202e\u2066-\u2069]"
)
# Three digits in a row are a number somebody may ring, and such numbers differ by region.
_NUMBER = re.compile(r"\d{3,}")
_SLOT = re.compile(r"\{([^{}]*)\}")
_SPACE = re.compile(r"\s+")
# Without any of these outside its slots a text is no markdown, and needs no parser.
_MAY_MARK = re.compile(r"[\\`*_<>&!\[\]~]")
_PLAIN_SLOT = re.compile(r"\{[a-z]+(?:_[a-z]+)*\}")
# A wording, and the numbers it is for.
_Told = tuple[str, Variant]
_BOTH = f"write the sentence whole for each: [{ONE}] and after it [{OTHER}]"
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
        ["autolink", "entity", "link", "image", "reference"]
    )


def parse_body(place: str, body: str, first_line: int) -> tuple[Part, ...]:
    """The paragraphs and lists of a block's body, each unit with its variants and lines.

    Raises ``BadContent`` for anything but paragraphs, flat lists and bold.
    """
    parts: list[tuple[Shape, list[_Told]]] = []
    shape, depth = Shape.PARAGRAPHS, 0
    for token in _markdown().parse(body):
        line = first_line + (token.map[0] if token.map else 0)
        if token.type not in _ALLOWED:
            raise BadContent(
                f"{place}:{line}", f"'{(token.markup or token.type)[:20]}' is not for blocks",
                "use paragraphs, - lists, 1. steps and **bold**",
            )  # fmt: skip
        if token.type in _SHAPES:
            depth += 1
            if token.attrGet("start") is not None:
                raise BadContent(f"{place}:{line}", "steps that do not start at 1", "number from 1")
            shape = _SHAPES[token.type]
            parts.append((shape, []))
        elif token.type.endswith("list_close"):
            depth, shape = depth - 1, Shape.PARAGRAPHS
        elif token.type == "inline":
            if shape is Shape.PARAGRAPHS and (not parts or parts[-1][0] is not shape):
                parts.append((shape, []))
            parts[-1][1].append(_told(place, token.content, line))
        if depth > 1:
            raise BadContent(f"{place}:{line}", "a list inside a list", "make it one flat list")
    return tuple(Part(s, tuple(group(counted(place, told)))) for s, told in parts if told)


def parse_short(
    place: str, short: str | list[str] | None, line: int, item_lines: Sequence[int] = ()
) -> Unit | None:
    """A short form from the header: one text, or one per variant, each on a line of its own."""
    if short is None:
        return None
    texts = [short] if isinstance(short, str) else short
    lines = item_lines or [line] * len(texts)
    told = [_told(place, *one) for one in zip(texts, lines, strict=True)]
    units = list(group(counted(place, told)))
    if len(units) != 1:
        raise BadContent(f"{place}:{line}", "a short form is one text", "tag its variants apart")
    return units[0]


def counted(place: str, told: Iterable[_Told]) -> Iterator[Variant]:
    """The variants; what is written for one and for any other number is one phrase of two forms.

    Raises ``BadContent`` for one without the other, and for a number told in one form alone.
    """
    one: Variant | None = None
    for form, variant in told:
        at = f"{place}:{variant.line}"
        if one is not None and (form != OTHER or variant.when != one.when):
            raise BadContent(f"{place}:{one.line}", f"[{ONE}] without its [{OTHER}]", _BOTH)
        if one is not None:
            yield replace(one, phrase=_both(at, one.phrase, variant.phrase))
            one = None
        elif form == ONE:
            one = variant
        elif form == OTHER:
            raise BadContent(at, f"[{OTHER}] without its [{ONE}] before it", _BOTH)
        else:
            _refuse_count(at, variant.phrase)
            yield variant
    if one is not None:
        raise BadContent(f"{place}:{one.line}", f"[{ONE}] without its [{OTHER}]", _BOTH)


def _refuse_count(place: str, phrase: Phrase) -> None:
    slot = next((slot for slot in phrase.slots if slot in COUNTS), None)
    if slot:
        raise BadContent(place, f"{{{slot}}} is a number, and words change with it", _BOTH)


def _both(place: str, one: Phrase, other: Phrase) -> Phrase:
    """The sentence with its two forms; the one for a single thing may leave its number out."""
    numbers = [slot for slot in other.slots if slot in COUNTS]
    if len(numbers) != 1:
        raise BadContent(
            place, f"{len(numbers)} numbers to count by", "one slot such as {visit_minutes}"
        )
    rest = sorted(slot for slot in other.slots if slot not in COUNTS)
    if sorted(one.slots) not in (rest, sorted(other.slots)):
        raise BadContent(place, "the two forms have different slots", "use the same in both")
    return replace(one, others=(other,))


def group(variants: Iterable[Variant]) -> Iterator[Unit]:
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


def _told(place: str, source: str, line: int) -> _Told:
    """A wording with the numbers it is for, if it says any, and its facts."""
    tagged = _TAG.match(source)
    tags = tagged[1].split(" ") if tagged else []
    forms = [tag for tag in tags if tag in (ONE, OTHER)]
    if len(forms) > 1:
        raise BadContent(f"{place}:{line}", f"[{' '.join(forms)}] in one wording", _BOTH)
    text = source[tagged.end() :] if tagged else source
    phrase = parse_phrase(f"{place}:{line}", text)
    refuse_numbers(f"{place}:{line}", phrase)
    return "".join(forms), Variant(frozenset(tags) - {ONE, OTHER}, phrase, line)


def refuse_numbers(place: str, phrase: Phrase) -> None:
    """Numbers to ring come from slots alone, so that they are the clinic's and its region's."""
    for piece in phrase.pieces:
        found = None if piece.slot else _NUMBER.search(piece.text)
        if found:
            raise BadContent(
                place, f"'{found[0][:20]}' may be taken for a phone number",
                "write a slot such as {emergency_number}, and any other figure in words",
            )  # fmt: skip


def parse_phrase(place: str, text: str) -> Phrase:
    """One sentence or short paragraph: literal runs, bold runs and declared slots.

    The same parser reads the source and every translation. Raises ``BadContent``.
    """
    msgid = _SPACE.sub(" ", refuse_unfit(place, text)).strip()
    if not msgid:
        raise BadContent(place, "an empty sentence", "write it or remove it")
    if msgid.startswith("["):
        raise BadContent(
            place, "brackets that name no facts", "write them like [side:left] and then a space"
        )
    if _MAY_MARK.search(_PLAIN_SLOT.sub("", msgid)) is None:
        return Phrase(msgid, tuple(_pieces(place, msgid, strong=False)))
    return Phrase(msgid, tuple(_marked(place, msgid)))


def _marked(place: str, msgid: str) -> Iterator[Piece]:
    strong = False
    for token in _inline(msgid):
        if token.type == "strong_open" or token.type == "strong_close":
            strong = token.type == "strong_open"
        elif token.type == "text":
            yield from _pieces(place, token.content, strong=strong)
        else:
            raise BadContent(
                place, f"the mark '{token.markup or token.type}' is not for blocks",
                "use **bold** or plain words",
            )  # fmt: skip


def refuse_unfit(place: str, text: str) -> str:
    """The text, if it can be printed as it stands. Raises ``BadContent`` naming the character."""
    found = UNFIT.search(text)
    if found:
        raise BadContent(place, f"the character U+{ord(found[0]):04X}", "remove it")
    return text


def _inline(text: str) -> list[Token]:
    return _markdown().parseInline(text)[0].children or []


def _pieces(place: str, text: str, *, strong: bool) -> Iterator[Piece]:
    end = 0
    for found in _SLOT.finditer(text):
        name = found[1]
        if name not in SLOTS:
            raise BadContent(place, f"no slot is called {{{name[:40]}}}", "see content/README.md")
        yield from _literal(place, text[end : found.start()], strong=strong)
        yield Piece(name, slot=True, strong=strong)
        end = found.end()
    yield from _literal(place, text[end:], strong=strong)


def _literal(place: str, text: str, *, strong: bool) -> Iterator[Piece]:
    if "{" in text or "}" in text:
        raise BadContent(place, "a brace without its partner", "write slots as {name}")
    if "*" in text or "__" in text:
        # CommonMark gives up on marks that touch the wrong neighbour: they would be printed.
        raise BadContent(place, "a mark that marks nothing", "put a space outside each **")
    if text:
        yield Piece(text, strong=strong)

"""A small drawing of where a sentence appears: on which part of a page, or in a text message.

It shows the order of things, not their size: how long a part is differs from patient to patient.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from aftercare.model import Kind
from aftercare.proof.translated import Use, Where

# The parts of a page from top to bottom: those of the frame by the keys that stand there.
_TOP = (("stamp",), ("title", "subject"), ("salutation",), ("visit_line",))
_FOOT = (("caution",), ("signoff",), ("edition", "page"))
WIDTH = 64
_ROW, _STEP = 4, 6
_TEXTS = (Where.SMS, Where.SMS_DETAIL)


def place_of(use: Use) -> str:
    """Where a use stands, as the name of its drawing."""
    if use.where in _TEXTS or use.named == "sms_open":
        return "text-opening" if use.named == "sms_open" else "text"
    if use.where is Where.HOURS:
        return "contact"
    if use.where is Where.PAGE:
        return str(use.kind)
    name = use.named.removesuffix("_parent")
    return name if name.startswith("heading_") else _part(name)


def _part(name: str) -> str:
    return next((part[0] for part in (*_TOP, *_FOOT) if name in part), "title")


@dataclass(frozen=True, slots=True)
class Drawing:
    """The inside of an SVG picture, as wide as every other, with no text in it."""

    height: int
    shapes: str


def drawings() -> dict[str, Drawing]:
    """A drawing for every place there is, by the name ``place_of`` gives it."""
    parts = _parts()
    pages = {name: _page(parts, name) for name in parts}
    return {**pages, "text": _phone(opening=False), "text-opening": _phone(opening=True)}


def _parts() -> list[str]:
    middle = [name for kind in Kind for name in (f"heading_{kind}", str(kind))]
    return [*(part[0] for part in _TOP), *middle, *(part[0] for part in _FOOT)]


def _page(parts: list[str], marked: str) -> Drawing:
    return _sheet(len(parts) * _STEP + 6, "".join(_bars(parts, marked)))


def _bars(parts: list[str], marked: str) -> Iterator[str]:
    for number, name in enumerate(parts):
        heading = name.startswith("heading_")
        width = 24 if heading else 52
        yield _bar((6, 4 + number * _STEP), (width, _ROW), "here" if name == marked else "there")


def _phone(*, opening: bool) -> Drawing:
    first, rest = ("here", "there") if opening else ("there", "here")
    return _sheet(56, _bar((10, 14), (22, 4), first) + _bar((10, 22), (44, 14), rest))


def _bar(corner: tuple[int, int], size: tuple[int, int], kind: str) -> str:
    (left, top), (width, height) = corner, size
    return f'<rect class="{kind}" x="{left}" y="{top}" width="{width}" height="{height}"/>'


def _sheet(height: int, inside: str) -> Drawing:
    edge = f'x="0.5" y="0.5" width="{WIDTH - 1}" height="{height - 1}" rx="2"'
    return Drawing(height, f'<rect class="sheet" {edge}/>{inside}')

"""Right-to-left letters as programs copy them out of a pressed file.

Programs that copy text turn round whatever stands in a run drawn right to left, letter by letter:
two letters drawn as one are turned too, which the typesetter names in the order they are written.
And it names a letter and the sign above it both as letter and sign, so that they are copied twice
(krilla issue 411). Here letters drawn as one are named in the order of the run they stand in, and
letter and sign each as itself. Nothing that is drawn changes.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from io import BytesIO
from typing import TYPE_CHECKING, Any
from unicodedata import bidirectional, category

if TYPE_CHECKING:
    from pikepdf import Object, Page, Pdf

# A font's table of what its glyphs stand for, and one glyph's line of it.
_TABLE = re.compile(r"beginbfchar.*?endbfchar", re.DOTALL)
_NAMED = re.compile(r"<([0-9A-Fa-f]+)>(\s*)<([0-9A-Fa-f]+)>")
# Glyphs that are said to stand for other text than their names, and what shows them.
_SAID = re.compile(rb"/Span<</ActualText<FEFF([0-9A-F]+)>>>BDC(.*?)EMC", re.DOTALL)
# Marked, and nothing said of it: what closes it still has something to close.
_MARKED = b"/Span BMC"


@dataclass(frozen=True, slots=True)
class _Font:
    """What each glyph stands for, in the order of the run it is drawn in; which take up room."""

    names: dict[int, str]
    roomy: frozenset[int]

    def own(self, glyph: int, said: str) -> str:
        """What a glyph itself shows of letters and the signs above them."""
        return _letters(said) if glyph in self.roomy else _signs(said)


def mended(pdf: bytes) -> bytes:
    """The same pages, and the letters of right-to-left runs named so that they copy out whole.

    ``pdf`` is a file as the typesetter makes it; equal files give equal bytes.
    """
    import pikepdf

    with pikepdf.open(BytesIO(pdf)) as document:
        fonts = {one.objgen: _renamed(one) for one in document.objects if _names_glyphs(one)}
        for page in document.pages:
            _say_once(document, page, fonts)
        out = BytesIO()
        document.save(out, deterministic_id=True)
    return out.getvalue()


def _say_once(document: Pdf, page: Page, fonts: Mapping[tuple[int, int], _Font]) -> None:
    used = {str(name): fonts[font.objgen] for name, font in page.Resources.Font.items()}
    page.contents_coalesce()
    shown = page.Contents.read_bytes()
    page.Contents.write(_SAID.sub(lambda run: _said(run, used, document), shown))


# --- what glyphs stand for ----------------------------------------------------------------


def _names_glyphs(one: Object) -> bool:
    from pikepdf import Dictionary

    return isinstance(one, Dictionary) and "/ToUnicode" in one and "/DescendantFonts" in one


def _renamed(font: Any) -> _Font:
    """The font with its glyphs named anew, in the file too."""
    named = _Font({}, _roomy(font.DescendantFonts[0].W))

    def name(found: re.Match[str]) -> str:
        glyph, said = int(found[1], 16), _text(found[3])
        named.names[glyph] = own = named.own(glyph, said)[::-1] if _right_to_left(said) else said
        return f"<{found[1]}>{found[2]}<{_written(own)}>"

    table = font.ToUnicode.read_bytes().decode("latin-1")
    table = _TABLE.sub(lambda part: _NAMED.sub(name, part[0]), table)
    font.ToUnicode.write(table.encode("latin-1"))
    return named


def _roomy(widths: Iterable[Any]) -> frozenset[int]:
    """The glyphs that take up room on the line. ``widths`` is as ISO 32000-2, 9.7.4.3 has it."""
    found: set[int] = set()
    given = iter(widths)
    for first in given:
        second = next(given)
        if not isinstance(second, int):
            found.update(int(first) + at for at, width in enumerate(second) if width)
        elif next(given):
            found.update(range(int(first), second + 1))
    return frozenset(found)


def _letters(said: str) -> str:
    """What a letter stands for without the signs above it, and letters drawn as one."""
    return "".join(one for one in said if category(one) != "Mn") or said


def _signs(said: str) -> str:
    """What a sign stands for without the letter it is set above."""
    return "".join(one for one in said if category(one) == "Mn") or said


def _right_to_left(said: str) -> bool:
    return any(bidirectional(one) in ("R", "AL") for one in said)


# --- what is said of them in a run --------------------------------------------------------


def _said(run: re.Match[bytes], fonts: Mapping[str, _Font], document: Pdf) -> bytes:
    """The run, and nothing said of its glyphs if their names are letters of what was said.

    Else one glyph alone is said to be what itself it shows of that.
    """
    said = _text(run[1])
    if not _right_to_left(said):
        return run[0]
    shown = list(_shown(run[2], fonts, document))
    if set("".join(font.names[glyph] for font, glyph in shown)) <= set(said):
        return _MARKED + run[2] + b"EMC"
    if len(shown) == 1:
        font, glyph = shown[0]
        return run[0].replace(run[1], _written(font.own(glyph, said)).encode(), 1)
    return run[0]


def _shown(
    operators: bytes, fonts: Mapping[str, _Font], document: Pdf
) -> Iterator[tuple[_Font, int]]:
    """The glyphs that these operators show: two bytes each, ISO 32000-2, 9.7.5.2, Identity-H."""
    from pikepdf import String, parse_content_stream

    font: _Font | None = None
    for one in parse_content_stream(document.make_stream(operators)):
        operator, operands = str(one.operator), list(one.operands)
        if operator == "Tf":
            font = fonts[str(operands[0])]
        elif operator in ("Tj", "TJ") and font is not None:
            parts = operands if operator == "Tj" else list(operands[0])
            codes = b"".join(bytes(part) for part in parts if isinstance(part, String))
            for high, low in zip(codes[::2], codes[1::2], strict=True):
                yield font, high << 8 | low


def _text(digits: str | bytes) -> str:
    return bytes.fromhex(digits if isinstance(digits, str) else digits.decode()).decode("utf-16-be")


def _written(text: str) -> str:
    return text.encode("utf-16-be").hex().upper()

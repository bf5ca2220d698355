"""The press: a leaflet's data in, a tagged PDF/UA-1 file out, the same bytes every time."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from importlib.resources import files
from pathlib import Path
from threading import local
from typing import Any

from typst import Compiler, Fonts, TypstError

from aftercare.edges import fonts
from aftercare.errors import BadText, OutOfReach
from aftercare.render.leaflet import Printed

# How the letter may be laid out, from the best to the last resort.
_ROOMY = {"air": "1", "first": "intro"}
_CLOSE = {"air": "0.8", "first": "intro"}
_BOX_FIRST = {"air": "0.8", "first": "vital"}

# A last page filled less than this is not worth its paper if closer lines save it.
_HARDLY_FILLED = 0.25


@dataclass(frozen=True, slots=True)
class _Sheet:
    """A pressed letter, whether the box is whole on page 1, and how full the last page is."""

    printed: Printed
    boxed: bool
    filled: float

    @property
    def wasteful(self) -> bool:
        return self.printed.pages > 1 and self.filled < _HARDLY_FILLED


class TypstPress:
    """Presses leaflets with Typst. One press serves many threads; fonts load on first use."""

    def __init__(self) -> None:
        self._thread = local()

    def press(self, data: str) -> Printed:
        """The PDF of one leaflet (data from ``leaflet_data``) and its number of pages.

        Raises BadText when a character has no glyph or the urgent signs and the contact
        outgrow page 1, OutOfReach when fonts are missing or the typesetter itself fails.
        """
        fonts.check(json.loads(data))
        roomy = self._set(data, _ROOMY)
        if roomy.boxed and not roomy.wasteful:
            return roomy.printed
        close = self._set(data, _CLOSE)
        if roomy.boxed:
            return min(roomy, close, key=lambda sheet: sheet.printed.pages).printed
        if close.boxed:
            return close.printed
        box_first = self._set(data, _BOX_FIRST)
        if box_first.boxed:
            return box_first.printed
        raise BadText(
            place="urgent signs and contact",
            problem="they do not fit on the first page in this size of print",
            remedy="shorten them, or print smaller",
        )

    def _set(self, data: str, arrangement: Mapping[str, str]) -> _Sheet:
        compiler = self._compiler
        inputs = {"data": data, "families": json.dumps(fonts.families()), **arrangement}
        try:
            pdf, warnings = compiler.compile_with_warnings(
                sys_inputs=inputs,
                format="pdf",
                pdf_standards="ua-1",
                timestamp=0,  # a leaflet says its date in words; its bytes must not vary
            )
            sheet = json.loads(compiler.query("<sheet>", field="value", one=True))
        except TypstError:
            # Its message may quote the patient's text, so it goes no further.
            raise _failure("could not set the words") from None
        if warnings or not isinstance(pdf, bytes):
            raise _failure("gave a warning")
        return _judged(pdf, sheet)

    @property
    def _compiler(self) -> Compiler:
        """This thread's own compiler: a shared one refuses to work for two at once."""
        if True:
            template = Path(str(files("aftercare.render").joinpath("templates/leaflet.typ")))
            self._thread.compiler = Compiler(
                template, root=template.parent, font_paths=self._fonts, sys_inputs={}
            )
        compiler: Compiler = self._thread.compiler
        return compiler

    @cached_property
    def _fonts(self) -> Fonts:
        return Fonts(
            include_system_fonts=False,
            include_embedded_fonts=False,
            font_paths=list(fonts.folders()),
        )


def _judged(pdf: bytes, sheet: Any) -> _Sheet:
    """``sheet`` is what the template says of itself; lengths are points from the top."""
    bottom = sheet["bottom"]
    return _Sheet(
        printed=Printed(pdf, sheet["pages"]),
        boxed=all(end["page"] == 1 and end["y"] <= bottom for end in sheet["vital"]),
        filled=sheet["end"]["y"] / bottom,
    )


def _failure(did: str) -> OutOfReach:
    return OutOfReach(
        place="leaflet",
        problem=f"the typesetter {did}, so nothing was printed",
        remedy="this is a fault in the program: report it with the visit's reference",
    )

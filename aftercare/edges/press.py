"""The press: a leaflet's data in, a tagged PDF/UA-1 file out, the same bytes every time."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from importlib.resources import files
from pathlib import Path
from threading import local
from typing import Any

from typst import Compiler, Fonts, TypstError

from aftercare.edges import copying, fonts
from aftercare.errors import BadText, OutOfReach
from aftercare.render.leaflet import Heights, Printed

# How the letter may be laid out, the best first: urgent signs and contact in one box after the
# visit line; with closer lines; before the visit line. In large print one page often cannot
# hold them all, so then they have a box to each section, or to each group of signs. The first
# box is always on page 1, and no box is ever split. The last way spares paper wherever it can.
_ROOMY, _CLOSE = "1", "0.75"
_USUAL, _LEAST = "usual", "least"
# The last is the one ``proof.pages`` reckons with.
_CLOSEST = {"air": "0.7", "first": "vital", "boxes": "group", "space": _LEAST}
_ARRANGEMENTS: tuple[Mapping[str, str], ...] = (
    {"air": _ROOMY, "first": "visit", "boxes": "one", "space": _USUAL},
    {"air": _CLOSE, "first": "visit", "boxes": "one", "space": _USUAL},
    {"air": _CLOSE, "first": "vital", "boxes": "one", "space": _USUAL},
    {"air": _ROOMY, "first": "visit", "boxes": "section", "space": _USUAL},
    {"air": _CLOSE, "first": "vital", "boxes": "section", "space": _USUAL},
    {"air": _ROOMY, "first": "visit", "boxes": "group", "space": _USUAL},
    {"air": _CLOSE, "first": "vital", "boxes": "group", "space": _USUAL},
    _CLOSEST,
)

# A last page filled less than this is not worth its paper if closer lines save it.
_HARDLY_FILLED = 1 / 3


@dataclass(frozen=True, slots=True)
class _Sheet:
    """A pressed letter, whether its boxes stand as they must, and how full the last page is."""

    printed: Printed
    boxed: bool
    filled: float

    @property
    def wasteful(self) -> bool:
        return self.printed.pages > 1 and self.filled < _HARDLY_FILLED


@dataclass(frozen=True, slots=True)
class _Job:
    """A letter to set, and what it is set in."""

    data: str
    families: tuple[fonts.Family, ...]
    language: str
    direction: str
    most_pages: int | None

    def inputs(self, arrangement: Mapping[str, str]) -> dict[str, str]:
        """What the template is told."""
        told = json.dumps(fonts.named(self.families, self.language))
        return {"data": self.data, "families": told, **arrangement}


class TypstPress:
    """Presses leaflets with Typst. One press serves many threads; fonts load on first use."""

    def __init__(self) -> None:
        self._thread = local()
        self._read: dict[tuple[Path, ...], Fonts] = {}

    def press(self, data: str) -> Printed:
        """The PDF of one leaflet (data from ``leaflet_data``) and its number of pages.

        Raises BadText when a character has no glyph or a group of urgent signs outgrows its
        page, OutOfReach when fonts are missing or the typesetter itself fails.
        """
        job = _job(data)
        return _finished(self._best(job), job)

    def _best(self, job: _Job) -> Printed:
        """The first arrangement that keeps its boxes and its pages, or else the shortest."""
        fewest: Printed | None = None
        for arrangement in _ARRANGEMENTS:
            sheet = self._arranged(job, arrangement)
            if not sheet.boxed:
                continue
            if job.most_pages is None or sheet.printed.pages <= job.most_pages:
                return sheet.printed
            if fewest is None or sheet.printed.pages < fewest.pages:
                fewest = sheet.printed
        if fewest is not None:
            return fewest
        raise BadText(
            place="urgent signs and contact",
            problem="they do not fit on their pages in this size of print",
            remedy="shorten them, or print smaller",
        )

    def heights(self, data: str) -> Heights:
        """What the pieces of leaflets take up as the last arrangement has them.

        ``data`` is from ``ruler_data``. Raises what ``press`` does for a missing glyph or fonts.
        """
        job = _job(data)
        compiler = self._made(fonts.folders(job.families), job.inputs(_CLOSEST))
        try:
            found = json.loads(compiler.query("<ruler>", field="value", one=True))
        except TypstError:
            raise _failure("could not measure the words") from None
        return Heights(**{**found, "head": max(found["head"]), "ending": max(found["ending"])})

    def _arranged(self, job: _Job, arrangement: Mapping[str, str]) -> _Sheet:
        """The letter laid out so, with closer lines where those save a page hardly filled."""
        sheet = self._set(job, arrangement)
        if not (sheet.boxed and sheet.wasteful and arrangement["air"] == _ROOMY):
            return sheet
        close = self._set(job, {**arrangement, "air": _CLOSE})
        return min(sheet, close, key=lambda one: one.printed.pages)

    def _set(self, job: _Job, arrangement: Mapping[str, str]) -> _Sheet:
        compiler = self._compiler(fonts.folders(job.families))
        try:
            pdf, warnings = compiler.compile_with_warnings(
                sys_inputs=job.inputs(arrangement),
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

    def _compiler(self, folders: tuple[Path, ...]) -> Compiler:
        """This thread's own compiler for these fonts: a shared one refuses to work for two."""
        if not hasattr(self._thread, "compilers"):
            self._thread.compilers = {}
        compilers: dict[tuple[Path, ...], Compiler] = self._thread.compilers
        if folders not in compilers:
            compilers[folders] = self._made(folders, {})
        return compilers[folders]

    def _made(self, folders: tuple[Path, ...], inputs: dict[str, str]) -> Compiler:
        template = Path(str(files("aftercare.render").joinpath("templates/leaflet.typ")))
        return Compiler(
            template, root=template.parent, font_paths=self._fonts(folders), sys_inputs=inputs
        )

    def _fonts(self, folders: tuple[Path, ...]) -> Fonts:
        """The fonts in these folders, read once: the Chinese one costs other pages nothing."""
        if folders not in self._read:
            self._read[folders] = Fonts(
                include_system_fonts=False,
                include_embedded_fonts=False,
                font_paths=list(folders),
            )
        return self._read[folders]


def _job(data: str) -> _Job:
    document = json.loads(data)
    fonts.check(document)
    return _Job(
        data=data,
        families=fonts.families(document),
        language=document["language"]["code"],
        direction=document["direction"],
        most_pages=document["most_pages"],
    )


def _finished(printed: Printed, job: _Job) -> Printed:
    """The letter with what the typesetter gets wrong put right."""
    mend = copying.mended if job.direction == "rtl" else _directed
    return replace(printed, pdf=mend(printed.pdf))


def _directed(pdf: bytes) -> bytes:
    """The file with its own reading direction: the typesetter takes Panjabi for right to left.

    Both names are of one length, so that no place in the file moves. Source: typst issue 8192.
    """
    catalogue = pdf.rfind(b"/Type/Catalog")
    return pdf[:catalogue] + pdf[catalogue:].replace(b"/Direction/R2L", b"/Direction/L2R", 1)


def _judged(pdf: bytes, sheet: Any) -> _Sheet:
    """``sheet`` is what the template says of itself: places as (page, part of its height)."""
    boxes = sheet["boxes"]
    return _Sheet(
        printed=Printed(pdf, sheet["pages"]),
        boxed=not boxes or (boxes[0][0] == 1 and all(height <= 1 for _, height in boxes)),
        filled=sheet["end"][1],
    )


def _failure(did: str) -> OutOfReach:
    return OutOfReach(
        place="leaflet",
        problem=f"the typesetter {did}, so nothing was printed",
        remedy="this is a fault in the program: report it with the visit's reference",
    )

"""PRINT: finished words -> the data of one leaflet, as JSON that holds text and never markup.

The page itself is drawn by ``templates/leaflet.typ``. Every line carries its *place* (the
block or the piece of furniture it came from), so that the press can say where a character
stands that no font holds, without repeating what a patient is called.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from unicodedata import category, normalize

from aftercare.errors import BadContent
from aftercare.model import (
    VITAL_KINDS,
    Chosen,
    Help,
    Line,
    Purpose,
    Role,
    Section,
    Shape,
    Span,
    Worded,
)
from aftercare.render.isolate import OPENERS, PDI, STEERING
from aftercare.render.unparted import unparted


class Paper(StrEnum):
    """The sheets a leaflet is laid out for."""

    A4 = "a4"
    A5 = "a5"
    LETTER = "us-letter"


@dataclass(frozen=True, slots=True)
class Printed:
    """A pressed leaflet: the bytes of the PDF, and how many pages it has."""

    pdf: bytes
    pages: int


@dataclass(frozen=True, slots=True)
class Row:
    """A line to be measured where it can stand on the page: its shape, and whether in a box.

    ``shape`` is one of ``Shape``, or None for a heading; ``steps`` is how many its list has.
    """

    line: Line
    shape: Shape | None
    boxed: bool
    steps: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Heights:
    """What the pieces of a leaflet take up with its lines closest together, all in points.

    ``page`` is the room on one page; ``head`` is everything above the first box and ``ending``
    everything after the last section, whoever reads; ``padding`` is what a box adds to what is
    in it. ``gaps`` is the space from one piece down to the next, by their names: a shape,
    ``heading``, ``box`` or ``ending``; ``step`` is that between two steps of one list. Of each
    row asked for, ``rows`` holds its height, and the height of the highest of its lines.
    """

    page: float
    head: float
    ending: float
    padding: float
    step: float
    gaps: Mapping[str, Mapping[str, float]]
    rows: tuple[tuple[float, float], ...]


# A word longer than this may be wider than the line in the largest print, so it is shown
# where it may be broken: after the marks an address is made of, or after CHUNK letters.
# Chinese, Japanese and Korean lines break between letters anyhow, so those are no long words.
_LONGEST_WORD = 20
_IN_A_WORD = r"[^\s\u2e80-\u9fff\uac00-\ud7af\uf900-\ufaff\ufe30-\ufe4f\uff00-\uffef]"
# Any word is kept together at its hyphen too: nobody reads "e-" well at the end of a line, and
# Polish print repeats a hyphen that ends one.
_KEPT = re.compile(rf"({_IN_A_WORD}{{{_LONGEST_WORD + 1},}}|{_IN_A_WORD}+-{_IN_A_WORD}+)")
_CHUNK = 10
_BREAK_AFTER = frozenset("@./_-")

# The furniture every leaflet has.
_FRAMED = ("title", "salutation", "visit_line", "caution", "signoff", "page")

_Json = dict[str, object]


def leaflet_data(
    worded: Worded,
    *,
    clinic: str,
    purpose: Purpose,
    point: float,
    paper: Paper = Paper.A4,
    edition: str = "",
    chosen: Iterable[Chosen] = (),
    most_pages: int | None = None,
) -> str:
    """The data of one leaflet as JSON, the same for the same words.

    ``clinic`` is the name at the head of the page, ``point`` the size of the body text in
    points (headings are larger, nothing is smaller); ``edition`` names the edition of the
    content in the last line. The ids and versions of the ``chosen`` blocks are kept as the
    file's keywords: some twenty of them would take patients a third page to no use. Of the ways
    to lay it out, the press takes the first that needs no more than ``most_pages``.
    Raises BadContent when the frame lacks a text.
    """
    vital = [section for section in worded.sections if section.kind in VITAL_KINDS]
    others = [section for section in worded.sections if section.kind not in VITAL_KINDS]
    document = {
        "paper": paper.value,
        "most_pages": most_pages,
        "point": point,
        "direction": worded.direction,
        "language": _language(worded.language),
        "document_title": normalize("NFC", _furniture(worded, "title").text),
        "clinic": _line(_clinic(clinic), "clinic", worded.language),
        "help": _help(worded.help) if worded.help else None,
        **{key: _framed(worded, key) for key in _FRAMED},
        "vital": [_section(section, worded.language) for section in vital],
        "sections": [_section(section, worded.language) for section in others],
        "edition": _line(_edition(worded, edition), "frame edition", worded.language),
        "blocks": list(dict.fromkeys(f"{one.block.id} {one.block.version}" for one in chosen)),
        "stamp": _framed(worded, "stamp") if purpose is Purpose.SAMPLE else None,
    }
    return json.dumps(document, ensure_ascii=False)


def ruler_data(
    frames: Sequence[Worded],
    rows: Iterable[Row],
    *,
    clinic: str,
    point: float,
    edition: str,
    paper: Paper = Paper.A4,
) -> str:
    """What the press is to measure, as JSON: ``rows``, and the furniture of each of ``frames``.

    The stamp of a sample is counted in. Raises BadContent when a frame lacks a text.
    """
    documents = [
        json.loads(
            leaflet_data(
                one, clinic=clinic, purpose=Purpose.SAMPLE, point=point, paper=paper,
                edition=edition,
            )
        )
        for one in frames
    ]  # fmt: skip
    listed = [
        {
            "line": _line(row.line, row.line.block_id, frames[0].language),
            "shape": row.shape.value if row.shape else "heading",
            "boxed": row.boxed,
            "steps": row.steps,
        }
        for row in rows
    ]
    return json.dumps({**documents[0], "frames": documents, "rows": listed}, ensure_ascii=False)


def _language(tag: str) -> _Json:
    """The parts of a language tag (RFC 5646) a typesetter tells apart, in its letter case."""
    first, *rest = tag.replace("_", "-").split("-")
    script = next((part.title() for part in rest if len(part) == 4 and part.isalpha()), None)
    region = next((part.upper() for part in rest if len(part) == 2 and part.isalpha()), None)
    return {"code": first.lower(), "script": script, "region": region}


def _furniture(worded: Worded, key: str) -> Line:
    try:
        return worded.frame[key]
    except KeyError:
        raise BadContent(
            place="frame", problem=f"lacks the text '{key}'", remedy="a leaflet needs it"
        ) from None


def _framed(worded: Worded, key: str) -> _Json:
    return _line(_furniture(worded, key), f"frame {key}", worded.language)


def _help(given: Help) -> _Json:
    """The line in the reader's language, which the page says of itself."""
    language = str(given.line.language)
    return {
        "language": _language(language),
        "direction": given.direction,
        "line": _line(given.line, "frame help_in_language", language),
    }


def _clinic(name: str) -> Line:
    return Line((Span(name, Role.NAME),), "clinic", approved=True)


def _edition(worded: Worded, edition: str) -> Line:
    """The word for edition, then the edition itself, left to right everywhere."""
    word = _furniture(worded, "edition")
    named = (Span(" "), Span(edition, Role.LINK)) if edition else ()
    return Line((*word.spans, *named), word.block_id, word.approved)


def address_data(address: Iterable[str], language: str) -> list[_Json]:
    """The lines of an address as the template reads them: each keeps its own direction."""
    lines = (Line((Span(one, Role.NAME),), "address", approved=True) for one in address)
    return [_line(line, "patient.address", language) for line in lines]


def _section(section: Section, language: str) -> _Json:
    return {
        "kind": section.kind.value,
        "heading": _line(section.heading, f"heading {section.kind.value}", language),
        "passages": [
            {
                "shape": passage.shape.value,
                "lines": [_line(line, line.block_id, language) for line in passage.lines],
            }
            for passage in section.passages
        ],
    }


def _line(line: Line, place: str, language: str) -> _Json:
    """A line; a name among words is a place of its own, so that it is not sought in the words."""
    named = {"place": f"{place}, a name"} if len(line.spans) > 1 else {}
    runs = [
        {**(named if span.role is Role.NAME else {}), **_run(span)}
        for span in unparted(line.spans, language)
    ]
    return {"place": place, "runs": runs}


def _run(span: Span) -> _Json:
    """One span: parts that are text, or lists of text where a long word may be broken."""
    text = normalize("NFC", span.text)
    if span.role is Role.PHONE:
        text = text.replace(" ", "\u00a0")  # a number split over two lines is misread
    opener = OPENERS.get(span.role)
    if opener is None:
        return {"weight": _weight(span), "parts": list(_parts(text))}
    steady = STEERING.sub("", text)
    parts = [_isolated(part, opener) for part in _parts(steady)]
    return {"weight": _weight(span), "parts": [opener, *parts, PDI]}


def _weight(span: Span) -> str:
    """Numbers to ring are what is sought in a hurry, so they stand out wherever they are."""
    if span.role is Role.PHONE:
        return "number"
    return "strong" if span.strong else "plain"


def _parts(text: str) -> Iterator[str | list[str]]:
    """The text, with the words that are to be kept together as lists of their pieces."""
    for index, piece in enumerate(_KEPT.split(text)):
        if index % 2:
            yield list(_chunks(piece)) if len(piece) > _LONGEST_WORD else [piece]
        elif piece:
            yield piece


def _isolated(part: str | list[str], opener: str) -> str | list[str]:
    """A broken word is set apart from its line, so it needs an isolate of its own."""
    return part if isinstance(part, str) else [opener, *part, PDI]


def _chunks(word: str) -> Iterator[str]:
    """The pieces a long word may be broken into; a letter keeps its marks and joiners."""
    chunk = ""
    for char in word:
        full = chunk and (chunk[-1] in _BREAK_AFTER or len(chunk) >= _CHUNK)
        if full and not _clings(char) and not _clings(chunk[-1]):
            yield chunk
            chunk = ""
        chunk += char
    yield chunk


def _clings(char: str) -> bool:
    return category(char).startswith("M") or category(char) == "Cf"

"""What every line a language can print takes up on paper, as the press measures it.

What differs from visit to visit is taken at its widest: of dates and lengths all that can stand
there are measured. Words are set one after another as long as the line holds them, so wider
words never take fewer lines. A name is of ``NAME`` letters; with longer ones a leaflet may take
a line more than is proved, and release still tells the clinician of pages over the limit.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Protocol

from aftercare.model import VITAL_KINDS, Help, Kind, Line, Shape, Span, Worded
from aftercare.proof.spoken import Speech, Spoken
from aftercare.proof.stand_ins import in_place_of, numbers
from aftercare.proof.wordings import FRAME, speaker
from aftercare.render.leaflet import Heights, Row, ruler_data

# Nobody's: two given names and a double surname, and a title for whoever signs.
NAME = "Bartholomew Maximilian Featherstonehaugh-Wolframsdorff"
_HELP = "help_in_language"
_FURNITURE = (
    "title", "salutation", "visit_line", "caution", "signoff", "page", "stamp", "edition",
)  # fmt: skip
_NAMED = ("{patient_name}", "{clinician}")
# As many letters as a page shows of an edition; which ones makes no difference to its height.
_EDITION = "0" * 12


class Ruler(Protocol):
    """Measures what a leaflet is made of."""

    def heights(self, data: str) -> Heights:
        """The heights of rows and furniture. Raises ``BadText`` for a missing glyph."""
        ...


@dataclass(frozen=True, slots=True)
class Tall:
    """In points: the height of a line as it is broken, and of the highest of its lines."""

    whole: float
    line: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """One language in one size of print: its pieces, its lines, its headings by kind."""

    pieces: Heights
    lines: Mapping[Spoken, Tall]
    headings: Mapping[Kind, Tall]
    visit: Tall


def measured(speech: Speech, ruler: Ruler, point: float) -> Measured | None:
    """Every line measured at this size of print; None where the furniture lacks words."""
    frames = [_named(frame) for frame in speech.frames.values()]
    needed = (*_FURNITURE, *(f"heading_{kind}" for kind in Kind))
    if any(key not in frame for frame in frames for key in needed):
        return None
    texts = in_place_of(speech.library, speech.language)
    rows: list[tuple[object, Row]] = [
        *((one, row) for one in speech.lines if one.telling for row in _rows(one, texts)),
        *((kind, row) for kind in Kind for row in _headings(kind, frames)),
        *(("visit", row) for frame in frames for row in _visits(frame, texts)),
    ]
    # The same words are told of one ear and of the other.
    once = list(dict.fromkeys(row for _, row in rows))
    data = ruler_data(
        [_worded(frame, speech, given) for frame in frames for given in _helps(speech)],
        once,
        clinic=speech.library.clinic.name,
        point=point,
        edition=_EDITION,
    )
    pieces = ruler.heights(data)
    found = dict(zip(once, pieces.rows, strict=True))
    highest: dict[object, Tall] = {}
    for key, row in rows:
        whole, line = found[row]
        known = highest.get(key, Tall(0.0, 0.0))
        highest[key] = Tall(max(known.whole, whole), max(known.line, line))
    return Measured(
        pieces=pieces,
        lines={one: highest[one] for one in speech.lines if one.telling},
        headings={kind: highest[kind] for kind in Kind},
        visit=highest["visit"],
    )


def shape_of(one: Spoken) -> Shape:
    """How a line of a block is set."""
    return one.telling.block.parts[one.part].shape if one.telling else Shape.PARAGRAPHS


# For a value that stands in a slot, all that could stand there.
_Texts = Mapping[str, Sequence[str]]


def _rows(one: Spoken, texts: _Texts) -> Iterator[Row]:
    boxed = one.told.kind in VITAL_KINDS
    steps = len(one.telling.block.parts[one.part].units) if one.telling else 1
    for line in _filled(one.told.line, texts):
        yield Row(line, shape_of(one), boxed, steps)


def _headings(kind: Kind, frames: Iterable[Mapping[str, Line]]) -> Iterator[Row]:
    for frame in frames:
        yield Row(frame[f"heading_{kind}"], None, kind in VITAL_KINDS)


def _visits(frame: Mapping[str, Line], texts: _Texts) -> Iterator[Row]:
    for line in _filled(frame["visit_line"], texts):
        yield Row(line, Shape.PARAGRAPHS, boxed=False)


def _filled(line: Line, texts: _Texts) -> Iterator[Line]:
    """The line with everything that can stand in its dates and lengths."""
    met = [text for text in dict.fromkeys(span.text for span in line.spans) if text in texts]
    for chosen in product(*(texts[text] for text in met)):
        instead = dict(zip(met, chosen, strict=True))
        spans = (replace(span, text=instead.get(span.text, span.text)) for span in line.spans)
        yield replace(line, spans=tuple(map(_with_name, spans)))


def _with_name(span: Span) -> Span:
    return replace(span, text=NAME) if span.text in _NAMED else span


def _named(frame: Mapping[str, Line]) -> dict[str, Line]:
    return {
        key: replace(line, spans=tuple(map(_with_name, line.spans))) for key, line in frame.items()
    }


def _worded(frame: Mapping[str, Line], speech: Speech, given: Help | None) -> Worded:
    return Worded(
        language=speech.language, direction=speech.direction, frame=frame, sections=(), short=(),
        help=given,
    )  # fmt: skip


def _helps(speech: Speech) -> Iterator[Help | None]:
    """No line in another language, and each that whoever reads one can be given in the source."""
    library = speech.library
    yield None
    for language in library.catalogues if speech.language == library.source_language else ():
        say = speaker(library, language, numbers(library))
        for key, phrase in library.frame.texts.items():
            line = say(FRAME, phrase) if key.startswith(_HELP) else None
            if line is not None:
                direction = library.catalogues[language].direction
                yield Help(replace(line, language=language), direction)


def gap(pieces: Heights, before: Iterable[str], piece: str) -> float:
    """The most space above a piece that follows one of these."""
    return max((pieces.gaps[one][piece] for one in before), default=0.0)

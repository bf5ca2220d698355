"""Shaping by HarfBuzz itself (uharfbuzz): what the shipped fonts make of every sentence.

Each sentence is split into the runs of letters one font draws, as ``edges/fonts.py`` chooses
them. HarfBuzz draws glyph 0 for a letter the font lacks, and a dotted circle (U+25CC) for a
vowel sign that stands on no consonant, which is how a misspelt syllable looks.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from itertools import groupby
from pathlib import Path
from unicodedata import category, normalize

import pytest
import uharfbuzz
from babel.messages.pofile import read_po

from aftercare.edges import fonts

ROOT = Path(__file__).parents[2]
SHAPED = ("ar", "ur", "bn", "pa")
MISSING, CIRCLE = 0, "\u25cc"
_SLOT = re.compile(r"\{[a-z_]+\}|\*\*")


@cache
def face(family: fonts.Family, at: int) -> uharfbuzz.Font:
    blob = uharfbuzz.Blob.from_file_path(fonts._faces(family)[at])
    return uharfbuzz.Font(uharfbuzz.Face(blob, family.member))


def sentences(language: str) -> Iterator[str]:
    path = ROOT / "locales" / language / "LC_MESSAGES" / "aftercare.po"
    with path.open("rb") as stream:
        every = list(read_po(stream))
    for one in every:
        forms = [one.string] if isinstance(one.string, str) else (one.string or ())
        if one.id:
            yield from (normalize("NFC", _SLOT.sub(" ", form or "")) for form in forms)


def runs(text: str) -> Iterator[tuple[fonts.Family, str]]:
    """The text as the typesetter parts it: marks and joiners stay with the letter before them."""
    chosen = fonts.families(text)
    drawn: list[fonts.Family] = []
    for char in text:
        goes_along = category(char)[0] in "MCZ" and drawn
        by = (family for family in chosen if char in fonts._characters(family))
        drawn.append(drawn[-1] if goes_along else next(by))
    for family, pieces in groupby(zip(drawn, text, strict=True), key=lambda one: one[0]):
        yield family, "".join(char for _, char in pieces)


def shaped(font: uharfbuzz.Font, text: str) -> uharfbuzz.Buffer:
    buffer = uharfbuzz.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    uharfbuzz.shape(font, buffer)
    return buffer


def faults(language: str, family: fonts.Family, at: int, text: str) -> Iterator[str]:
    """What is wrong with a run in one face: letters not drawn, signs on no letter, no room."""
    font, buffer = face(family, at), shaped(face(family, at), text)
    circle = font.get_nominal_glyph(ord(CIRCLE))
    clusters = sorted({info.cluster for info in buffer.glyph_infos})
    ends = [*clusters[1:], len(text)]
    wide = dict.fromkeys(clusters, 0)
    for info, position in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
        wide[info.cluster] += position.x_advance
        if info.codepoint == MISSING:
            yield f"{language}: {family.name} draws no {text[info.cluster]!a}"
        if info.codepoint == circle:
            yield f"{language}: a sign on no letter at {text[info.cluster :][:3]!a}"
    if clusters[:1] != [0]:
        yield f"{language}: nothing drawn for the start of {text[:8]!a}"
    for start, end in zip(clusters, ends, strict=True):
        if any(category(char)[0] == "L" for char in text[start:end]) and not wide[start]:
            yield f"{language}: {text[start:end]!a} takes no room"


@pytest.mark.parametrize("at", [0, -1], ids=["regular", "bold"])
@pytest.mark.parametrize("language", SHAPED)
def test_every_letter_of_every_sentence_is_drawn_and_no_sign_stands_alone(
    language: str, at: int
) -> None:
    every = list(sentences(language))

    found = {
        fault
        for sentence in every
        for family, text in runs(sentence)
        for fault in faults(language, family, at, text)
    }

    assert len(every) > 300
    assert found == set()


def test_a_sign_before_its_letter_and_a_letter_of_another_script_are_seen() -> None:
    gurmukhi = next(one for one in fonts.CHAIN if one.name == "Noto Sans Gurmukhi")

    assert list(faults("pa", gurmukhi, 0, "ਕਿ")) == []
    assert list(faults("pa", gurmukhi, 0, "ਿਕ")) == ["pa: a sign on no letter at '\\u0a3f\\u0a15'"]
    assert list(faults("pa", gurmukhi, 0, "খ")) == ["pa: Noto Sans Gurmukhi draws no '\\u0996'"]

"""Fonts: every character is looked for before anything is set, and none is found by luck."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from typst import Fonts

from aftercare.edges import fonts
from aftercare.errors import BadText, OutOfReach

LETTERS: dict[str, Any] = json.loads(
    Path(__file__).with_name("letters.json").read_text(encoding="utf-8")
)


def line(text: str, place: str = "open-cavity") -> dict[str, Any]:
    return {"place": place, "runs": [{"weight": "plain", "parts": [text]}]}


def test_the_typesetter_finds_every_family_by_the_name_we_use() -> None:
    found = Fonts(
        include_system_fonts=False,
        include_embedded_fonts=False,
        font_paths=list(fonts.folders()),
    )

    assert set(fonts.families()) <= set(found.families())


def test_families_whose_text_comes_out_doubled_are_not_used() -> None:
    doubling = {"Arabic", "Bengali", "Khmer", "Lao", "Oriya", "Telugu", "Thai"}

    assert not {f"Noto Sans {script}" for script in doubling} & set(fonts.families())


@pytest.mark.parametrize("language", sorted(LETTERS))
def test_every_character_of_the_letters_has_a_glyph(language: str) -> None:
    fonts.check(LETTERS[language])


@pytest.mark.parametrize(
    ("char", "named"),
    [
        ("林", "U+6797 (CJK UNIFIED IDEOGRAPH-6797)"),
        ("😀", "U+1F600 (GRINNING FACE)"),
        ("ক", "U+0995 (BENGALI LETTER KA)"),
        ("\x00", "U+0000"),
        ("\x07", "U+0007"),
        ("\n", "U+000A"),
        ("\u2028", "U+2028 (LINE SEPARATOR)"),
        ("\ufeff", "U+FEFF (ZERO WIDTH NO-BREAK SPACE)"),
        ("\ue000", "U+E000"),
        ("\ud800", "U+D800"),
        ("\uffff", "U+FFFF"),
    ],
)
def test_a_character_no_font_draws_is_named_with_its_place_and_nothing_else(
    char: str, named: str
) -> None:
    with pytest.raises(BadText) as refused:
        fonts.check(
            {"sections": [line("all is well"), line(f"Margaret{char}", "frame salutation")]}
        )

    assert refused.value.place == "frame salutation"
    assert named in refused.value.problem
    assert "Margaret" not in str(refused.value)


def test_pieces_of_a_broken_word_are_looked_at_too() -> None:
    broken = {"place": "x", "runs": [{"parts": ["a", ["b", "林"]]}]}

    with pytest.raises(BadText, match="U\\+6797"):
        fonts.check(broken)


@pytest.mark.parametrize("char", ["\u2066", "\u2068", "\u2069", "\u200c", "\u200d", "\u200f"])
def test_marks_that_are_never_drawn_are_let_through(char: str) -> None:
    fonts.check(line(f"a{char}b"))


def test_a_letter_is_not_built_from_parts_by_a_font_that_lacks_it() -> None:
    """The Arabic family has w and U+0302 but no ŵ: asked first, it would set w and a stray ^."""
    noto, arabic = fonts.CHAIN[:2]

    assert any(fonts._drawn_by("ŵ", (noto, arabic)))
    assert not any(fonts._drawn_by("ŵ", (arabic, noto)))
    assert any(fonts._drawn_by("ک", (noto, arabic)))


def test_a_sign_that_only_a_loose_stroke_could_make_is_refused() -> None:
    """Noto Sans has = and U+0338 but no ≠, and the reverse of a meaning must not be luck."""
    with pytest.raises(BadText, match="U\\+2260"):
        fonts.check(line("a ≠ b"))


def test_text_that_is_not_composed_is_looked_up_composed() -> None:
    with pytest.raises(BadText, match=r"U\+2260"):
        fonts.check(line("a =\u0338 b"))


def test_a_package_that_is_not_installed_is_named() -> None:
    lost = fonts.Family("Lost Sans", "no_such_font_package", "", ("Lost.ttf",))

    with pytest.raises(OutOfReach, match=r"Lost Sans.*no_such_font_package"):
        fonts._faces(lost)


def test_a_font_file_that_is_not_there_is_named() -> None:
    lost = fonts.Family("Lost Sans", "manimgx_fonts", "", ("Lost.ttf",))

    with pytest.raises(OutOfReach, match=r"Lost\.ttf"):
        fonts._faces(lost)


def test_a_character_must_be_in_every_face_that_is_set() -> None:
    faces = ("NotoSans[wght].ttf", "NotoSansTamil[wght].ttf")
    mixed = fonts.Family("Mixed", "manimgx_fonts", "", faces)

    assert "1" in fonts._characters(mixed)
    assert not {"ą", "க"} & fonts._characters(mixed)

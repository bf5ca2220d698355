"""Ear side: swapped, lost or added is seen, in every language."""

from __future__ import annotations

from collections.abc import Callable

import pytest

Kinds = Callable[..., set[str]]
LEFT = {
    "ar": "الأذن اليسرى جافة.", "bn": "বাম কান শুকনো।", "cy": "Mae'r glust chwith yn sych.",
    "de": "Das linke Ohr ist trocken.", "es": "El oído izquierdo está seco.",
    "fr": "L'oreille gauche est sèche.", "pa": "ਖੱਬਾ ਕੰਨ ਸੁੱਕਾ ਹੈ।", "pl": "Lewe ucho jest suche.",
    "pt": "O ouvido esquerdo está seco.", "ro": "Urechea stângă este uscată.",
    "ur": "بایاں کان خشک ہے۔", "zh": "左耳干燥。",
}  # fmt: skip


@pytest.mark.parametrize("language", sorted(LEFT))
def test_left_is_left_and_never_right_or_both(language: str, kinds: Kinds) -> None:
    assert "side" not in kinds("The left ear is dry.", LEFT[language], language)
    assert "side" in kinds("The right ear is dry.", LEFT[language], language)
    assert "side" in kinds("Both ears are dry.", LEFT[language], language)
    assert "side" in kinds("The ear is dry.", LEFT[language], language)


@pytest.mark.parametrize(
    ("source", "target", "language"),
    [
        ("Some wax is left in the left ear.", "W lewym uchu została woskowina.", "pl"),
        ("Some wax is left.", "Została woskowina.", "pl"),
        ("Both ears are dry.", "Lewe i prawe ucho są suche.", "pl"),
        ("Wait about three days.", "请等三天左右。", "zh"),
        ("Call right away.", "Llame de inmediato.", "es"),
        ("Neither ear is sore.", "Żadne ucho nie boli.", "pl"),
    ],
)
def test_words_that_are_no_side_are_not_taken_for_one(
    source: str, target: str, language: str, kinds: Kinds
) -> None:
    assert "side" not in kinds(source, target, language)


def test_two_sides_in_another_order_are_seen(kinds: Kinds) -> None:
    source = "The left ear is dry and the right ear is wet."

    assert "side" in kinds(source, "Prawe ucho jest suche, a lewe mokre.", "pl")
    assert "side" not in kinds(source, "Lewe ucho jest suche, a prawe mokre.", "pl")


def test_sides_swapped_between_sentences_are_seen(kinds: Kinds) -> None:
    source = "The left ear is dry. The right ear is wet."

    assert "side" in kinds(source, "Prawe ucho jest suche. Lewe ucho jest mokre.", "pl")

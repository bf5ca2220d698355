"""Unsafe characters: what hides, reorders, cannot be printed, or only looks right."""

from __future__ import annotations

from collections.abc import Callable

import pytest

Kinds = Callable[..., set[str]]


@pytest.mark.parametrize(
    "char",
    ["\u202e", "\u2066", "\u200b", "\u2060", "\ufeff", "\u00ad", "\x00", "\x1b", chr(0xD800),
     "\ue000", "\ufffd", "\u2028", "\u200d", "\u200f", "\uff11", "\uff21"],
)  # fmt: skip
def test_an_unsafe_character_stops_a_translation(char: str, kinds: Kinds) -> None:
    assert "character" in kinds("Keep it dry.", f"Chronić {char}przed wodą.", "pl")


@pytest.mark.parametrize("word", ["wоda", "wodа", "αla"])
def test_a_letter_of_another_script_that_looks_right_is_seen(word: str, kinds: Kinds) -> None:
    assert "character" in kinds("Keep it dry.", f"Chronić przed {word}.", "pl")


@pytest.mark.parametrize(
    ("target", "language"),
    [("می‌شود۔", "ur"), ("র‍্যাপার।", "bn"), ("متن‏.", "ar"), ("Wŷn dŵr.", "cy"), ("耳朵。", "zh")],
)
def test_what_a_script_needs_is_left_alone(target: str, language: str, kinds: Kinds) -> None:
    assert "character" not in kinds("Words.", target, language)

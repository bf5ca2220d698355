"""Two sources that say different things may not share one translation."""

from __future__ import annotations

import pytest

from aftercare.word.checks import Pair, check_pairs


@pytest.mark.parametrize(
    ("first", "second", "found"),
    [
        ("Keep the left ear dry.", "Keep the right ear dry.", True),
        ("Ask us.", "Tell us.", True),
        ("Ask us.", "Ask us.", False),
        ("Please take your tablet.", "Take the tablet.", False),
    ],
)
def test_one_translation_of_two_sources_is_told_of(first: str, second: str, found: bool) -> None:
    pairs = [
        Pair(id=str(at), source=source, target="Proszę zapytać.", language="pl")
        for at, source in enumerate((first, second))
    ]

    kinds = [{one.kind for one in of} for of in check_pairs(pairs, parts=len, glossaries={})]

    assert ("same" in kinds[1]) is found
    assert "same" not in kinds[0]


def test_languages_are_kept_apart() -> None:
    pairs = [
        Pair(id="1", source="Ask us.", target="Page", language="fr"),
        Pair(id="2", source="Tell us.", target="Page", language="de"),
    ]

    assert not any(
        one.kind == "same" for of in check_pairs(pairs, parts=len, glossaries={}) for one in of
    )

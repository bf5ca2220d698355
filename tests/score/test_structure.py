"""Which lines of a text are read as paragraphs and items, by markdown's own tree."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from aftercare.score import structure
from aftercare.score.structure import is_plain, paragraphs


def words(lines: list[str]) -> list[list[str]]:
    return [line.split() for line in lines if line.split()]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("# After your visit\n\nKeep dry.", ["Keep dry."]),
        ("After your visit\n---\n\nKeep dry.", ["Keep dry."]),
        ("- Keep dry\n- Rest", ["Keep dry", "Rest"]),
        ("1. Lie down\n2. Wait", ["Lie down", "Wait"]),
        ("Call us if:\n\n- it **hurts**\n- it _bleeds_", ["Call us if:", "it hurts", "it bleeds"]),
        ("- Rest\n  - at home\n  - in bed", ["Rest", "at home", "in bed"]),
        ("Keep dry\nand rest.\n\nCall us.", ["Keep dry and rest.", "Call us."]),
        ("• Keep dry\n• Rest\n• Call us", ["• Keep dry", "• Rest", "• Call us"]),
        ("| drops | twice |\n| --- | --- |\n| oil | daily |", ["drops", "twice", "oil", "daily"]),
        ("See [our page](https://clinic.example/a.b).", ["See our page."]),
        ("![an ear](ear.png) Keep dry.", ["Keep dry."]),
        ("```\ncode. code.\n```\n\nKeep dry.", ["Keep dry."]),
        ("Keep <b>dry</b> &amp; warm.", ["Keep dry & warm."]),
        ("> Keep dry.", ["Keep dry."]),
        ("Keep dry.\r\n\r\nRest.", ["Keep dry.", "Rest."]),
        ("", []),
    ],
)
def test_paragraphs_and_items_stand_alone_and_headings_go(text, expected):
    assert words(paragraphs(text)) == [line.split() for line in expected]


@given(st.text(alphabet="ab.?:'\"()1-#*>+=_ \t\n", max_size=60))
def test_the_quick_way_reads_what_the_tree_reads(text):
    if is_plain(text):
        assert words(paragraphs(text)) == words(list(structure._from_tree(text)))


def test_the_quick_way_is_taken_for_plain_prose():
    assert is_plain("Keep your ear dry. Don't swim (yet)!\n\nCall us: it's free.")
    assert not is_plain("- item")
    assert not is_plain("Keep dry\n===")

"""Counts of parts add up to the counts of the whole."""

from __future__ import annotations

from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from aftercare import score_text
from aftercare.model import Counts
from aftercare.score.tally import FIELDS, Tally, add, pack, tally

EAR_TEXT = (Path(__file__).parent / "ear_text.md").read_text("utf-8")
BLOCKS = [
    *EAR_TEXT.split("\n\n"),
    "## Call us",
    "Call us if you have:",
    "- severe pain\n- a fever of 38.5 degrees\n- bleeding",
    "1. Lie down\n2. Wait for 5 min.",
    "Ring 01632 960001 or see www.clinic.example.",
]
EVERY = {field: place + 1 for place, field in enumerate(FIELDS)}


@given(st.lists(st.sampled_from(BLOCKS), min_size=1, max_size=20), st.data())
def test_a_text_cut_at_any_block_border_counts_the_same(blocks, data):
    cut = data.draw(st.integers(0, len(blocks)))
    whole = score_text("\n\n".join(blocks)).counts
    parts = [score_text("\n\n".join(half)).counts for half in (blocks[:cut], blocks[cut:])]
    assert add(parts) == whole


@given(st.permutations(BLOCKS))
def test_the_order_of_blocks_changes_no_count(blocks):
    assert score_text("\n\n".join(blocks)).counts == score_text("\n\n".join(BLOCKS)).counts


def test_every_field_survives_packing():
    counts = Counts(longest_sentence=1, **EVERY)
    assert tally([pack(counts)]).counts() == counts


def test_fields_do_not_spill_into_one_another():
    counts = Counts(**dict.fromkeys(FIELDS, 2**32 - 1))
    assert Tally(pack(counts)).counts() == counts


def test_adding_takes_the_longest_sentence_of_any_part():
    parts = [Counts(words=5, longest_sentence=5), Counts(words=9, longest_sentence=3)]
    assert add(parts) == Counts(words=14, longest_sentence=5)


def test_what_one_part_cannot_count_the_whole_cannot():
    assert add([Counts(syllables=None), Counts(syllables=4)]).syllables is None


def test_nothing_adds_up_to_nothing():
    assert add([]) == Counts()

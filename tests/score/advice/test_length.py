"""Long sentences: which are, and where to cut them."""

from __future__ import annotations

import pytest

from aftercare.score.advice import Kind

TWENTY = "one two three four five six seven eight nine ten " * 2


def test_the_limit_itself_is_allowed_and_one_word_more_is_not(flagged):
    assert not flagged(f"{TWENTY.strip()}.", Kind.LONG_SENTENCE)
    long = f"{TWENTY}more."
    assert flagged(long, Kind.LONG_SENTENCE) == [long[:-1]]


def test_phone_numbers_and_slots_are_no_words_of_a_sentence(flagged):
    assert not flagged(f"{TWENTY}{{clinic_phone}} 01632 960142.", Kind.LONG_SENTENCE)


def test_list_items_are_sentences_of_their_own(flagged):
    assert not flagged("".join(f"- {TWENTY[:48]}\n" for _ in range(4)), Kind.LONG_SENTENCE)


@pytest.mark.parametrize(
    ("text", "halves"),
    [
        (
            "You must keep the ear dry for two whole weeks after the visit, and you should wear a "
            "plug in the shower every day.",
            "cut before “and”: “You must keep the ear dry for two whole weeks after the visit.” / "
            "“You should wear a plug in the shower every day.”",
        ),
        (
            "We cleared your left ear with suction today, which is a way to take wax out of the "
            "ear with a thin tube.",
            "cut before “which”: “We cleared your left ear with suction today.” / "
            "“This is a way to take wax out of the ear with a thin tube.”",
        ),
        (
            "The skin in the ear may feel sore for a day or two; it heals well when it is kept "
            "dry and clean.",
            "cut before “it”: “The skin in the ear may feel sore for a day or two.” / "
            "“It heals well when it is kept dry and clean.”",
        ),
    ],
)
def test_a_long_sentence_is_cut_where_a_clause_begins_and_both_halves_are_shown(
    advised, text, halves
):
    long = [one for one in advised(text) if one.kind is Kind.LONG_SENTENCE]
    assert [one.help for one in long] == [halves]


def test_no_cut_is_made_inside_a_condition_that_comes_first(advised):
    text = (
        "If the pain has not gone after two days, or if it wakes you at night and you cannot get "
        "back to sleep, call us."
    )
    long = next(one for one in advised(text) if one.kind is Kind.LONG_SENTENCE)
    assert long.help == "find two thoughts in it and give each a sentence"


def test_many_commas_make_a_list(advised):
    text = (
        "You may notice ringing, dull hearing, a little soreness, some itching, a spot of blood "
        "and a feeling that the ear is full."
    )
    long = next(one for one in advised(text) if one.kind is Kind.LONG_SENTENCE)
    assert "make it a list" in long.help

"""Syllables: the stated rules, the tables, and how often the rules alone are wrong."""

from __future__ import annotations

import zlib
from pathlib import Path

import pytest

from aftercare.score.dictionary import Dictionary, clinical, pronounced, word_lists
from aftercare.score.numerals import spoken
from aftercare.score.rules import syllables_by_rule
from aftercare.score.syllables import syllable_counter

count = syllable_counter()
HELD_OUT = Path(__file__).parent / "clinical_held_out.txt"


@pytest.mark.parametrize(
    ("word", "syllables"),
    [
        ("ear", 1),
        ("eardrum", 2),
        ("otitis", 3),
        ("paracetamol", 5),
        ("ciprofloxacin", 5),
        ("microsuction", 4),
        ("NHS", 3),
        ("SMS", 3),
        ("ENT", 3),
        ("GP", 2),
        ("GPs", 2),
        ("WHO", 1),
        ("WWW", 9),
        ("A&E", 3),
        ("EARS", 1),
        ("AIDS", 1),
        ("25", 1),
        ("3.5", 1),
        ("follow-up", 3),
        ("COVID-19", 3),
        ("don't", 1),
        ("didn’t", 2),
        ("it'll", 2),
        ("nurse's", 2),
        ("clinician's", 3),
        ("earmoulds'", 2),
        ("café", 2),
        ("Otorrhoea", 4),
    ],
)
def test_each_kind_of_word_has_its_rule(word, syllables):
    assert count(word) == syllables


def test_where_several_pronunciations_stand_the_fewest_counts():
    # CMUdict gives "every" and "family" two and three, "different" two and three.
    assert [count(word) for word in ("every", "family", "different")] == [2, 2, 2]


@pytest.mark.parametrize(
    ("figure", "syllables"),
    [
        ("5", 1),
        ("7", 2),
        ("12", 1),
        ("25", 3),
        ("100", 3),
        ("112", 5),
        ("3.5", 3),
        ("1,000", 3),
        ("2026", 5),
        ("1999", 5),
        ("10:30", 3),
        ("1st", 1),
        ("5%", 3),
        ("9am", 3),
        ("5ml", 5),
        ("2-3", 3),
    ],
)
def test_numerals_are_read_aloud_for_polysyllables(figure, syllables):
    assert spoken(figure) == syllables


def test_the_hidden_dictionary_hides_both_tables():
    hidden = syllable_counter(Dictionary.HIDDEN)
    assert hidden("area") == syllables_by_rule("area") != count("area")
    assert hidden("stapes") == syllables_by_rule("stapes") != count("stapes")


def test_the_table_is_sorted_so_that_every_word_is_found():
    table = pronounced()
    words = list(table)
    assert len(words) == len(table) == 124_903
    assert words == sorted(words)
    assert all(table[word] > 0 for word in words[::97])
    assert "zzzzzz" not in table
    assert "" not in table
    assert "é" not in table
    assert [table[word] for word in ("a", "a's", "earring", "zywicki")] == [1, 1, 2, 3]


def test_the_lexicon_holds_words_of_the_trade_cmudict_lacks():
    lexicon = clinical()
    assert len(lexicon) >= 300
    assert sum(word not in pronounced() for word in lexicon) >= 200
    assert all(word == word.lower() and 1 < syllables < 10 for word, syllables in lexicon.items())


def test_the_word_lists_are_read_by_name():
    lists = word_lists()
    assert set(lists) == {
        *("never-ends", "may-end", "before-number", "calendar", "spelled", "everyday")
    }
    assert "e.g" in lists["never-ends"]
    assert "december" in lists["calendar"]


def _held_out_half() -> list[tuple[str, int]]:
    """The half of CMUdict the rules were not tuned on, chosen by a checksum of the word."""
    table = pronounced()
    return [
        (word, table[word])
        for word in table
        if word.isalpha() and zlib.crc32(word.encode()) % 2 == 1
    ]


def test_rules_alone_are_wrong_for_at_most_three_in_a_hundred_words_in_use():
    # Weights: wordfreq 3.1 (Speer 2022), its large English list. Measured: 1.89%.
    weights = pytest.importorskip("wordfreq").get_frequency_dict("en", "large")
    total = wrong = 0.0
    for word, syllables in _held_out_half():
        weight = weights.get(word, 0.0)
        total += weight
        wrong += weight * (syllables_by_rule(word) != syllables)
    assert wrong / total < 0.03


def test_rules_alone_are_wrong_for_at_most_seven_in_a_hundred_words_of_the_other_half():
    half = _held_out_half()
    wrong = sum(syllables_by_rule(word) != syllables for word, syllables in half)
    assert len(half) > 50_000
    assert wrong / len(half) < 0.07  # measured: 5.60%; a published rule set: 6.5%


def test_rules_alone_are_right_for_85_in_a_hundred_clinical_words_in_no_table():
    lines = HELD_OUT.read_text("utf-8").splitlines()[1:]
    words = {word: int(syllables) for word, syllables in map(str.split, lines)}
    assert len(words) > 80
    assert not [word for word in words if word in pronounced() or word in clinical()]
    right = sum(count(word) == syllables for word, syllables in words.items())
    assert right / len(words) >= 0.85  # measured: 90%


def test_no_word_is_too_long_to_count():
    assert syllables_by_rule("ba" * 100_000) == 100_000
    assert syllables_by_rule("x" * 100_000) == 1


@pytest.mark.parametrize(
    ("word", "syllables"), [("a.m", 2), ("p.m", 2), ("e.g", 2), ("U.K", 2), ("Dr", 2), ("w.c", 4)]
)
def test_letters_with_full_stops_between_are_read_by_their_names(word, syllables):
    assert syllable_counter()(word) == syllables

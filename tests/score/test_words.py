"""What one word adds: hard words by Gunning, familiar words by Dale and Chall."""

from __future__ import annotations

import pytest

from aftercare.score.dictionary import Dictionary
from aftercare.score.familiar import dale_list, familiar_1948, familiar_1995
from aftercare.score.tally import FIELDS, Tally
from aftercare.score.tokens import KEPT, TokenTable, token_tally
from aftercare.score.words import is_complex, word_tally


def counted(word: str) -> dict[str, int]:
    counts = Tally(word_tally(word, Dictionary.USED)).counts()
    return {field: getattr(counts, field) for field in FIELDS}


# Gunning 1952: not hard are compounds of easy words and -ed, -es, -ing.
@pytest.mark.parametrize(
    ("word", "complex_"),
    [
        ("infection", True),
        ("medicine", True),
        ("anywhere", False),  # any + where
        ("grandmother", False),
        ("well-being", False),
        ("self-medicating", True),
        ("completed", False),
        ("condenses", False),
        ("continuing", True),
        ("recovering", True),
        ("happening", False),
        ("NHS", False),
    ],
)
def test_gunnings_exclusions(word, complex_):
    assert is_complex(word) is complex_


# Chall & Dale 1995 p. 16 (as quoted): 's, -s, -es, -ies, -d, -ed, -ied, -ing, -r, -er, -est,
# -ier, -iest keep a listed word familiar.
@pytest.mark.parametrize(
    "word",
    [
        *("ear", "ears", "days", "walked", "walking", "stopped", "hoping", "carries", "carried"),
        *("bigger", "biggest", "happier", "happiest", "nicer", "doctor's", "boxes", "dying"),
        *("don't", "good-bye", "ear-ring"),
    ],
)
def test_listed_words_and_their_regular_endings_are_familiar(word):
    assert familiar_1995(word)
    assert familiar_1948(word)


@pytest.mark.parametrize("word", ["eardrum", "otitis", "infection", "well-hydrated", "hydrate"])
def test_other_words_are_not(word):
    assert not familiar_1995(word)
    assert not familiar_1948(word)


def test_an_adverb_in_ly_is_familiar_by_the_1948_instructions_only():
    # From memory of Dale & Chall 1948b.
    assert familiar_1948("softly")
    assert familiar_1948("prettily")
    assert not familiar_1995("softly")


def test_the_list_is_whole():
    assert len(dale_list()) == 2941
    assert {"a", "young", "o'clock"} <= dale_list()


def test_numerals_and_names_are_familiar_and_easy():
    for word in ("25", "3.5", "London", "Montgomery"):
        counts = counted(word)
        assert (counts["unfamiliar_1948"], counts["unfamiliar_1995"]) == (0, 0), word
        assert counts["complex_words"] == 0


def test_a_numeral_has_one_syllable_but_is_read_aloud_for_polysyllables():
    counts = counted("25")
    assert (counts["syllables"], counts["polysyllables"], counts["monosyllables"]) == (1, 1, 1)


def test_letters_leave_out_digits_and_strokes_leave_out_punctuation():
    counts = counted("follow-up2")
    assert (counts["letters"], counts["strokes"]) == (8, 9)


@pytest.mark.parametrize("word", ["ear\u00adwax", "earwax🙂", "ear_wax", "e\u0301arwax"])
def test_what_is_no_spelling_inside_a_word_changes_nothing(word):
    assert counted(word) == counted("earwax")


def test_a_word_in_another_script_is_one_word_nobody_knows():
    counts = counted("أذن")
    assert (counts["words"], counts["unfamiliar_1995"], counts["complex_words"]) == (1, 1, 0)


def test_long_words_have_more_than_six_letters():
    assert [counted(word)["long_words"] for word in ("drawer", "drawers")] == [0, 1]


def test_the_table_of_tokens_stays_bounded_and_right(monkeypatch):
    table = TokenTable(Dictionary.USED)
    for number in range(KEPT + 10):
        assert table[f"w{number}"] == token_tally(f"w{number}", Dictionary.USED)
    assert len(table) <= KEPT


def test_a_token_too_long_to_be_a_word_is_not_remembered():
    table = TokenTable(Dictionary.USED)
    assert Tally(table["x" * 1000]).counts().words == 1
    assert not table

"""Where English sentences end, and where they do not."""

from __future__ import annotations

import pytest

from aftercare.score.dictionary import Dictionary
from aftercare.score.sentences import sentence_tallies, sentence_texts
from aftercare.score.tally import tally
from aftercare.score.tokens import HOLE, token_table

TABLE = token_table(Dictionary.USED)


def counted(line: str):
    return tally(sentence_tallies(line, TABLE)).counts()


@pytest.mark.parametrize(
    ("line", "sentences"),
    [
        ("Keep your ear dry. Rest well. Call us.", 3),
        ("Keep your ear dry", 1),
        ("See Dr. Smith or Mrs. Jones on Monday.", 1),
        ("Come at 9 a.m. and leave by 5 p.m. today.", 1),
        ("Come at 9 a.m. Monday.", 1),
        ("Come at 9 a.m. Bring your drops.", 2),
        ("The gap was 3.5 mm. It is now 2.1 mm.", 2),
        ("Ask A. B. Jones or J. R. Smith.", 1),
        ("Wait... then rinse.", 1),
        ("Wait… Then rinse.", 1),
        ("Use drops, e.g. olive oil, i.e. a few drops.", 1),
        ("Write to ears@clinic.example.org today. Thank you.", 2),
        ("See https://www.clinic.example/ears.html?a=1. Then call.", 2),
        ("See clinic.example.org. Then call.", 2),
        ("Call 01632 960 001. Or text 07700 900123.", 2),
        ("Open 9.30 to 17.00 on weekdays.", 1),
        ('"Does it hurt?" she asked.', 1),
        ('She said "It hurts." Then she left.', 2),
        ("Does it hurt?! Tell us!", 2),
        ("Read No. 5 first. The answer is no. Stop.", 3),
        ("1. Lie on your side.", 1),
        ("Use swabs, drops, etc. as told. Then rest.", 2),
        ("Sit out of the sun. Use a hat.", 2),
        ("dry your ear.Then rest", 2),
        ("Why does my ear (left) hurt? (It should not.) Call us.", 3),
        ("The U.K. clinic is open.", 1),
        ("So do I. Then we agree.", 2),
        ("Stop: do not swim; wait a week.", 1),
        ("", 0),
        (". . . ! ?", 0),
        ("🙂 👍🏽", 0),
    ],
)
def test_sentences_end_where_a_reader_ends_them(line, sentences):
    assert counted(line).sentences == sentences


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("Keep it dry", 3),
        ("well-known follow-up", 2),
        ("don't can't it's", 3),
        ("ears and/or nose", 4),
        ("wait—then rinse", 3),
        ("2–3 drops", 2),
        ("call 07700 900123 now", 2),
        ("call +44 (0)7700 900123 now", 2),
        ("call 020 7946 0000 now", 2),
        ("call 999 or 111", 4),
        ("on 12 May 2026", 4),
        ("on 12.05.2026", 2),
        ("on 07 08 2026", 4),
        ("enter 0051 now", 3),
        ("call 0800 1111 now", 2),
        ("call (555) 123-4567 now", 2),
        ("write to a.b@example.org", 2),
        ("see www.example.org/ears", 1),
        ("salt & water", 3),
        ("🙂 smile 🙂", 1),
        ("Tel:01632960001 now", 1),
        ("“07700 900123”", 0),
        (f"Dear {HOLE}, call {HOLE}.", 2),
        (f"{HOLE}'s ear", 1),
        ("{clinic_phone} is our number", 3),
        ("- * • –", 0),
    ],
)
def test_words_are_what_a_reader_reads(line, words):
    assert counted(line).words == words


def test_a_digit_group_of_a_phone_number_never_carries_over_a_sentence_end():
    counts = counted("We counted 012 345. 678 901 were left.")
    assert (counts.words, counts.sentences) == (8, 2)


def test_the_longest_sentence_is_in_words():
    counts = counted("Rest. Keep your left ear dry for a week. Call us.")
    assert counts.longest_sentence == 8


def test_the_texts_are_the_sentences_that_were_counted():
    line = "Call 01632 960001. Keep it dry! 🙂 Rest"
    assert sentence_texts(line, TABLE) == [
        ["Call", "01632", "960001."],
        ["Keep", "it", "dry!"],
        ["🙂", "Rest"],
    ]
    assert len(sentence_tallies(line, TABLE)) == 3


def test_a_line_that_ends_in_a_colon_is_a_stem():
    assert counted("Call us if you have:").stems == 1
    assert counted("Call us: now.").stems == 0


def test_a_capital_makes_a_name_only_inside_a_sentence():
    inside = counted("Call Montgomery today")
    assert (inside.complex_words, inside.unfamiliar_1995, inside.polysyllables) == (0, 0, 1)
    start = counted("Otorrhoea is a discharge")
    assert (start.complex_words, start.unfamiliar_1995) == (1, 2)


def test_capitals_throughout_change_no_syllable():
    small = counted("keep your ears dry and rest at home today")
    large = counted("KEEP YOUR EARS DRY AND REST AT HOME TODAY")
    assert small == large

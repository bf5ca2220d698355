"""Texts as sentences of words: figures of every script alike, marks of no weight left out."""

from __future__ import annotations

import pytest

from aftercare.word.checks.words import fold, sentences, written


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("Keep it dry. Do not swim!", (("keep", "it", "dry"), ("do", "not", "swim"))),
        ("Call {clinic_phone}.", (("call", "{clinic_phone}"),)),
        ("2.5 ml, 2,5 ml", (("#2.5", "ml", "#2.5", "ml"),)),
        ("at 17:00 or 17 h 30", (("at", "#17:00", "or", "#17:30"),)),
        ("1½ hours, ½ hour", (("#1.5", "hours", "#0.5", "hour"),)),
        ("**Don't**", (("don", "t"),)),
        ("৪৮ ঘণ্টা। ৭ দিন", (("#48", "ঘণ্টা"), ("#7", "দিন"))),
        ("٤٨ ساعة", (("#48", "ساعہ"),)),
        ("三天。不要", (("三", "天"), ("不", "要"))),
        ("ਖੱਬੇ ਕੰਨ", (("ਖੱਬੇ", "ਕੰਨ"),)),
        ("", ()),
        (" . ", ()),
    ],
)
def test_a_text_is_its_sentences_of_words(text: str, found: tuple[tuple[str, ...], ...]) -> None:
    assert sentences(text) == found


def test_vowel_signs_and_keyboards_make_no_difference() -> None:
    assert fold("فورًا") == fold("فورا")
    assert fold("أذن") == fold("اذن")
    assert fold("کان") == fold("كان")
    assert fold("Cafe\u0301") == fold("CAFÉ")


def test_that_not_is_told_from_except_where_its_hamza_is_written() -> None:
    # Arabic ألا is أن and لا written as one (school grammar, from memory); إلا is "except".
    assert fold("وألا") == fold("وأن لا")
    assert fold("ألا") != fold("إلا") == fold("الا")
    assert fold("ألاسكا") == fold("الاسكا")


def test_a_point_within_a_figure_ends_no_sentence() -> None:
    assert len(sentences("Give 2.5 ml. Wait.")) == 2


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("minut*", ("minut*",)),
        ("*েনি", ("*েনি",)),
        ("too *", ("too", "*")),
        ("no dude*", ("no", "dude*")),
    ],
)
def test_a_star_stays_on_its_word(text: str, found: tuple[str, ...]) -> None:
    assert written(text) == found

"""Safe replacement: what is put in plain characters, and what never is.

The list of marks is common practice, no source; each "left alone" case is a reading that the
plain character would change.
"""

import re
import unicodedata

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from aftercare.render import gsm
from aftercare.render.plain_text import FRACTIONS, INVISIBLE, MARKS, make_safe, safe_text

TRICKY = "".join(MARKS) + INVISIBLE + "".join(FRACTIONS) + "≥g5 1a.,£-/(%"
tricky_texts = st.one_of(st.text(alphabet=TRICKY, max_size=12), st.text(max_size=30))


# --- What is replaced -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("char", "plain"),
    [
        *[(char, "'") for char in "‘’‚′ʼ"],
        *[(char, '"') for char in "“”„″«»"],
        *[(char, "-") for char in "‐‑‒–—−•"],
        ("…", "..."),
        *[(char, " ") for char in "\u00a0\u202f\u2009"],
        *[(char, "") for char in "\u200b\ufeff\u00ad"],
    ],
)
def test_each_mark_between_words_has_its_plain_twin(char: str, plain: str) -> None:
    safe = make_safe(f"ear{char}drops")

    assert safe.text == f"ear{plain}drops"
    assert safe.replaced == ((char, plain, 3),)
    assert safe.offenders == ()


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("1½ tablets", "1 1/2 tablets"),
        ("21½", "21 1/2"),
        ("1\u00a0½ tablets", "1 1/2 tablets"),
        ("1\u200b½ tablets", "1 1/2 tablets"),
        ("Take ½ a tablet (¼ if under 12)", "Take 1/2 a tablet (1/4 if under 12)"),
        ("1½µg", "1 1/2 micrograms"),
        ("5µg", "5 micrograms"),
        ("5 µg", "5 micrograms"),
        ("5 μg", "5 micrograms"),
        ("50 µg/ml", "50 micrograms/ml"),
        ("≥5 days", "at least 5 days"),
        ("≥ 5 days", "at least 5 days"),
        ("if age≥5, call", "if age at least 5, call"),
        ("(≥38 C)", "(at least 38 C)"),
        ("9–5", "9-5"),
        ("£5–£10", "£5-£10"),
        ("5%–10%", "5%-10%"),
        ("Mon–Fri, 9 – 5", "Mon-Fri, 9 - 5"),
        ("−5", "-5"),
        ("• 5 drops\n• twice", "- 5 drops\n- twice"),
        ("Mr O’Neil’s “ear”…", "Mr O'Neil's \"ear\"..."),
        ("5′ 10″", "5' 10\""),
    ],
)
def test_english_reads_the_same_in_plain_characters(text: str, plain: str) -> None:
    safe = make_safe(text)

    assert safe.text == plain
    assert gsm.is_gsm7(safe.text)


def test_text_is_composed_first() -> None:
    """Unicode Standard Annex 15: U+2126 and U+212B are canonically U+03A9 and U+00C5."""
    assert make_safe("cafe\u0301 \u2126 \u212b").text == "café \u03a9 \u00c5"


# --- What is left alone, and reported ----------------------------------------------------


@pytest.mark.parametrize(
    ("text", "char", "at"),
    [
        ("keep at –5 C", "–", 8),
        ("—5 drops", "—", 0),
        ("(–5)", "–", 1),
        ("5 –10", "–", 2),
        ("owe –£5", "–", 4),
        ("add –.5", "–", 4),
        ("–½", "½", 1),
        ("x \u2010\u200b5", "‐", 2),
        ("•5 drops", "•", 0),
        ("•\u200b5 drops", "•", 0),
        ("1\u201a5 ml", "\u201a", 1),
        ("wait…5 ml", "…", 4),
        ("½/day", "½", 0),
        ("1–½", "½", 2),
        ("v.½", "½", 2),
        ("≈5 days", "≈", 0),
        ("≤5 days", "≤", 0),
        ("5 ≥ 3", "≥", 2),
        ("≥ some", "≥", 0),
        ("5 µl", "µ", 2),
        ("kµg", "µ", 1),
        ("5 µgs", "µ", 2),
        ("37°C", "°", 2),
        ("a\tb", "\t", 1),
        ("`a", "`", 0),
        ("p\u0430in", "\u0430", 1),  # Cyrillic a
        ("call 111 or 1\uff11 1", "\uff11", 13),  # full-width 1
    ],
)
def test_a_mark_without_a_safe_twin_stays_and_is_reported(text: str, char: str, at: int) -> None:
    safe = make_safe(text)

    assert (char, at) in safe.offenders
    assert safe.text[at] == char
    assert gsm.count(safe.text).encoding == "UCS-2"


@pytest.mark.parametrize("name", ["Zoë", "Siân", "João", "Łukasz", "łaska", "tŷ dŵr", "garçon"])
def test_no_accent_is_ever_taken_off(name: str) -> None:
    assert make_safe(unicodedata.normalize("NFD", name)).text == name


@pytest.mark.parametrize(
    "text",
    [
        "کانوں کو خشک رکھیں – دن میں ۲–۴ بار…",
        "می\u200cخواهم “گوش”",
        "„Proszę – nie moczyć”…",
        "👨\u200d👩\u200d👧 don’t",
        "耳朵——保持乾燥……",
        "Zoë’s ear – don’t…",
    ],
)
def test_a_text_that_needs_ucs2_anyway_keeps_its_marks(text: str) -> None:
    safe = make_safe(text)

    assert (safe.text, safe.replaced) == (text, ())


def test_invisible_characters_go_even_from_a_text_that_needs_ucs2() -> None:
    safe = make_safe("\ufeffمی\u200c\u200bخواهم ka\u00adsza ę")

    assert safe.text == "می\u200cخواهم kasza ę"
    assert [at for _, _, at in safe.replaced] == [0, 4, 13]


def test_only_what_no_replacement_would_cure_is_named() -> None:
    assert make_safe("Zoë’s ear – don’t…").offenders == (("ë", 2),)


def test_words_stand_in_for_signs_only_in_their_own_language() -> None:
    assert make_safe("≥5 µg", language="en-GB").text == "at least 5 micrograms"
    assert make_safe("≥5 µg", language="cy").text == "≥5 µg"
    assert make_safe("5–6 o’r gloch", language="cy").text == "5-6 o'r gloch"


def test_what_was_kept_apart_on_purpose_stays_apart() -> None:
    assert make_safe("e\u200b\u0301").text == "e\u200b\u0301"


# --- Laws -------------------------------------------------------------------------------


@given(tricky_texts)
def test_offenders_are_named_exactly_when_the_text_needs_ucs2(text: str) -> None:
    safe = make_safe(text)

    assert bool(safe.offenders) == (gsm.count(safe.text).encoding == "UCS-2")
    assert all(safe.text[at] == char for char, at in safe.offenders)


@given(tricky_texts)
def test_replacements_name_what_stood_there_and_rebuild_the_text(text: str) -> None:
    composed = unicodedata.normalize("NFC", text)
    safe = make_safe(text)

    rebuilt, done = "", 0
    for chars, words, at in safe.replaced:
        assert composed[at : at + len(chars)] == chars
        rebuilt += composed[done:at] + words
        done = at + len(chars)
    assert rebuilt + composed[done:] == safe.text


@given(tricky_texts, st.sampled_from(["en", "cy", "pl"]))
def test_the_text_alone_is_the_same_text(text: str, language: str) -> None:
    assert safe_text(text, language=language) == make_safe(text, language=language).text


@given(tricky_texts)
def test_a_safe_text_made_safe_again_is_unchanged(text: str) -> None:
    safe = make_safe(text)

    assert make_safe(safe.text).text == safe.text


@given(tricky_texts)
@example("1½")
@example("•\u200b5")
@example("5\u00a0–5")
def test_no_number_grows_merges_or_turns_negative(text: str) -> None:
    assert numbers(make_safe(text).text) == numbers(text)


def numbers(text: str) -> list[str]:
    """Every number a reader sees, with its minus if one opens it."""
    visible = re.sub(f"[{INVISIBLE}]", "", unicodedata.normalize("NFC", text))
    spelt = "".join(f" {FRACTIONS[c]} " if c in FRACTIONS else c for c in visible)
    signed = r"(?:(?:^|(?<=[\s(/]))[-−](?=[.,£]?\d))?[.,£]?\d+(?:/\d+)?"
    return [found.replace("−", "-") for found in re.findall(signed, spelt)]

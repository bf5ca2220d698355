"""Double negatives, bare numbers and vague times: what is flagged, and the near misses."""

from __future__ import annotations

import pytest

from aftercare.score.advice import Kind


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("It is not unusual.", "not unusual"),
        ("Do not swim unless we agree.", "not swim unless"),
        ("Do not swim, unless we agree.", "not swim, unless"),
        ("Never drive without your aid.", "Never drive without"),
        ("Put no drops in unless we say so.", "no drops in unless"),
        ("Nothing abnormal was there.", "Nothing abnormal"),
        ("Don’t forget your drops.", "Don’t forget"),
        ("You cannot not hear it.", "cannot not"),
    ],
)
def test_two_negatives_in_one_clause_are_flagged(flagged, text, words):
    assert flagged(text, Kind.DOUBLE_NEGATIVE) == [words]


@pytest.mark.parametrize(
    "text",
    [
        "Do not swim, and do not fly.",
        "If no reply comes, do not wait.",
        "It is no better and you cannot sleep.",
        "Neither ear needed clearing, nor did it hurt.",
        "Bleeding that does not stop.",
        "Not only is it unusual, it is rare.",
        "Use it without water.",
        "Do not fly if you go without sleep.",
        "It is unusual.",
        "No swimming and no diving.",
        "The ear did not need to be cleared.",
    ],
)
def test_one_negative_in_each_clause_is_plain(flagged, text):
    assert not flagged(text, Kind.DOUBLE_NEGATIVE)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Put in 3 twice a day.", "3"),
        ("Take 2 and rest.", "2"),
        ("Use up to 8.", "8"),
        ("A temperature above 38", "38"),
        ("No more than 8 in 24 hours.", "8"),
        ("Put in two twice a day.", "two"),
        ("Use 2.5 every day.", "2.5"),
        ("Do not fly for 10.", "10"),
    ],
)
def test_a_number_that_counts_nothing_is_flagged(flagged, text, words):
    assert flagged(text, Kind.BARE_NUMBER) == [words]


@pytest.mark.parametrize(
    "text",
    [
        "Put in 3 drops.",
        "Use 2 or 3 drops.",
        "Wait 10-15 minutes.",
        "Wait for 5 to 10 minutes.",
        "Call 999 now.",
        "Ring 01632 960142 or 07700 900142.",
        "About 1 in 20 people.",
        "9 out of 10 people heal.",
        "Children under 5 rest.",
        "Open from 9am to 5pm.",
        "At 10:30 we open.",
        "It costs £20.",
        "It is 38°C.",
        "Over 50% heal.",
        "See page 3.",
        "Since 2019 we do it.",
        "On 24 November we open.",
        "On November 24 we open.",
        "Two ears, one aid.",
        "Ear pain or fluid no better in three days (72 hours).",
        "Use 5 ml.",
        "Within two to three days.",
        "Type to text relay on 18001 111.",
    ],
)
def test_numbers_with_a_unit_or_a_name_are_left_alone(flagged, text):
    assert not flagged(text, Kind.BARE_NUMBER)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("It will soon heal.", "soon"),
        ("Call us as soon as possible.", "as soon as possible"),
        ("Clean it regularly.", "regularly"),
        ("We check it from time to time.", "from time to time"),
        ("You will be seen regularly.", "regularly"),
        ("Wait for a while.", "for a while"),
        ("A letter follows in due course.", "in due course"),
    ],
)
def test_a_time_nobody_can_write_down_is_flagged(flagged, text, words):
    assert flagged(text, Kind.VAGUE_TIME) == [words]


@pytest.mark.parametrize(
    "text",
    [
        "Call us as soon as it bleeds.",
        "It is too soon.",
        "It heals in two days.",
        "People are dizzy for a few minutes.",
        "It bleeds occasionally.",
        "Call us the same day.",
        "Even hours later, sit down.",
    ],
)
def test_events_and_days_are_times(flagged, text):
    assert not flagged(text, Kind.VAGUE_TIME)


def test_the_clinics_own_plainer_words_are_the_help(advised):
    found = next(one for one in advised("It heals soon.") if one.kind is Kind.VAGUE_TIME)
    assert found.help == "say when: within (and say how many days)"

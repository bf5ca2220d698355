"""What the reader is told to do: found, found in time, and not too much of it."""

from __future__ import annotations

import pytest

from aftercare.score.advice import Kind
from aftercare.score.advice.orders import order
from aftercare.score.advice.page import read


def verb(text: str) -> str | None:
    sentence = read(text).sentences[0]
    place = order(sentence)
    return None if place is None else sentence.word(place)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Keep the ear dry.", "keep"),
        ("Do not swim.", "swim"),
        ("Don’t drive.", "drive"),
        ("Never put oil in.", "put"),
        ("Then please call us.", "call"),
        ("Text us on {clinic_text_number}.", "text"),
        ("Contact {clinic_phone}.", "contact"),
        ("Rest", "rest"),
        ("Rest at home.", "rest"),
        ("If it hurts, call 999.", "call"),
        ("Before hair is washed, rub jelly in.", "rub"),
        ("If we are closed and it cannot wait, ask someone to call.", "ask"),
        ("You must not fly.", "fly"),
        ("You should rest.", "rest"),
        ("You need to wait.", "wait"),
        ("**Call {emergency_number} now for any of these.**", "call"),
        ("No swimming until then.", "swimming"),
    ],
)
def test_the_readers_verb_is_found(text, expected):
    assert verb(text) == expected


@pytest.mark.parametrize(
    "text",
    [
        "The ear is clear.",
        "Clear fluid from an ear.",
        "Dry skin is normal.",
        "Water can make you dizzy.",
        "Drops can treat it.",
        "With diabetes, infections can get worse.",
        "Text relay is free.",
        "Have you had this before?",
        "Do you feel dizzy?",
        "Use of drops is common.",
        "If you need to call us, we are open.",
        "A sudden loss of hearing",
        "Open ears heal.",
        "Call centres are closed.",
    ],
)
def test_what_tells_the_reader_nothing_to_do_has_no_such_verb(text):
    assert verb(text) is None


@pytest.mark.parametrize(
    ("text", "words", "helped"),
    [
        (
            "It is very important that you keep it dry.",
            "It is very important that",
            "“Keep it dry …”",
        ),
        ("It’s best to rest at home.", "It’s best to", "“Rest at home …”"),
        ("It would be a good idea to rest.", "It would be a good idea to", "“Rest …”"),
        ("We recommend that you rest.", "We recommend that you", "“Rest …”"),
        ("You are advised to rest.", "You are advised to", "“Rest …”"),
        ("Patients should not drive.", "Patients should", "“Do not drive …”"),
        ("Care should be taken to keep it dry.", "Care should be taken", "“To keep it dry …”"),
        ("You may wish to rest.", "You may wish to", "“Rest …”"),
    ],
)
def test_an_action_in_a_wrapping_is_unwrapped(advised, text, words, helped):
    found = [one for one in advised(text) if one.kind is Kind.BURIED_ACTION]
    assert [one.words for one in found] == [words]
    assert found[0].help.endswith(helped)


def test_an_action_after_more_words_than_the_limit_is_buried(flagged):
    twelve = "If the ear is still very sore after two or three days, "
    assert read(twelve).word_count == 12
    assert not flagged(f"{twelve}call us.", Kind.BURIED_ACTION)
    late = f"{twelve[:-2]} more, call us."
    assert flagged(late, Kind.BURIED_ACTION) == [late.removesuffix(" us.")]


@pytest.mark.parametrize(
    "text",
    [
        "It is important.",
        "It is best for most ears.",
        "We advise against oil.",
        "We recommend drops.",
        "You may need to rest.",
        "Patients are seen today.",
        "The care you take matters.",
    ],
)
def test_what_wraps_no_action_is_left_alone(flagged, text):
    assert not flagged(text, Kind.BURIED_ACTION)


@pytest.mark.parametrize(
    ("text", "words", "helped"),
    [
        ("Call us if it hurts.", "if it hurts", "turn it round: “If it hurts, call us.”"),
        (
            "Do not use drops if you have a hole in your eardrum.",
            "if you have a hole in your eardrum",
            "turn it round: “If you have a hole in your eardrum, do not use drops.”",
        ),
    ],
)
def test_a_condition_after_its_instruction_is_turned_round(advised, text, words, helped):
    found = [one for one in advised(text) if one.kind is Kind.LATE_CONDITION]
    assert [(one.words, one.help) for one in found] == [(words, helped)]


@pytest.mark.parametrize(
    "text",
    [
        "If it hurts, call us.",
        "Ask us if you can fly.",
        "Check if the ear is dry.",
        "Use the drops, even if it must stay dry.",
        "Rest, if possible.",
        "The ear may itch if it heals.",
        "**Call 999 now for any of these.**\n\n- A bad headache",
        "Walk as if on ice.",
    ],
)
def test_conditions_in_their_place_and_other_ifs_are_left_alone(flagged, text):
    assert not flagged(text, Kind.LATE_CONDITION)


def test_the_eighth_action_is_one_too_many_and_all_are_named(advised, flagged):
    acts = [
        "Rest at home",
        "Keep it dry",
        "Do not fly",
        "Use the drops",
        "Take care",
        "Sit",
        "Wait",
    ]
    assert not flagged("\n".join(f"- {one}" for one in acts), Kind.MANY_ACTIONS)
    text = "\n".join(f"- {one}" for one in [*acts, "Call us today"])
    found = next(one for one in advised(text) if one.kind is Kind.MANY_ACTIONS)
    assert found.words == "Call"
    assert found.reason == "the text asks for 8 things; the limit is 7"
    assert "1 Rest at home; 2 Keep it dry; 3 Do not fly; 4 Use the drops" in found.help


def test_an_instruction_without_its_verb_is_no_trap(flagged):
    assert flagged("You must not. " * 8, Kind.MANY_ACTIONS) == ["not"]

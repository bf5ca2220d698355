"""Passive voice and nouns that hide a verb: what is flagged, and what only looks like it."""

from __future__ import annotations

import pytest

from aftercare.score.advice import Kind


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Your ear was examined.", "was examined"),
        ("The wax has been taken out.", "been taken"),
        ("The drops should be used twice.", "be used"),
        ("You will not be seen today.", "be seen"),
        ("The ear is always cleaned gently.", "is always cleaned"),
        ("The letter is being sent.", "is being sent"),
        ("It is **not** usually done.", "is **not** usually done"),
        ("The tube is used to clear wax.", "is used"),
        ("Another visit is needed.", "is needed"),
        ("The ear wasn’t checked.", "wasn’t checked"),
        ("You were left by the bus.", "were left"),
        ("A date was agreed.", "was agreed"),
    ],
)
def test_a_passive_is_underlined_from_be_to_the_participle(flagged, text, words):
    assert flagged(text, Kind.PASSIVE) == [words]


@pytest.mark.parametrize(
    "text",
    [
        "You are tired and worried.",
        "The ear is blocked.",
        "The skin is infected.",
        "We are closed.",
        "Some wax is left.",
        "This is called discharge.",
        "It is known as tinnitus.",
        "You are used to the noise.",
        "The ear may get wet.",
        "The infection is gone.",
        "The ear is red.",
        "It is indeed sore.",
        "# The ear was cleared",
        "He was born deaf.",
        "It is one-sided.",
        "Is it sore? Treated ears are.",
        "The hole has closed.",
        "There is a need to rest.",
        "You are advised to rest.",
        "They are, checked or not, fine.",
    ],
)
def test_states_names_and_look_alikes_are_no_passive(flagged, text):
    assert not flagged(text, Kind.PASSIVE)


def test_who_comes_after_by_is_pointed_out(advised):
    found = advised("The ear was cleared by the nurse.")[0]
    assert found.help == "begin with who or what comes after “by”"


@pytest.mark.parametrize(
    ("text", "words", "verb"),
    [
        ("We will make a decision today.", "make a decision", "decide"),
        ("We carry out an examination.", "carry out an examination", "look at"),
        ("The removal of wax is quick.", "The removal of", "take out"),
        ("Avoid insertion of objects.", "insertion of", "put in"),
        ("Have a full discussion with us.", "Have a full discussion", "talk about"),
    ],
)
def test_a_noun_that_hides_a_verb_is_flagged_with_the_verb(advised, text, words, verb):
    found = [one for one in advised(text) if one.kind is Kind.NOMINALISATION]
    assert [(one.words, one.help) for one in found] == [(words, f"use the verb: {verb}")]


@pytest.mark.parametrize(
    "text",
    [
        "You have an infection.",
        "Take your medication.",
        "Make an appointment.",
        "The treatment works.",
        "Have your treatment first.",
        "A sudden loss of hearing.",
        "The decision is yours.",
        "Make room. Decision day is near.",
        "The use of drops.",
        "Give it some attention.",
    ],
)
def test_nouns_that_are_things_are_left_alone(flagged, text):
    assert not flagged(text, Kind.NOMINALISATION)

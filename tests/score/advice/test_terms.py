"""Clinical terms: explained once is enough, and shown."""

from __future__ import annotations

import pytest

from aftercare.score.advice import Kind, Standing, advise

GLOSSARY = {
    "perforation": "a hole in the eardrum",
    "grommet": "a tiny tube in the eardrum that lets air in",
    "cavity": "a wide space in the ear that surgery made in the bone",
    "mastoid cavity": "a wide space in the ear that surgery made in the bone",
    "infection": "an illness made by germs",
    "vertigo": "a feeling that the room spins",
    "wax": "a soft matter that the ear makes",
}


@pytest.fixture
def terms(house):
    def find(text: str) -> list[tuple[str, Standing]]:
        found = advise(text, **(house | {"glossary": GLOSSARY}))
        return [(one.words, one.standing) for one in found if one.kind is Kind.UNEXPLAINED_TERM]

    return find


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("You have a perforation.", "perforation"),
        ("Infections heal.", "Infections"),
        ("The mastoid cavity is dry.", "mastoid cavity"),
        ("If you have an infection, the ear may hurt.", "infection"),
        ("Vertigo, pain and fever are rare.", "Vertigo"),
        ("The vertigo is bad.", "vertigo"),
        ("A tiny old grommet in the tube.", "grommet"),
    ],
)
def test_a_term_without_its_meaning_is_flagged_once(terms, text, words):
    assert terms(f"{text} {text}") == [(words, Standing.OPEN)]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("The eardrum has a hole, called a perforation.", "perforation"),
        ("This is known as vertigo.", "vertigo"),
        ("You have a grommet, a tiny tube.", "grommet"),
        ("A grommet (a small tube) helps.", "grommet"),
        ("You have a hole (perforation).", "perforation"),
        ("A cavity is a wide space.", "cavity"),
        ("It is a tiny grommet tube.", "grommet"),
        ("The room spins: a strange feeling. Vertigo passes.", "Vertigo"),
    ],
)
def test_a_term_explained_anywhere_is_shown_there_and_is_no_fault(terms, text, words):
    before = f"One {words.lower()}. Rest. Rest. "
    found = terms(before + text)
    assert found == [(words, Standing.SHOWN)]


def test_words_every_child_knows_are_no_clinical_terms(terms):
    assert terms("Wax is normal.") == []


def test_the_help_is_the_glossarys_meaning(house):
    found = advise("You have vertigo.", **(house | {"glossary": GLOSSARY}))
    assert found[0].help == "say “a feeling that the room spins” instead, or once beside “vertigo”"

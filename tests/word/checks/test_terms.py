"""Glossary terms: one term, one translation."""

from __future__ import annotations

import pytest

from aftercare.word.checks import Pair, check_pair

GLOSSARIES = {
    "pl": {"grommet": ["drenik*"], "wax": ["woskowin*"], "ear canal": ["przewod* słuchow*"]}
}


@pytest.mark.parametrize(
    ("source", "target", "found"),
    [
        ("A grommet is small.", "Drenik jest mały.", []),
        ("Two grommets are small.", "Dwa dreniki są małe.", []),
        ("A grommet is small.", "Rurka jest mała.", ["grommet"]),
        ("Wax in the ear canal.", "Woskowina w przewodzie słuchowym.", []),
        ("Wax in the ear canal.", "Wosk w kanale.", ["wax", "ear canal"]),
        ("The waxy skin.", "Skóra.", []),
    ],
)
def test_a_term_has_its_one_translation(source: str, target: str, found: list[str]) -> None:
    pair = Pair(id="1", source=source, target=target, language="pl")

    findings = check_pair(pair, parts=len, glossaries=GLOSSARIES)

    told = [one.why for one in findings if one.kind == "term"]
    assert [why.split("'")[1] for why in told] == found


def test_an_article_written_to_a_word_leaves_the_term_what_it_is() -> None:
    """Common practice of Arabic spelling: al-, wa-, bi- and li- are written to the word."""
    glossaries = {"ar": {"wax": ["شمع*"]}}
    good = Pair(id="1", source="The wax is soft.", target="الشمع لين.", language="ar")
    other = Pair(id="2", source="The wax is soft.", target="الصملاخ لين.", language="ar")

    kinds = [
        {one.kind for one in check_pair(pair, parts=len, glossaries=glossaries)}
        for pair in (good, other)
    ]
    assert ["term" in found for found in kinds] == [False, True]


def test_a_language_without_a_glossary_is_not_held_to_one() -> None:
    pair = Pair(id="1", source="A grommet.", target="Un tubo.", language="es")

    assert "term" not in {one.kind for one in check_pair(pair, parts=len, glossaries=GLOSSARIES)}

"""The rule words on the shelf: read, resolved, and refused with the line of the mistake."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from aftercare.errors import BadContent
from aftercare.library.rulewords import SHARED, THINGS, parse_rules
from aftercare.model import Library
from aftercare.rules.sayings import says, sentences, vocabulary

PLACE = "shared/rules.toml"


def test_every_language_of_the_shelf_has_every_entry(library: Library) -> None:
    assert set(library.rules.words) == {"en", *library.catalogues}
    for listed in library.rules.words.values():
        assert set(listed) == THINGS


def test_references_are_written_out(library: Library) -> None:
    for listed in library.rules.words.values():
        assert not SHARED & set(listed)
        for saying in listed.values():
            assert not any(one.startswith("@") for one in (*saying.said, *saying.unless))
    assert "avoid" in library.rules.words["en"]["irrigation"].unless


@pytest.mark.parametrize(
    ("old", "new", "at", "said"),
    [
        ("irrigation = {", "irigation = {", "[en]", "lacks 'irrigation'"),
        ("[pl]", "[pl]\nmood = { said = [\"x\"] }", "mood", "no rule asks for 'mood'"),
        ("[pl]", "[Polish]", "[Polish]", "is no language"),
        ('"@forbidden", "ask us before"', '"@forbiden"', "self_bought_drops", "refers to nothing"),
        ('looser = "aid_in"', 'looser = "aid"', "opposing", "nothing is called 'aid'"),
        ('said = ["infect*", ', 'said = ["!infect*", ', "infection", "asks for no word"),
        ('said = ["infect*", ', 'said = ["*infect", ', "infection", "is no pattern"),
        ('said = ["infect*", ', 'said = ["in*fect", ', "infection", "is no pattern"),
        ('said = ["infect*", ', 'said = ["a & ", ', "infection", "is no pattern"),
        ('said = ["infect*", ', 'sad = ["infect*", ', "said", "infection.said"),
        ('said = ["infect*", "discharge", "otitis"]', "said = []", "infection", "at least 1"),
    ],
)  # fmt: skip
def test_a_mistake_is_refused_with_its_line(
    shelf: Mapping[str, bytes], old: str, new: str, at: str, said: str
) -> None:
    text = shelf[PLACE].decode()
    assert old in text
    changed = text.replace(old, new, 1)
    with pytest.raises(BadContent) as refused:
        parse_rules(PLACE, changed.encode())

    place, _, line = refused.value.place.rpartition(":")
    assert place == PLACE
    assert at in changed.splitlines()[int(line) - 1]
    assert said in refused.value.problem


@pytest.mark.parametrize(
    ("pattern", "text", "fits"),
    [
        ("infect*", "It is INFECTED now", True),
        ("infect*", "disinfect it", False),
        ("left ear", "the left ear, too", True),
        ("left ear", "left early", False),
        ("left ear", "left. Ear", False),
        ("swim* & ask", "ask before swimming", True),
        ("swim* & ask", "Ask. Then swim", False),
        ("swim & !alone", "never swim alone", False),
        ("swim & !alone", "never swim", True),
        ("wod* utlenion*", "użyć wody utlenionej", True),
        ("wod* utlenion*", "wody i utlenionej", False),
        ("ból*", "bo\u0301l", True),
        ("کان", "کَان", True),
        ("کان", "مکان", False),
        ("don t", "Don't do it", True),
        ("2.5 ml", "use 2.5 ml", True),
    ],
)
def test_a_pattern_fits_whole_words_within_one_sentence(
    shelf: Mapping[str, bytes], pattern: str, text: str, fits: bool
) -> None:
    old = 'said = ["infect*", "discharge", "otitis"]'
    raw = shelf[PLACE].decode().replace(old, f'said = ["{pattern}"]', 1)

    known = vocabulary(parse_rules(PLACE, raw.encode()), "en")["infection"]

    assert any(says(sentence, known) for sentence in sentences(text)) is fits

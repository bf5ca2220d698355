"""The rule words on the shelf: read, resolved, and refused with the line of the mistake."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from aftercare.errors import BadContent
from aftercare.library.rulewords import SHARED, THINGS, parse_rules, read_rules
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
        ('said = ["infect*", ', 'said = ["an -*", ', "infection", "is no pattern"),
        ('said = ["infect*", ', 'said = ["in**", ', "infection", "is no pattern"),
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


LOOPS = [
    (("aspirin", "@aspirin"),),
    (("aspirin", "@bleeding"), ("bleeding", "@aspirin")),
    (("aspirin", "@bleeding"), ("bleeding", "@pain"), ("pain", "@aspirin")),
]


def referring(text: str, *links: tuple[str, str]) -> str:
    """The rules with references put first among the patterns of English entries."""
    before, english, after = text.partition("\n[en]\n")
    for name, link in links:
        old = f"\n{name} = {{ said = ["
        assert old in english + after
        after = after.replace(old, f'{old}"{link}", ', 1)
    return before + english + after


@pytest.mark.parametrize("links", LOOPS)
def test_references_that_lead_back_are_refused_with_their_line(
    shelf: Mapping[str, bytes], links: tuple[tuple[str, str], ...]
) -> None:
    text = referring(shelf[PLACE].decode(), *links)

    with pytest.raises(BadContent, match="leads back to 'aspirin'"):
        parse_rules(PLACE, text.encode())
    book, faults = read_rules(PLACE, text.encode())

    lines = text.splitlines()
    told = [lines[int(fault.place.rpartition(":")[2]) - 1] for fault in faults]
    assert [one.partition(" ")[0] for one in sorted(told)] == sorted(name for name, _ in links)
    assert book.words["en"]["aspirin"] == parse_rules(PLACE, shelf[PLACE]).words["en"]["aspirin"]


def test_a_reference_reaches_through_references(shelf: Mapping[str, bytes]) -> None:
    text = referring(shelf[PLACE].decode(), ("aspirin", "@bleeding"), ("bleeding", "@pain"))

    found = parse_rules(PLACE, text.encode()).words["en"]

    plain = parse_rules(PLACE, shelf[PLACE]).words["en"]
    assert set(found["aspirin"].said) == {
        one for name in ("aspirin", "bleeding", "pain") for one in plain[name].said
    }


def test_references_beside_a_loop_are_still_written_out(shelf: Mapping[str, bytes]) -> None:
    text = referring(
        shelf[PLACE].decode(),
        ("aspirin", "@bleeding"),
        ("bleeding", "@pain"),
        ("pain", "@bleeding"),
    )

    book, faults = read_rules(PLACE, text.encode())

    assert len(faults) == 2
    assert {"bleed*", "aspirin"} <= set(book.words["en"]["aspirin"].said)


def test_references_that_multiply_stay_small(shelf: Mapping[str, bytes]) -> None:
    many = ", ".join(['"@forbidden"'] * 5_000)
    text = shelf[PLACE].decode().replace('said = ["aspirin"]', f'said = ["aspirin", {many}]', 1)
    assert many in text

    found = parse_rules(PLACE, text.encode()).words["en"]["aspirin"].said

    assert len(found) < 100


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
        ("কান & শুকনো", "কান শুকনো রাখুন।", True),
        ("কান & শুকনো", "কান দেখুন। শুকনো রাখুন।", False),
        ("ਕੰਨ & ਸੁੱਕਾ", "ਕੰਨ ਵੇਖੋ। ਸੁੱਕਾ ਰੱਖੋ।", False),
        ("保持 & 干燥", "保持 耳朵。 干燥", False),
        ("左耳", "请让左耳保持干燥", True),
        ("左耳", "左侧的耳朵", False),
        ("72小时", "耳朵痛了72小时", True),
        ("保持 & 干燥", "请让双耳保持干燥。之后可以沾水。", True),
        ("保持 & 沾水", "请让双耳保持干燥。之后可以沾水。", False),
        ("তুলা*", "তুলায় জেলি মাখুন", True),
        ("ਬੂੰਦਾਂ*", "ਬੂੰਦਾਂ ਪਾਓ", True),
    ],
)
def test_a_pattern_fits_whole_words_within_one_sentence(
    shelf: Mapping[str, bytes], pattern: str, text: str, fits: bool
) -> None:
    old = 'said = ["infect*", "discharge", "otitis"]'
    raw = shelf[PLACE].decode().replace(old, f'said = ["{pattern}"]', 1)

    known = vocabulary(parse_rules(PLACE, raw.encode()), "en")["infection"]

    assert any(says(sentence, known) for sentence in sentences(text)) is fits

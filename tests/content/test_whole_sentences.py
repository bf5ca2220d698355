"""Grammar by whole sentences: what a translator gets can be said alone, and no slot bends words.

A language may turn, join or inflect whatever stands in one piece, and nothing across two.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from aftercare.model import COUNTS, SLOTS, Block, Fact, Library, Phrase, Role, Unit

# Slots that are read as words: whole texts of their own, lengths in figures, and numbers whose
# sentence has a form for each.
WHOLE_WORDS = frozenset({"clinic_hours", "removed_cm", "removed_inches"}) | COUNTS
# A message is opened by whom it is for; what follows stands by itself.
OPENS = re.compile(r"For .*\{first_name\}:")
_SIDES = {"side:left": ("right",), "side:right": ("left",), "side:both": ("left", "right")}
_OF_EAR = r"(ear|ears|eardrum|eardrums|side|hearing aid|grommet)\b"
Wording = tuple[str, frozenset[Fact], Phrase]


def glue(text: str) -> str | None:
    """Why a text is a piece of a sentence and not one or several; None when it is whole."""
    plain = text.replace("**", "")
    if OPENS.fullmatch(plain):
        return None
    if not re.match(r"[A-Z{]", plain):
        return "begins in the middle"
    if plain[-1] not in ".?!":
        return "ends in the middle"
    if re.search(r"[.?!] +[a-z]", re.sub(r"\b(a|p)\.m\. ", "", plain)):
        return "goes on in the middle"
    if plain.count("(") != plain.count(")"):
        return "half a bracket"
    return None


def bends(text: str) -> str | None:
    """The slot that words are stuck to, or that stands where it would have to be inflected."""
    stuck = re.search(r"[\w'’-]\{(\w+)\}|\{(\w+)\}['’\w-]", text)
    if stuck:
        return stuck[1] or stuck[2]
    loose = re.search(r"(?<![:] )\{(clinic_hours)\}", text)
    return loose[1] if loose else None


def wrong_ear(when: frozenset[Fact], text: str) -> str | None:
    """The side that a wording of another side names."""
    for side in when & _SIDES.keys():
        for word in _SIDES[side]:
            if re.search(rf"\b{word} {_OF_EAR}", text):
                return word
    return None


def wordings(library: Library) -> Iterator[Wording]:
    """Every wording of the shelf but subjects, which are headings."""
    for block in library.shelf:
        for variant in (v for unit in _said(block) for v in unit.variants):
            for form in variant.phrase.forms:
                yield block.id, variant.when, form


def _said(block: Block) -> Iterator[Unit]:
    return (unit for unit in block.units() if unit is not block.subject)


def test_every_piece_a_translator_gets_is_whole(library: Library) -> None:
    found = [
        (name, form.msgid, why) for name, _, form in wordings(library) if (why := glue(form.msgid))
    ]

    assert found == []


def test_words_are_never_stuck_to_a_slot(library: Library) -> None:
    frame = [("frame", frozenset[Fact](), phrase) for phrase in library.frame.texts.values()]
    every = [*wordings(library), *frame]

    assert [(name, f.msgid, slot) for name, _, f in every if (slot := bends(f.msgid))] == []


def test_a_slot_holds_a_name_a_number_or_a_date_and_no_word_that_agrees_with_others() -> None:
    assert {slot for slot, role in SLOTS.items() if role is Role.WORDS} == WHOLE_WORDS


def test_each_side_has_words_of_its_own(library: Library) -> None:
    found = [(name, f.msgid) for name, when, f in wordings(library) if wrong_ear(when, f.msgid)]
    by_side = [unit for block in library.shelf for unit in block.units() if _depends(unit, "side:")]

    assert found == []
    assert len(by_side) > 20
    for unit in by_side:
        told = {(v.when.difference(_SIDES), v.phrase.msgid) for v in unit.variants}
        assert len(told) == len(unit.variants)


def test_what_a_parent_reads_is_written_out_whole_and_never_says_your_ear(library: Library) -> None:
    told = [(name, f.msgid) for name, when, f in wordings(library) if "reader:parent" in when]

    assert len(told) > 20
    assert [
        one for one in told if re.search(r"\b[Yy]our (left |right )?(ears?|hearing)\b", one[1])
    ] == []


def _depends(unit: Unit, group: str) -> bool:
    return any(fact.startswith(group) for v in unit.variants for fact in v.when)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("and keep it dry.", "begins in the middle"),
        ("Keep the ear", "ends in the middle"),
        ("Keep it dry. and warm.", "goes on in the middle"),
        ("Call us (or text us.", "half a bracket"),
        ("For {clinic_name}:", "ends in the middle"),
    ],
)
def test_a_fragment_is_seen(text: str, why: str) -> None:
    assert glue(text) == why


@pytest.mark.parametrize(
    "text",
    [
        "Ask {clinician}'s nurse.",
        "The {visit_date}th.",
        "Pre{clinic_name}.",
        "Come on {clinic_hours}.",
    ],
)
def test_a_slot_that_would_be_inflected_is_seen(text: str) -> None:
    assert bends(text) is not None


def test_a_wrong_ear_is_seen() -> None:
    assert wrong_ear(frozenset({"side:left"}), "Keep the right ear dry.") == "right"
    assert wrong_ear(frozenset({"side:both"}), "Keep the left ear dry.") == "left"
    assert wrong_ear(frozenset({"side:left"}), "Put it right back in the left ear.") is None

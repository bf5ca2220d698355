"""The independent second scorer: never asked over the network, and its faults are proved ones."""

from __future__ import annotations

import socket
from collections.abc import Callable
from dataclasses import replace

import pytest
from made_up_blocks import block

from aftercare import score_text
from aftercare.model import Library
from aftercare.proof import disagreements
from aftercare.proof.second import MAY_DIFFER, why
from aftercare.score import second_opinion
from aftercare.score.english import FLESCH_KINCAID
from aftercare.score.second import second_syllables

Made = Callable[..., Library]
PLAIN = "The nurse cleared the ear with a small tube. It may feel sore for a day or two. "


def reason(text: str) -> str:
    return why(text, score_text(text).counts)


def difference(text: str) -> float:
    ours = FLESCH_KINCAID.compute(score_text(text).counts)
    return abs(second_opinion(text)["flesch_kincaid"] - ours)


def test_plain_words_are_scored_alike(shelf_of: Made) -> None:
    assert list(disagreements(shelf_of(block("b", PLAIN)))) == []
    assert difference(PLAIN) < 0.3


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (
            "Your ears are far better than they were when you last came: out of the ten marks we "
            "give, you had 2.5 in the spring and you have 7.5 now.",
            "textstat ends a sentence inside a decimal number",
        ),
        (
            "Sit down. Rest. Eat. Drink. Call us. The nurse will look at your ear again in the "
            "clinic and will write to you by the end of the week.",
            "textstat counts no sentence of one or two words",
        ),
        (
            "Rest now. Sleep. Sit. Your ears are far better than they were when you last came: out "
            "of the ten marks we give, you had 2.5 in the spring and you have 7.5 now.",
            "textstat ends a sentence inside a decimal number; "
            "textstat counts no sentence of one or two words",
        ),
    ],
)
def test_a_known_fault_is_named_where_it_makes_the_difference(text: str, told: str) -> None:
    assert difference(text) > MAY_DIFFER
    assert reason(text) == told


def test_words_with_other_syllables_are_named_with_both_counts() -> None:
    text = "It was 5 cm."

    assert second_syllables("cm") == 1
    assert score_text("cm").counts.syllables == 2
    assert difference(text) > MAY_DIFFER
    assert reason(text) == "they count other syllables (cm 2 here, 1 there)"


def test_a_fault_is_not_blamed_where_it_makes_no_difference() -> None:
    """A decimal stands here, and its full stop costs nothing: what is left of it is dropped."""
    text = "The skin and wax from the left ear measured 0.1 cm."

    assert difference(text) > MAY_DIFFER
    assert "decimal" not in reason(text)


def test_what_nobody_can_explain_is_said_to_be_unknown() -> None:
    counts = replace(score_text(PLAIN).counts, words=6)

    assert why(PLAIN, counts).startswith("not known; look")


def test_a_block_with_several_wordings_tells_which_of_them(library: Library) -> None:
    found = list(disagreements(library))

    assert {one.block for one in found} == {"done-length"}
    assert len({one.when for one in found}) == len(found) == 4
    assert all("not known" not in one.why for one in found)
    assert all(abs(one.ours - one.theirs) > MAY_DIFFER for one in found)


def test_texts_and_other_languages_are_not_asked_of_it(shelf_of: Made) -> None:
    odd = "Sit. Rest. Eat. Drink. The nurse will look at your ear again by the end of the week."

    assert list(disagreements(shelf_of(block("b", PLAIN, more=f'sms: "{odd}"\n')))) == []
    assert [one.block for one in disagreements(shelf_of(block("b", odd)))] == ["b"]


def test_nothing_is_ever_fetched(shelf_of: Made, monkeypatch: pytest.MonkeyPatch) -> None:
    def never(*told: object, **named: object) -> None:
        raise AssertionError("a socket was opened")

    monkeypatch.setattr(socket, "socket", never)
    monkeypatch.setattr(socket, "create_connection", never)
    from nltk import data  # type: ignore[import-untyped]  # it has no types

    monkeypatch.setattr(data, "find", never)

    list(disagreements(shelf_of(block("b", "Pneumonoultramicroscopic otorhinolaryngology."))))
    assert second_syllables("Antibiotics") == 5


def test_a_block_of_slots_alone_is_passed_over(shelf_of: Made) -> None:
    assert list(disagreements(shelf_of(block("b", "{clinic_phone}")))) == []

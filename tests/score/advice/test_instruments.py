"""The measurable items of instruments: met, not met, or for a person; never a total."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from aftercare.score.advice import Answer, Instrument, report
from aftercare.score.advice.instruments import Item

LONG = "The ear heals well on its own. " * 25


@pytest.fixture
def answers(house):
    def find(text: str, **more) -> dict[tuple[Instrument, str], Item]:
        return {(one.instrument, one.number): one for one in report(text, **house, **more)}

    return find


def test_every_item_of_the_instruments_is_listed_once(house):
    found = report("Keep dry.", **house)
    count = Counter(one.instrument for one in found)
    # PEMAT-P has 24 items, 13 and 14 being for films (Shoemaker 2014); the index has 20.
    assert count == {Instrument.PEMAT: 24, Instrument.CDC: 20, Instrument.EU: 5}
    numbers = [one.number for one in found if one.instrument is Instrument.PEMAT]
    assert numbers == [str(number) for number in range(1, 27) if number not in {13, 14}]
    assert all(one.says and one.because for one in found)


def test_what_only_a_person_can_say_is_never_met(house):
    human = {
        Instrument.PEMAT: "1 2 10 15 26",
        Instrument.CDC: "4 7 11 18 19 20",
        Instrument.EU: "user test",
    }
    text = (Path(__file__).parent / "leaflet.md").read_text("utf-8")
    for one in report(text, **house):
        listed = human[one.instrument]
        if one.number in (listed.split() if one.instrument is not Instrument.EU else [listed]):
            assert one.answer is Answer.NEEDS_A_PERSON, one


P, C, E = Instrument.PEMAT, Instrument.CDC, Instrument.EU


@pytest.mark.parametrize(
    ("item", "text", "answer"),
    [
        ((P, "3"), "Commence the drops.", Answer.NOT_MET),
        ((P, "3"), "Start the drops.", Answer.NEEDS_A_PERSON),
        ((P, "4"), "You have tinnitus.", Answer.NOT_MET),
        ((P, "4"), "You hear a sound called tinnitus.", Answer.NEEDS_A_PERSON),
        ((P, "5"), "Rest. Sleep. Sit. Wait. It was done.", Answer.MET),
        ((P, "5"), "Rest. Sleep. Sit. It was done.", Answer.NOT_MET),
        ((P, "5"), "", Answer.NOT_APPLICABLE),
        ((P, "6"), "Put in 3 twice a day.", Answer.NOT_MET),
        ((P, "6"), "Put in 3 drops.", Answer.NEEDS_A_PERSON),
        ((P, "6"), "Put in drops.", Answer.NOT_APPLICABLE),
        ((P, "7"), "Multiply the 2 numbers.", Answer.NOT_MET),
        ((P, "7"), "Rest.", Answer.MET),
        ((P, "8"), "Keep dry.", Answer.NOT_APPLICABLE),
        ((P, "8"), LONG, Answer.NOT_MET),
        ((P, "8"), "\n\n".join([LONG[:60]] * 20), Answer.MET),
        ((P, "9"), LONG, Answer.NOT_MET),
        ((P, "9"), f"# Information\n\n{LONG}", Answer.NOT_MET),
        ((P, "9"), f"# How to heal\n\n{LONG}", Answer.NEEDS_A_PERSON),
        ((P, "11"), f"# In short\n\n{LONG}", Answer.MET),
        ((P, "11"), LONG, Answer.NOT_MET),
        ((P, "12"), "**Rest**", Answer.MET),
        ((P, "12"), "Rest", Answer.NOT_MET),
        ((P, "16"), "Rest", Answer.NOT_APPLICABLE),
        ((P, "16"), "Rest ![ear](e.png)", Answer.NEEDS_A_PERSON),
        ((P, "19"), "| a |\n|---|\n| b |", Answer.NEEDS_A_PERSON),
        ((P, "20"), "Rest at home.", Answer.MET),
        ((P, "20"), "The ear heals.", Answer.NOT_MET),
        ((P, "21"), "Rest at home.", Answer.MET),
        ((P, "21"), "Patients are advised to rest.", Answer.NOT_MET),
        ((P, "22"), "The ear heals.", Answer.NOT_MET),
        ((P, "22"), "Rest at home.", Answer.NEEDS_A_PERSON),
        ((P, "22"), "Sit down. " * 8, Answer.NOT_MET),
        ((P, "23"), "☐ Drops used", Answer.MET),
        ((P, "23"), "Use the drops.", Answer.NOT_MET),
        ((C, "5"), "Rest at home.", Answer.MET),
        ((C, "8"), "- a\n- b", Answer.MET),
        ((C, "8"), LONG, Answer.NOT_MET),
        ((C, "9"), LONG, Answer.NOT_MET),
        ((C, "15"), "Rest.", Answer.NOT_APPLICABLE),
        ((C, "15"), "Rest for 2 days.", Answer.NEEDS_A_PERSON),
        ((E, "sentences"), "Rest.", Answer.MET),
        ((E, "sentences"), "word " * 21 + "end.", Answer.NOT_MET),
        ((E, "bullets"), "- a\n" * 6, Answer.MET),
        ((E, "bullets"), "- a\n" * 7, Answer.NOT_MET),
    ],
)
def test_an_item_is_answered_from_the_text(answers, item, text, answer):
    assert answers(text)[item].answer is answer


@pytest.mark.parametrize(
    ("point", "leading", "expected"),
    [
        (None, None, (Answer.NEEDS_A_PERSON, Answer.NEEDS_A_PERSON)),
        (9.0, 3.0, (Answer.MET, Answer.MET)),
        (8.9, 2.9, (Answer.NOT_MET, Answer.NOT_MET)),
    ],
)
def test_type_and_lines_are_held_to_the_eu_guideline(answers, point, leading, expected):
    # EU guideline of 12.1.2009: 9 point Times New Roman, 3 mm between lines.
    found = answers("Rest.", point=point, leading_mm=leading)
    assert (found[E, "type"].answer, found[E, "lines"].answer) == expected


def test_accepting_advice_changes_no_item(house):
    from aftercare.score.advice import Accepted, Kind, review

    kept = [Accepted(Kind.PASSIVE, "was done", "nobody knows who")]
    items = review("It was done.", **house, accepted=kept).items
    assert next(one for one in items if one.number == "5").answer is Answer.NOT_MET

"""Row 23: two conditions with opposing advice; the stricter wins and both are logged."""

from __future__ import annotations

import sys
from typing import Any

import pytest
from made_up import TODAY, FakePress, a_case, a_patient, an_ear

from aftercare.flow import discharge, records
from aftercare.model import Channel, Ear, Library, Message, Purpose, Side, Status

SUCTION = "procedure:suction"
WORDS = {
    "en": ("Keep the left ear dry.", "The left ear may get wet."),
    "pl": ("Lewe ucho ma pozostać suche.", "Lewe ucho wolno moczyć."),
    "ur": ("بائیں کان کو خشک رکھیں۔", "بایاں کان گیلا ہو جائے تو کوئی حرج نہیں۔"),
}
PAIRS = [
    ("Use cotton wool with petroleum jelly.", "It may get wet.", True),
    ("No swimming.", "You can swim freely.", True),
    ("Ask us before you swim.", "Swim as usual.", True),
    ("Leave the hearing aid out.", "Wear the hearing aid all day.", True),
    ("Keep the ear dry.", "Wear the hearing aid all day.", False),
    ("No swimming.", "Ask us before you swim.", False),
]


def said(judge: Any, text: str, block: str, side: Side = Side.LEFT) -> Any:
    return sys.modules[type(judge).__module__].Said(text, block=block, side=side)


@pytest.mark.parametrize("language", WORDS)
def test_both_of_one_ear_are_caught_whatever_the_order(
    language: str, judge: Any, visit: Any
) -> None:
    strict, loose = WORDS[language]
    case = visit(language=language)
    lines = [said(judge, strict, "strict"), said(judge, loose, "loose")]

    assert "opposing advice" in judge.blocks(case, *lines)
    assert "opposing advice" in judge.blocks(case, *reversed(lines))
    assert "opposing advice" not in judge.blocks(case, lines[0])
    same = [said(judge, strict, "one"), said(judge, loose, "one")]
    assert "opposing advice" not in judge.blocks(case, *same)


@pytest.mark.parametrize(("strict", "loose", "caught"), PAIRS)
def test_every_pair_of_the_list_is_caught(
    strict: str, loose: str, caught: bool, judge: Any, visit: Any
) -> None:
    lines = [said(judge, strict, "strict"), said(judge, loose, "loose")]

    assert ("opposing advice" in judge.blocks(visit(), *lines)) is caught


def test_of_two_ears_each_keeps_its_own_advice_and_both_are_logged(judge: Any, visit: Any) -> None:
    lines = [
        said(judge, "Keep the left ear dry.", "strict"),
        said(judge, "The right ear may get wet.", "loose", Side.RIGHT),
    ]

    found = {one.rule.name: one.why for one in judge(visit((), ()), *lines)}

    assert "opposing advice" not in found
    assert found["both logged"] == (
        "strict says 'keep dry' for the left ear, loose says 'may get wet' for the right ear"
    )


def leaflet(library: Library, *ears: Ear, facts: frozenset[str] = frozenset()) -> Message:
    patient = a_patient(facts=facts | {"age:adult"})
    case = a_case(ears=ears, patient=patient)
    done = discharge(
        case, library, press=FakePress(), today=TODAY, purpose=Purpose.PATIENT,
        channels=(Channel.PRINT,),
    )  # fmt: skip
    assert records(done, "now")[0].noted == done.messages[0].noted
    return done.messages[0]


@pytest.mark.parametrize(
    ("ears", "logged"),
    [
        (
            (an_ear("condition:open-cavity", SUCTION),
             an_ear("condition:wax", SUCTION, side=Side.RIGHT)),
            "water-hair-washing says 'plug for washing' for the left ear, water-wax says "
            "'may get wet' for the right ear",
        ),
        (
            (an_ear("condition:wax", "condition:otitis-externa", SUCTION),),
            "water-otitis-externa says 'keep dry' for the left ear; water-wax, which says "
            "'may get wet', was left out",
        ),
        (
            (an_ear("condition:grommet", "condition:open-cavity", SUCTION),),
            "water-cavity-swimming says 'ask before swimming' for the left ear; water-grommet, "
            "which says 'swim freely', was left out",
        ),
    ],
)  # fmt: skip
def test_on_the_shelf_the_stricter_wins_and_both_are_on_record(
    approved: Library, ears: tuple[Ear, ...], logged: str
) -> None:
    message = leaflet(approved, *ears)

    assert message.status is Status.RELEASED, message.withheld_because
    assert f"both logged (rule 23): {logged}" in message.noted
    assert f"both logged (rule 23): {logged}" not in message.findings


@pytest.mark.parametrize(
    "ear",
    [
        an_ear("condition:open-cavity", "condition:otitis-externa", SUCTION),
        an_ear("condition:perforation", SUCTION),
    ],
)
def test_cavity_with_infection_and_hearing_aid_with_perforation_are_released(
    approved: Library, ear: Ear
) -> None:
    message = leaflet(approved, ear, facts=frozenset({"uses:hearing-aid"}))

    assert message.status is Status.RELEASED, message.withheld_because

"""Rules that look at facts, numbers and dates: rows 2, 7, 12, 13, 16 to 19, 21 and 22."""

from __future__ import annotations

import sys
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from made_up import TODAY, a_case, a_patient

from aftercare.model import Channel, Interval, Kind, Line, Role, Side, Span
from aftercare.recall import Due

MONDAY = date(2027, 5, 24)


def said(judge: Any, text: str = "x", **more: Any) -> Any:
    return sys.modules[type(judge).__module__].Said(text, **more)


def phone(judge: Any, before: str, number: str, kind: Kind, after: str = "") -> Any:
    spans = (Span(before), Span(number, Role.PHONE), Span(after))
    return said(judge, kind=kind, block=f"{kind}-{before}", spans=spans)


# --- 2 and 7: what was prescribed ----------------------------------------------------------

AMINO = ("condition:perforation", "drops:prescribed", "drops:aminoglycoside")


@pytest.mark.parametrize(
    ("ear", "stop", "caught"),
    [
        (AMINO, None, True),
        ((*AMINO, "drops:specialist"), None, True),
        (AMINO, TODAY, True),
        ((*AMINO, "drops:specialist"), TODAY, False),
        ((*AMINO, "drops:specialist"), date(2026, 11, 17), True),
        (("condition:otitis-externa", "drops:prescribed", "drops:aminoglycoside"), None, False),
        (("finding:drum-not-seen", "drops:prescribed", "drops:aminoglycoside"), None, True),
        (("condition:perforation", "drops:prescribed"), None, False),
    ],
)
def test_an_aminoglycoside_needs_a_specialist_and_a_day_to_stop(
    ear: tuple[str, ...], stop: date | None, caught: bool, judge: Any, visit: Any
) -> None:
    found = judge.names(visit(ear, drops_stop=stop), said(judge, "Use the drops."))

    assert ("aminoglycoside drops" in found) is caught


def test_drops_that_hold_what_the_patient_reacted_to_are_caught(judge: Any, visit: Any) -> None:
    ear = ("drops:prescribed", "drops:aminoglycoside")
    for allergy, caught in (("aminoglycoside", True), ("quinolone", False)):
        case = visit(ear, patient=("age:adult", f"allergy:{allergy}"))
        assert ("allergy to the drops" in judge.names(case, said(judge, "Hello."))) is caught


# --- 12, 13 and 18: routes and numbers ------------------------------------------------------


@pytest.mark.parametrize(
    ("language", "voice", "otherwise"),
    [
        ("en", "Call ", "Ask someone to call "),
        ("en", "Phone ", "Text "),
        ("pl", "Proszę zadzwonić pod numer ", "Natychmiast SMS na "),
        ("ur", "فوراً کال کریں ", "کسی سے کال کروائیں "),
    ],
)
def test_a_deaf_patient_is_not_left_with_a_call_by_voice(
    language: str, voice: str, otherwise: str, judge: Any, visit: Any
) -> None:
    contact = phone(judge, "Text us on ", "07700 900142", Kind.CONTACT)
    for need in ("need:deaf", "need:hard-of-hearing", "need:cannot-phone"):
        deaf = visit(patient=("age:adult", need), language=language)
        alone = phone(judge, voice, "999", Kind.URGENT)
        other = phone(judge, otherwise, "999", Kind.URGENT)
        assert "phone only" in judge.blocks(deaf, contact, alone)
        assert "phone only" not in judge.blocks(deaf, contact, other)
        assert "phone only" not in judge.blocks(deaf, contact, alone, other)
    assert "phone only" not in judge.blocks(visit(language=language), contact, alone)


def test_the_clinics_phone_is_no_route_for_who_cannot_phone(judge: Any, visit: Any) -> None:
    deaf = visit(patient=("age:adult", "need:deaf"))
    urgent = phone(judge, "Text ", "999", Kind.URGENT)
    for number, caught in (("01632 960142", True), ("07700 900142", False)):
        contact = phone(judge, "Contact us ", number, Kind.CONTACT)
        assert ("phone only" in judge.blocks(deaf, urgent, contact)) is caught


@pytest.mark.parametrize(
    ("change", "channel", "caught"),
    [
        ({"mobile": None}, Channel.SMS, True),
        ({"email": None}, Channel.EMAIL, True),
        ({"agreed": frozenset({Channel.PRINT})}, Channel.EMAIL, True),
        ({"agreed": frozenset({Channel.PRINT})}, Channel.PRINT, False),
        ({}, Channel.SMS, False),
    ],
)
def test_a_channel_the_patient_cannot_use_is_caught(
    change: dict[str, Any], channel: Channel, caught: bool, judge: Any
) -> None:
    case = a_case(patient=a_patient(**change))

    assert ("route not agreed" in judge.names(case, said(judge), channel=channel)) is caught


@pytest.mark.parametrize(
    ("number", "caught"),
    [("911", True), ("000", True), ("116117", True), ("999", False), ("111", False)],
)
def test_a_number_of_another_region_is_caught(
    number: str, caught: bool, judge: Any, visit: Any
) -> None:
    line = phone(judge, "Call ", number, Kind.URGENT)
    called_so = said(judge, spans=(Span(number, Role.NAME),))

    assert ("strange phone number" in judge.names(visit(), line)) is caught
    assert "strange phone number" not in judge.names(visit(), called_so)


# --- 16: translations -----------------------------------------------------------------------


def test_a_missing_translation_is_the_only_thing_said_of_half_a_message(
    judge: Any, visit: Any
) -> None:
    found = judge(visit(language="pl"), said(judge, "The right ear."), missing=("done-cleared",))

    assert [(one.rule.name, one.text) for one in found] == [
        ("translation missing", "translation (pl) missing: done-cleared")
    ]


@pytest.mark.parametrize("approved", [True, False])
def test_an_unreviewed_translation_is_caught(approved: bool, judge: Any, visit: Any) -> None:
    found = judge.blocks(visit(language="pl"), said(judge, "Lewe ucho.", approved=approved))

    assert ("translation not reviewed" in found) is not approved


# --- 17: the side ------------------------------------------------------------------------------


def test_a_patient_may_be_called_like_an_ear(judge: Any, visit: Any) -> None:
    named_so = said(judge, spans=(Span("Dear "), Span("Right Ear", Role.NAME), Span(",")))

    assert "wrong ear" not in judge.names(visit(), named_so)


def test_one_block_told_for_each_ear_is_judged_ear_by_ear(judge: Any, visit: Any) -> None:
    left, right = "From the left ear.", "From the right ear."
    for texts, caught in (((left, right), False), ((right, left), True), ((left, left), True)):
        lines = [
            said(judge, text, side=side, block="done-length")
            for text, side in zip(texts, (Side.LEFT, Side.RIGHT), strict=True)
        ]
        assert ("wrong ear" in judge.names(visit((), ()), *lines)) is caught


# --- 19 and 21: the next visit --------------------------------------------------------------


@pytest.mark.parametrize(
    ("on", "words"),
    [
        (MONDAY - timedelta(days=370), "is past"),
        (date(2026, 11, 18), "is not after the visit"),
        (date(2027, 5, 22), "closed on Saturdays"),
        (date(2027, 5, 31), "bank holiday"),
        (MONDAY, "is not the one agreed"),
    ],
)
def test_a_recall_date_that_is_wrong_is_caught(
    on: date, words: str, judge: Any, visit: Any
) -> None:
    found = judge(visit(), said(judge), recall=Due(on, "made up"))

    told = [one.why for one in found if one.rule.name == "recall date"]
    assert any(words in why for why in told), told


def test_the_recall_date_that_was_agreed_is_let_go(judge: Any, visit: Any) -> None:
    assert "recall date" not in judge.names(visit(recall=Interval(months=6)), said(judge))


@pytest.mark.parametrize("status", ["deceased", "moved", "opted-out", "discharged"])
def test_nobody_is_called_back_against_the_record(status: str, judge: Any, visit: Any) -> None:
    gone = ("age:adult", f"status:{status}")
    dated = said(judge, kind=Kind.RECALL, spans=(Span("Due "), Span("1 May", Role.DATE)))

    assert "recall not wanted" in judge.names(visit(patient=gone), said(judge))
    silent = visit(patient=gone, recall=None, recall_declined="no")
    assert "recall not wanted" in judge.names(silent, dated)
    assert "recall not wanted" not in judge.names(silent, said(judge))
    assert "recall not wanted" not in judge.names(visit(), dated)


# --- 22: what others see ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("language", "safe", "telling"),
    [
        ("en", "Keep the treated side dry.", "Keep your ear dry."),
        ("pl", "Proszę o kontakt.", "Ucho ma pozostać suche."),
        ("ur", "ہم سے رابطہ کریں۔", "کان خشک رکھیں۔"),
    ],
)
def test_a_text_on_a_shared_phone_gives_no_detail_even_when_asked(
    language: str, safe: str, telling: str, judge: Any, visit: Any
) -> None:
    for extra, caught in (
        ((), True),
        (("texts:detail",), False),
        (("texts:detail", "texts:shared-phone"), True),
        (("texts:detail", "need:proxy"), True),
    ):
        case = visit(patient=("age:adult", *extra), language=language)
        found = judge.names(case, said(judge, telling), channel=Channel.SMS)
        assert ("diagnosis in view" in found) is caught
        assert "diagnosis in view" not in judge.names(case, said(judge, safe), channel=Channel.SMS)


@pytest.mark.parametrize(("subject", "caught"), [("After your ear visit", True), ("Hello", False)])
def test_a_subject_line_says_nothing_of_the_ear(
    subject: str, caught: bool, judge: Any, visit: Any
) -> None:
    framed = replace(judge, frame={"subject": Line((Span(subject),), "frame", True)})

    found = framed.names(visit(), said(judge), channel=Channel.EMAIL)

    assert ("diagnosis in view" in found) is caught
    assert "diagnosis in view" not in framed.names(visit(), said(judge), channel=Channel.PRINT)

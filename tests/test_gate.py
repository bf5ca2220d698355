"""The release gate: each reason to withhold appears when it must, and only then."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from made_up import TODAY, FakePress, a_case, a_patient, an_ear

from aftercare.choose import patient_facts
from aftercare.flow import discharge
from aftercare.gate import Asked, over_limits, unapproved, unsafe
from aftercare.model import (
    Approval,
    ApprovalState,
    Block,
    Case,
    Channel,
    Interval,
    Kind,
    Library,
    Line,
    Message,
    Purpose,
    Role,
    Side,
    Span,
    Status,
)
from aftercare.rules import broken

DEAF = a_patient(facts=frozenset({"age:adult", "need:deaf"}))
FUTURE = Approval(ApprovalState.APPROVED, "Dr A. Example", TODAY + timedelta(days=1))


def messages(
    library: Library,
    case: Case | None = None,
    today: date = TODAY,
    purpose: Purpose = Purpose.PATIENT,
) -> list[Message]:
    done = discharge(
        case or a_case(), library, press=FakePress(), today=today, purpose=purpose,
        channels=tuple(Channel),
    )  # fmt: skip
    return list(done.messages)


def said(message: Message) -> str:
    return "; ".join(message.withheld_because)


def blocks(library: Library, change: Callable[[Block], Block | None]) -> Library:
    changed = (change(one) for one in library.blocks)
    return replace(library, blocks=tuple(one for one in changed if one is not None))


def only(name: str, **changes: Any) -> Callable[[Block], Block]:
    return lambda one: replace(one, **changes) if one.id == name else one


def less(*names: str) -> Callable[[Block], Block | None]:
    return lambda one: None if one.id in names else one


def kinds_but(kind: Kind) -> Callable[[Block], Block | None]:
    return lambda one: None if one.kind is kind else one


def test_a_plain_visit_is_released_on_every_channel(approved: Library) -> None:
    for message in messages(approved):
        assert message.status is Status.RELEASED, said(message)
        assert message.withheld_because == ()
        assert message.body


def mentions(one: Block, *slots: str) -> bool:
    return any(set(slots) & set(v.phrase.slots) for unit in one.units() for v in unit.variants)


def no_emergency(one: Block) -> Block | None:
    return None if mentions(one, "emergency_number", "emergency_text_number") else one


# Each: the reason, what is done to the library, the case, the day. Every channel is withheld.
REASONS: dict[str, tuple[Callable[[Library], Library], Case, date]] = {
    "no content for condition:wax": (
        lambda lib: blocks(lib, lambda b: None if "condition:wax" in b.given_for else b),
        a_case(), TODAY,
    ),
    "no content for procedure:suction": (
        lambda lib: blocks(lib, lambda b: None if "procedure:suction" in b.given_for else b),
        a_case(), TODAY,
    ),
    "the recall date 2026-11-23 is past": (
        lambda lib: lib, a_case(visit_date=date(2026, 11, 16), recall=Interval(weeks=1)), TODAY,
    ),
    "no urgent signs": (lambda lib: blocks(lib, kinds_but(Kind.URGENT)), a_case(), TODAY),
    "no way to contact the clinic": (
        lambda lib: blocks(lib, kinds_but(Kind.CONTACT)), a_case(), TODAY,
    ),
    "no emergency number of GB": (lambda lib: blocks(lib, no_emergency), a_case(), TODAY),
    "no route to the clinic that this patient can use": (
        lambda lib: blocks(lib, less("contact-text", "contact-email")), a_case(patient=DEAF), TODAY,
    ),
    "past its review date: urgent-now-call": (
        lambda lib: blocks(lib, only("urgent-now-call", review_by=TODAY - timedelta(days=1))),
        a_case(), TODAY,
    ),
    "past its review date: frame": (
        lambda lib: replace(lib, frame=replace(lib.frame, review_by=TODAY - timedelta(days=1))),
        a_case(), TODAY,
    ),
    "not approved by a clinician: urgent-now-call": (
        lambda lib: blocks(lib, only("urgent-now-call", approval=Approval(ApprovalState.DRAFT))),
        a_case(), TODAY,
    ),
    "not approved by a clinician: frame": (
        lambda lib: replace(
            lib, frame=replace(lib.frame, approval=Approval(ApprovalState.DRAFT))
        ),
        a_case(), TODAY,
    ),
    "approved on a day that has not come: urgent-now-call": (
        lambda lib: blocks(lib, only("urgent-now-call", approval=FUTURE)), a_case(), TODAY,
    ),
    "approved on a day that has not come: frame": (
        lambda lib: replace(lib, frame=replace(lib.frame, approval=FUTURE)), a_case(), TODAY,
    ),
}  # fmt: skip


def stops(message: Message, judged: Asked) -> list[str]:
    """Why this message may reach nobody."""
    return list(unsafe(message, judged, broken(message, judged)))


@pytest.mark.parametrize("reason", REASONS)
def test_the_reason_withholds_every_channel_and_is_told(approved: Library, reason: str) -> None:
    change, case, today = REASONS[reason]

    for message in messages(change(approved), case, today):
        assert reason in message.withheld_because, (message.channel, said(message))
        assert message.status is Status.WITHHELD
        assert message.body is None


@pytest.mark.parametrize("reason", REASONS)
def test_without_its_cause_the_reason_is_not_told(approved: Library, reason: str) -> None:
    _, case, _ = REASONS[reason]
    sound = {"the recall date 2026-11-23 is past": a_case()}

    for message in messages(approved, sound.get(reason, case)):
        assert message.status is Status.RELEASED, said(message)


def test_the_last_day_counts(approved: Library) -> None:
    due = blocks(
        approved, only("urgent-now-call", review_by=TODAY, approval=replace(FUTURE, on=TODAY))
    )
    recall = a_case(visit_date=date(2026, 11, 17), recall=Interval(weeks=1))

    assert all(one.status is Status.RELEASED for one in messages(due, recall))


def test_a_sample_may_hold_drafts(library: Library) -> None:
    for message in messages(library, purpose=Purpose.SAMPLE):
        assert message.status is Status.RELEASED, said(message)
        assert message.would_withhold[0].startswith("not approved by a clinician: urgent-now-call")
        assert "frame" in message.would_withhold[0]


def test_a_draft_is_withheld_from_a_patient_with_every_draft_named(library: Library) -> None:
    for message in messages(library):
        assert message.status is Status.WITHHELD
        named = said(message).split("not approved by a clinician: ")[1].split(", ")
        assert {one.block.id for one in message.chosen} | {"frame"} == set(named)


# --- What is judged of one message --------------------------------------------------------


def asked(library: Library, case: Case, channel: Channel = Channel.PRINT) -> tuple[Message, Asked]:
    done = discharge(
        case, library, press=FakePress(), today=TODAY, purpose=Purpose.PATIENT, channels=(channel,)
    )
    return done.messages[0], Asked(
        case=case,
        library=library,
        recall=done.recall,
        facts=patient_facts(case, library),
        choice=done.choice,
        worded=done.worded,
        today=TODAY,
    )


def with_line(message: Message, *spans: Span, block: str = "urgent-now-call") -> Message:
    return replace(message, lines=(*message.lines, Line(spans, block, approved=True)))


def test_a_strange_phone_number_is_noticed(approved: Library) -> None:
    message, judged = asked(approved, a_case())
    strange = with_line(message, Span("0800 000000", Role.PHONE))

    assert stops(message, judged) == []
    assert stops(strange, judged) == [
        "a phone number in urgent-now-call is not one of this clinic's region"
    ]


@pytest.mark.parametrize(
    ("block", "spans", "enough"),
    [
        ("urgent-now-call", (Span("999", Role.PHONE),), True),
        ("contact-phone", (Span("999", Role.PHONE),), False),
        ("frame", (Span("999", Role.PHONE),), False),
        ("urgent-now-call", (Span("999", Role.NAME),), False),
        ("urgent-now-call", (Span("Call 999 now"),), False),
        ("urgent-now-call", (Span("111", Role.PHONE),), False),
    ],
)
def test_only_the_number_itself_among_the_urgent_signs_is_the_emergency_number(
    approved: Library, block: str, spans: tuple[Span, ...], enough: bool
) -> None:
    message, judged = asked(approved, a_case())
    without = [line for line in message.lines if "999" not in line.text]
    only_this = with_line(replace(message, lines=tuple(without)), *spans, block=block)

    assert ("no emergency number of GB" not in stops(only_this, judged)) is enough


@pytest.mark.parametrize(
    ("patient", "span", "enough"),
    [
        (a_patient(), Span("01632 960142", Role.PHONE), True),
        (a_patient(), Span("07700 900142", Role.PHONE), True),
        (a_patient(), Span("hello@larkfield.example", Role.LINK), True),
        (a_patient(), Span("01632 960142", Role.NAME), False),
        (a_patient(mobile=None), Span("07700 900142", Role.PHONE), False),
        (a_patient(email=None), Span("hello@larkfield.example", Role.LINK), False),
        (DEAF, Span("01632 960142", Role.PHONE), False),
        (DEAF, Span("07700 900142", Role.PHONE), True),
        (DEAF, Span("hello@larkfield.example", Role.LINK), True),
        (replace(DEAF, mobile=None), Span("07700 900142", Role.PHONE), False),
    ],
)
def test_a_route_counts_only_for_a_patient_who_can_use_it(
    approved: Library, patient: Any, span: Span, enough: bool
) -> None:
    message, judged = asked(approved, a_case(patient=patient))
    contact = {one.block.id for one in message.chosen if one.block.kind is Kind.CONTACT}
    without = tuple(line for line in message.lines if line.block_id not in contact)
    only_this = with_line(replace(message, lines=without), span, block=sorted(contact)[0])

    found = stops(only_this, judged)

    assert ("no route to the clinic that this patient can use" not in found) is enough


def test_a_text_number_is_an_emergency_number_only_for_who_cannot_speak(approved: Library) -> None:
    region = replace(approved.region, emergency_text_number="61016")
    library = replace(approved, region=region)
    for patient, enough in ((a_patient(), False), (DEAF, True)):
        message, judged = asked(library, a_case(patient=patient))
        without = tuple(line for line in message.lines if "999" not in line.text)
        urgent = next(one.block.id for one in message.chosen if one.block.kind is Kind.URGENT)
        texted = with_line(replace(message, lines=without), Span("61016", Role.PHONE), block=urgent)
        assert ("no emergency number of GB" not in stops(texted, judged)) is enough


# --- The locked screen ---------------------------------------------------------------------


def screened(library: Library, *spans: str, patient: Any = None) -> list[str]:
    message, judged = asked(library, a_case(patient=patient or a_patient()), Channel.SMS)
    return stops(with_line(message, *(Span(text) for text in spans)), judged)


@pytest.mark.parametrize(
    "text",
    ["your ear", "EAR!", "(ear)", "ear-drops", "an e\u00adar", "the\near\tis", "the", "Ear\u200bs"],
)
def test_a_word_of_the_list_is_found_however_it_is_typed(approved: Library, text: str) -> None:
    found = screened(approved, text)

    assert bool(found) is (text != "the")
    assert not found or found[0].startswith("not safe on a locked screen: ")


@pytest.mark.parametrize("text", ["earn", "clear", "near", "hear", "early"])
def test_a_word_inside_another_is_not_found(approved: Library, text: str) -> None:
    assert screened(approved, text) == []


@pytest.mark.parametrize(
    ("listed", "text", "unsafe_"),
    [
        ("کان", "آپ کا کَان", True),  # with a vowel sign
        ("کان", "کـان", True),  # drawn out
        ("کان", "مکان", False),
        ("słuch", "SŁUCH", True),
        ("kłuć", "kłuc\u0301", True),  # a composed letter, typed in two
        ("कान", "आपका कान।", True),
        ("कान", "कौन", False),
    ],
)
def test_words_of_other_scripts_are_whole_words(
    approved: Library, listed: str, text: str, unsafe_: bool
) -> None:
    limits = replace(approved.limits, lock_screen={"en": frozenset({listed})})

    assert bool(screened(replace(approved, limits=limits), text)) is unsafe_


def test_detail_is_for_who_asked_for_it(approved: Library) -> None:
    asking = a_patient(facts=frozenset({"age:adult", "texts:detail"}))

    assert screened(approved, "your ear", patient=asking) == []


def test_a_language_without_a_list_is_not_safe(approved: Library) -> None:
    limits = replace(approved.limits, lock_screen={})

    sms, mail, leaflet = messages(replace(approved, limits=limits))

    assert said(sms) == "shared/limits.toml lists no lock-screen words for en"
    assert mail.status is leaflet.status is Status.RELEASED


# --- What is only told ----------------------------------------------------------------------


def test_limits_are_told_and_stop_nothing(approved: Library) -> None:
    strict = replace(approved, limits=replace(approved.limits, fkgl=0.1, sentence_words=5))

    leaflet = messages(strict)[2]

    assert leaflet.status is Status.RELEASED
    assert leaflet.findings[0].startswith("reading grade ")
    assert leaflet.findings[0].endswith("over the limit of 0.1")
    assert leaflet.findings[1].startswith("a sentence of ")
    assert messages(approved)[2].findings == ()


@pytest.mark.parametrize(
    ("language", "formula", "title", "easier"),
    [
        ("de", "wiener_sachtextformel_1", "Wiener Sachtextformel 1", -0.1),
        ("es", "szigriszt_pazos", "Szigriszt-Pazos", 0.1),
        ("fr", "kandel_moles_207", "Kandel-Moles (207)", 0.1),
        ("pl", "fog_pl", "FOG-PL", -0.1),
        ("pt", "martins", "Martins et al.", 0.1),
    ],
)
def test_a_language_is_held_to_its_own_formula(
    language: str, formula: str, title: str, easier: float, approved: Library
) -> None:
    """An ease is held from below, and a grade from above."""
    case = a_case(patient=a_patient(language=language))

    def leaflet(library: Library) -> Message:
        return messages(library, case, purpose=Purpose.SAMPLE)[2]

    score = leaflet(approved).score
    value = dict(score.own)[formula]
    assert score.fkgl is None

    def told(limit: float) -> list[str]:
        own = {**approved.limits.formulas, formula: limit}
        found = leaflet(replace(approved, limits=replace(approved.limits, formulas=own))).findings
        return [one for one in found if one.startswith(title)]

    assert told(value) == []
    wanted = f"{title} {value:.1f}, harder than the limit of {value + easier:g}"
    assert told(value + easier) == [wanted]


def test_a_language_without_a_formula_is_held_to_none(approved: Library) -> None:
    case = a_case(patient=a_patient(language="ur"))

    assert messages(approved, case, purpose=Purpose.SAMPLE)[2].score.own == ()


def test_where_no_blanks_part_words_a_sentence_is_held_to_its_characters(approved: Library) -> None:
    case = a_case(patient=a_patient(language="zh"))
    drafted = Purpose.SAMPLE
    longest = messages(approved, case, purpose=drafted)[2].score.counts.longest_sentence

    def told(most: int) -> list[str]:
        limits = replace(approved.limits, sentence_words=5, sentence_characters=most)
        found = messages(replace(approved, limits=limits), case, purpose=drafted)[2].findings
        return [one for one in found if "a sentence of" in one]

    assert told(longest) == []
    wanted = f"a sentence of {longest} characters, over the limit of {longest - 1}"
    assert told(longest - 1) == [wanted]


def test_what_was_left_out_to_ask_less_is_told(approved: Library) -> None:
    few = replace(approved, limits=replace(approved.limits, actions=2))

    for message in messages(few):
        (told,) = (one for one in message.findings if one.startswith("left out, so that "))
        assert "no more than 2 things are asked: " in told
        assert "care-wax" in told
        assert told.endswith("; tell the patient, if they need to know")
        assert message.status is Status.RELEASED


@pytest.mark.parametrize(
    ("checked", "told"),
    [
        (TODAY - timedelta(days=365), ()),
        (
            TODAY - timedelta(days=366),
            ("emergency numbers were last checked on 2025-11-23",),
        ),
        (
            TODAY + timedelta(days=1),
            ("emergency numbers are marked as checked on 2026-11-25, which has not come",),
        ),
    ],
)
def test_emergency_numbers_are_to_be_checked_every_year(
    approved: Library, checked: date, told: tuple[str, ...]
) -> None:
    region = replace(approved.region, checked=checked)
    message, judged = asked(replace(approved, region=region), a_case())

    assert tuple(over_limits(message, judged)) == told


def test_an_approved_message_has_nothing_unapproved(approved: Library) -> None:
    message, judged = asked(approved, a_case(ears=(an_ear(), an_ear(side=Side.RIGHT))))

    assert list(unapproved(message, judged)) == []

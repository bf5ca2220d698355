"""The path: every channel the patient can use, scored and gated, and what the record keeps."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from datetime import date

import pytest
from made_up import TODAY, FakePress, a_case, a_patient, an_ear

from aftercare.errors import AftercareError, BadText
from aftercare.flow import Discharge, discharge, records, unusable, usable
from aftercare.model import Case, Channel, Interval, Library, Purpose, Side, Status
from aftercare.render.leaflet import Printed


def done(
    library: Library,
    case: Case | None = None,
    channels: tuple[Channel, ...] = (),
    press: object = None,
    purpose: Purpose = Purpose.PATIENT,
) -> Discharge:
    return discharge(
        case or a_case(),
        library,
        press=press or FakePress(),  # type: ignore[arg-type]  # a Press by its shape
        today=TODAY,
        purpose=purpose,
        channels=channels,
    )


class LongPress:
    def press(self, data: str) -> Printed:
        return Printed(b"%PDF-long", 9)


class StuckPress:
    def press(self, data: str) -> Printed:
        raise BadText("patient.name", "no font has U+1234", "spell it otherwise")


@pytest.mark.parametrize(
    ("patient", "channels"),
    [
        (a_patient(), ("sms", "email", "print")),
        (a_patient(mobile=None), ("email", "print")),
        (a_patient(email=None), ("sms", "print")),
        (a_patient(agreed=frozenset({Channel.SMS})), ("sms",)),
        (a_patient(agreed=frozenset({Channel.EMAIL}), email=None), ()),
    ],
)
def test_only_channels_agreed_to_and_reachable_are_used(
    approved: Library, patient: object, channels: tuple[str, ...]
) -> None:
    case = a_case(patient=patient)

    assert usable(case) == channels
    assert tuple(one.channel for one in done(approved, case).messages) == channels


@pytest.mark.parametrize(
    ("patient", "channel", "why"),
    [
        (a_patient(mobile=None), Channel.SMS, "the patient has no mobile number"),
        (a_patient(email=None), Channel.EMAIL, "the patient has no e-mail address"),
        (
            a_patient(agreed=frozenset({Channel.SMS})),
            Channel.PRINT,
            "the patient has not agreed to print",
        ),
    ],
)
def test_a_channel_asked_for_that_cannot_be_used_is_withheld_with_that_reason_alone(
    approved: Library, patient: object, channel: Channel, why: str
) -> None:
    case = a_case(patient=patient)

    (message,) = done(approved, case, (channel,)).messages

    assert unusable(case, channel) == why
    assert message.withheld_because == (why,)
    assert (message.status, message.body) == (Status.WITHHELD, None)


def test_a_channel_named_twice_is_made_once(approved: Library) -> None:
    twice = (Channel.SMS, Channel.SMS)

    assert [one.channel for one in done(approved, channels=twice).messages] == ["sms"]


def test_words_that_cannot_be_printed_withhold_the_leaflet_and_nothing_else(
    approved: Library,
) -> None:
    sms, mail, leaflet = done(approved, press=StuckPress()).messages

    assert leaflet.withheld_because == ("patient.name: no font has U+1234; spell it otherwise",)
    assert leaflet.body is None
    assert sms.status is mail.status is Status.RELEASED


def test_a_long_leaflet_is_told(approved: Library) -> None:
    leaflet = done(approved, press=LongPress()).messages[2]

    most = approved.limits.print_pages
    assert (leaflet.pages, leaflet.findings) == (9, (f"9 pages, over the limit of {most}",))


def test_large_print_has_its_own_size_and_limit(approved: Library) -> None:
    large = a_patient(facts=frozenset({"age:adult", "format:large-print"}))

    leaflet = done(approved, a_case(patient=large), press=LongPress()).messages[2]
    shown = done(approved, a_case(patient=large)).messages[2].body
    usual = done(approved).messages[2].body

    limits = approved.limits
    assert leaflet.findings == (f"9 pages, over the limit of {limits.print_pages_large}",)
    assert limits.large_print_point > limits.print_point
    assert f'"point": {limits.large_print_point}'.encode() in (shown or b"")
    assert f'"point": {limits.print_point}'.encode() in (usual or b"")


def test_an_overlong_text_is_told_and_its_dropped_blocks_named(approved: Library) -> None:
    tight = replace(approved, limits=replace(approved.limits, sms_parts=1))

    (sms,) = done(tight, channels=(Channel.SMS,)).messages

    assert sms.sms is not None
    assert sms.findings == (
        f"{sms.sms.parts} parts, over the limit of 1; only vital words are left",
    )
    assert "care-steady" in sms.dropped
    assert sms.status is Status.RELEASED


def test_every_message_is_scored_even_when_withheld(library: Library) -> None:
    for message in done(library).messages:
        assert message.status is Status.WITHHELD
        assert message.score.counts.words > 0
        assert message.score.counts.sentences > 0


def test_the_recall_is_counted_from_the_visit(approved: Library) -> None:
    case = a_case(visit_date=date(2026, 11, 18), recall=Interval(months=6))

    found = done(approved, case)

    # 18 May 2027 is a Tuesday and no bank holiday in England (gov.uk list, from memory).
    assert found.recall is not None
    assert found.recall.on == date(2027, 5, 18)
    assert "Tuesday, 18 May 2027" in " ".join(line.text for line in found.worded.lines())
    assert done(approved, a_case(recall=None, recall_declined="no")).recall is None


def test_a_clinic_that_never_opens_is_refused(approved: Library) -> None:
    closed = replace(approved, clinic=replace(approved.clinic, open_days=frozenset()))

    with pytest.raises(AftercareError, match="no open day"):
        done(closed)


def test_the_record_keeps_what_was_decided_and_a_digest_never_a_name(
    approved: Library, library: Library
) -> None:
    case = a_case(ears=(an_ear(), an_ear("procedure:suction", side=Side.RIGHT)))

    found = done(approved, case)
    kept = records(found, "2026-11-24T12:00:00+00:00")
    held = records(done(library, case), "2026-11-24T12:00:00+00:00")

    for record, message in zip(kept, found.messages, strict=True):
        assert record.digest == hashlib.sha256(message.body or b"").hexdigest()
        assert (record.case, record.library) == ("case-1", approved.fingerprint)
        assert (record.channel, record.status) == (message.channel, Status.RELEASED)
    for record in held:
        assert record.digest is None
        assert record.because
    assert case.patient.name not in repr(kept) + repr(held)

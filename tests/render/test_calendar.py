"""A visit as a calendar file, read back by two other libraries and held against zoneinfo."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from email import message_from_bytes
from email.message import EmailMessage
from email.policy import SMTP
from io import StringIO
from zoneinfo import ZoneInfo

import icalendar
import pytest
import vobject
from dateutil import tz
from hypothesis import given, settings
from hypothesis import strategies as st
from made_up import HOME

from aftercare.errors import BadText
from aftercare.library.settings import parse_clinic, parse_limits
from aftercare.render.calendar import (
    Appointment,
    Method,
    calendar_file,
    content_type,
    folded,
    uid_of,
)
from aftercare.rules.privacy import in_view

CLINIC = parse_clinic("shared/clinic.toml", (HOME / "shared/clinic.toml").read_bytes())
LIMITS = parse_limits("shared/limits.toml", (HOME / "shared/limits.toml").read_bytes())
ZONES = (
    "Europe/London", "Europe/Dublin", "America/New_York", "Australia/Lord_Howe",
    "Pacific/Auckland", "Asia/Kolkata", "Africa/Casablanca", "America/St_Johns", "UTC",
)  # fmt: skip
STAMP = datetime(2026, 11, 24, 9, tzinfo=UTC)
VISIT = Appointment(
    uid=uid_of(7, "larkfield.example"),
    sequence=0,
    start=datetime(2027, 3, 10, 10, 30, tzinfo=ZoneInfo("Europe/London")),
    zone="Europe/London",
    minutes=20,
    stamp=STAMP,
    summary=f"The next visit to {CLINIC.short_name}",
    description=f"Phone us: {CLINIC.phone}.\nE-mail us: {CLINIC.email}.",
    location=CLINIC.short_name,
    language="en",
    organizer=CLINIC.sender,
)
MOMENTS = st.integers(0, 14 * 365 * 24 * 4).map(
    lambda quarters: datetime(2022, 1, 1, tzinfo=UTC) + timedelta(minutes=15 * quarters)
)
# The hours around changes in London, New York and Lord Howe, where an onset told wrongly is seen.
AROUND = st.builds(
    lambda change, quarters: change + timedelta(minutes=15 * quarters),
    st.sampled_from(
        [
            datetime(2026, 3, 29, 1, tzinfo=UTC), datetime(2026, 10, 25, 1, tzinfo=UTC),
            datetime(2026, 3, 8, 7, tzinfo=UTC), datetime(2026, 11, 1, 6, tzinfo=UTC),
            datetime(2026, 4, 4, 15, tzinfo=UTC), datetime(2026, 10, 3, 15, 30, tzinfo=UTC),
        ]
    ),
    st.integers(-8, 8),
)  # fmt: skip
# What a text may hold: any letter, and all that has a meaning in a calendar file.
STEERING = "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
TEXTS = st.text(
    st.characters(exclude_categories=["Cc", "Cs", "Zl", "Zp"], exclude_characters=STEERING)
    | st.sampled_from(list("\\;,:\"'\n^=żكن🩺"))
)


def made(method: Method = Method.PUBLISH, **changes: object) -> bytes:
    return calendar_file(replace(VISIT, **changes), method)  # type: ignore[arg-type]


def lines(raw: bytes) -> list[str]:
    return raw.decode().replace("\r\n ", "").split("\r\n")


def event(raw: bytes) -> icalendar.Event:
    (found,) = icalendar.Calendar.from_ical(raw).walk("VEVENT")
    return found


# --- read back --------------------------------------------------------------------------------


@given(MOMENTS | AROUND, st.sampled_from(ZONES))
@settings(max_examples=300, deadline=None)
def test_icalendar_reads_the_moment_that_was_written(moment: datetime, zone: str) -> None:
    found = event(made(start=moment, zone=zone))

    assert found.start.astimezone(UTC) == moment
    # The library's own sum of the two is on the wall clock; an exact duration is not (3.3.6).
    assert found.duration == timedelta(minutes=20)


@given(MOMENTS | AROUND, st.sampled_from(ZONES))
@settings(max_examples=300, deadline=None)
def test_vobject_reads_the_moment_from_the_zone_in_the_file_alone(
    moment: datetime, zone: str
) -> None:
    """vobject gives the time zones by name, so the zone it built from the file is put in place."""
    found = vobject.readOne(made(start=moment, zone=zone).decode())
    start = found.vevent.dtstart.value
    if "vtimezone" in found.contents:
        start = start.replace(tzinfo=found.vtimezone.tzinfo)

    assert start.astimezone(UTC) == moment


@given(MOMENTS, st.sampled_from(ZONES))
@settings(max_examples=150, deadline=None)
def test_the_zone_in_the_file_has_the_offsets_of_zoneinfo_all_year(
    moment: datetime, zone: str
) -> None:
    """dateutil reads the VTIMEZONE; every noon of the visit's year is the same by both."""
    text = made(start=moment, zone=zone).decode().replace("\r\n ", "")
    if "BEGIN:VTIMEZONE" not in text:  # the second of two alike is told in UTC
        return
    theirs = tz.tzical(StringIO(text)).get(zone)
    noon = datetime(moment.year, 1, 1, 12)  # noqa: DTZ001
    for day in range(0, 365, 5):
        at = noon + timedelta(days=day)
        assert (
            at.replace(tzinfo=theirs).utcoffset() == at.replace(tzinfo=ZoneInfo(zone)).utcoffset()
        )


@given(TEXTS, TEXTS)
@settings(max_examples=300, deadline=None)
def test_texts_come_back_as_they_were(summary: str, description: str) -> None:
    raw = made(summary=summary, description=description)
    found = event(raw)

    assert str(found["SUMMARY"]) == summary
    assert str(found["DESCRIPTION"]) == description
    assert found["SUMMARY"].params["LANGUAGE"] == "en"


@given(TEXTS)
@settings(max_examples=300, deadline=None)
def test_no_line_is_over_75_octets_and_no_character_is_parted(text: str) -> None:
    """RFC 5545, 3.1."""
    raw = made(description=text)

    for line in raw.removesuffix(b"\r\n").split(b"\r\n"):
        assert len(line) <= 75
        line.decode()
        assert b"\n" not in line
        assert b"\r" not in line


@given(st.text(st.characters(exclude_categories=["Cc", "Cs"]), max_size=400))
def test_unfolding_gives_the_line_back(line: str) -> None:
    assert folded(line).removesuffix("\r\n").replace("\r\n ", "") == line


# --- the traps --------------------------------------------------------------------------------


def onsets(raw: bytes, kind: str) -> Iterator[tuple[str, str, str]]:
    text = "\n".join(lines(raw))
    for found in re.findall(rf"BEGIN:{kind}\n(.*?)END:{kind}", text, re.DOTALL):
        told = dict(line.split(":", 1) for line in found.strip().split("\n"))
        yield told["DTSTART"], told["TZOFFSETFROM"], told["TZOFFSETTO"]


def test_an_onset_is_the_wall_time_before_the_change() -> None:
    """RFC 5545, 3.6.5: clocks go forward at 01:00 in London, as they show it before.

    The United Kingdom's dates are those of gov.uk/when-do-the-clocks-change (from memory).
    """
    assert ("20270328T010000", "+0000", "+0100") in set(onsets(made(), "DAYLIGHT"))
    assert ("20271031T020000", "+0100", "+0000") in set(onsets(made(), "STANDARD"))


def test_the_example_of_the_standard_is_told_the_same() -> None:
    """RFC 5545, 3.6.5: New York since 2007, from the second Sunday of March at 02:00 -0500."""
    raw = made(zone="America/New_York", start=datetime(2008, 6, 1, tzinfo=UTC))

    assert ("20070311T020000", "-0500", "-0400") in set(onsets(raw, "DAYLIGHT"))
    assert ("20071104T020000", "-0400", "-0500") in set(onsets(raw, "STANDARD"))


def test_the_second_of_two_moments_alike_is_told_in_utc() -> None:
    first = datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
    second = first + timedelta(hours=1)

    assert "DTSTART;TZID=Europe/London:20261025T013000" in lines(made(start=first))
    assert "DTSTART:20261025T013000Z" in lines(made(start=second))
    assert b"VTIMEZONE" not in made(start=second)
    assert event(made(start=first)).start.astimezone(UTC) == first


@pytest.mark.parametrize("char", [*map(chr, range(0x20)), "\x7f", "\x85", "\u2028", "\u202e"])
def test_what_no_calendar_holds_is_refused_by_its_code_point(char: str) -> None:
    """RFC 5545, 3.3.11; a line break alone may stand in a text, and is escaped."""
    if char == "\n":
        assert str(event(made(summary=f"a{char}b"))["SUMMARY"]) == "a\nb"
        return
    for field in ("summary", "description", "location", "uid"):
        with pytest.raises(BadText, match=rf"calendar {field}: .*U\+{ord(char):04X}"):
            made(**{field: f"a{char}b"})


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("organizer", "a@x.example\r\nATTENDEE:mailto:b@x.example"), ("organizer", "no address"),
        ("organizer", "ä@x.example"), ("language", "en:x"), ("language", "en;X=1"),
        ("language", ""),
    ],
)  # fmt: skip
def test_a_value_that_would_be_another_property_is_refused(field: str, value: str) -> None:
    with pytest.raises(BadText, match=f"calendar {field}"):
        made(**{field: value})


def test_a_text_that_looks_like_a_property_stays_a_text() -> None:
    found = event(made(summary="x\nATTENDEE:mailto:b@x.example\nEND:VEVENT"))

    assert "ATTENDEE" not in found
    assert str(found["SUMMARY"]).startswith("x\nATTENDEE")


# --- what the standards ask -------------------------------------------------------------------


@pytest.mark.parametrize("method", Method)
def test_what_must_be_there_is_there_once(method: Method) -> None:
    """RFC 5545, 3.6 and 3.6.1; RFC 5546, 3.2.1 and 3.2.5: an organizer, and for PUBLISH nobody
    who attends."""
    told = lines(made(method))
    for name in (
        "VERSION", "PRODID", "METHOD", "UID", "DTSTAMP", "DTSTART", "SEQUENCE", "ORGANIZER",
        "SUMMARY", "STATUS",
    ):  # fmt: skip
        inside = "\n".join(told).split("BEGIN:VEVENT")
        where = inside[0] if name in ("VERSION", "PRODID", "METHOD") else inside[1]
        assert len(re.findall(rf"^{name}[:;]", where, re.MULTILINE)) == 1
    assert not [line for line in told if line.startswith("ATTENDEE")]
    assert told[-1] == ""
    vobject.readOne(made(method).decode()).validate(raiseException=True)


def test_a_visit_called_off_takes_out_the_one_that_was_entered() -> None:
    """RFC 5546, 2.1.4 and 3.2.5: the same UID, a greater SEQUENCE, the status CANCELLED."""
    booked, off = event(made()), event(made(Method.CANCEL, sequence=1))

    assert booked["UID"] == off["UID"]
    assert off["SEQUENCE"] > booked["SEQUENCE"]
    assert (booked["STATUS"], off["STATUS"]) == ("CONFIRMED", "CANCELLED")
    assert booked.start == off.start


def test_an_identifier_tells_nothing_and_stays() -> None:
    assert uid_of(7, "larkfield.example") == uid_of(7, "larkfield.example")
    assert uid_of(7, "larkfield.example") != uid_of(8, "larkfield.example")
    assert re.fullmatch(r"[0-9a-f]{32}@larkfield\.example", uid_of(7, "larkfield.example"))


@pytest.mark.parametrize("method", Method)
def test_in_an_e_mail_the_method_is_told_twice_and_alike(method: Method) -> None:
    """RFC 6047, 2.4: the parameter and the property name the same method; bytes come through."""
    raw = made(method, summary="Następna wizyta", language="pl")
    mail = EmailMessage(policy=SMTP)
    mail.set_content("See the file.")
    mail.add_attachment(
        raw.decode(), subtype="calendar", params=content_type(method), filename="visit.ics"
    )

    (part,) = message_from_bytes(mail.as_bytes(), policy=SMTP).iter_attachments()
    assert part.get_content_type() == "text/calendar"
    assert part["Content-Type"].params["method"] == method.value
    assert f"METHOD:{method.value}" in lines(raw)
    assert part.get_content().replace("\n", "\r\n").replace("\r\r", "\r") == raw.decode()


def test_nothing_in_the_file_names_what_the_visit_is_for() -> None:
    shown = "\n".join(lines(made()))

    assert list(in_view(shown, LIMITS.lock_screen["en"])) == []
    assert "CLASS:PRIVATE" in shown


def test_the_same_visit_gives_the_same_bytes() -> None:
    assert made() == made()

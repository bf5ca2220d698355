"""One reminder through every room: what it says, what holds it back, and what goes on record."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from email import message_from_bytes
from email.message import EmailMessage
from email.policy import default
from hashlib import sha256

import icalendar
import pytest
from made_up import FakePress
from made_up_recalls import a_person
from made_up_reminders import START, an_order

from aftercare.model import Channel, Library, Message, Moment, Purpose, Status
from aftercare.recall.steps import APPOINTMENT, RECALL
from aftercare.reminding import Order, Reminding, record

REFUSED = Status.WITHHELD


def write(library: Library, order: Order, purpose: Purpose = Purpose.PATIENT) -> Message:
    return Reminding(library, FakePress(), purpose).write(order)


def mail(message: Message) -> EmailMessage:
    assert message.body is not None, message.withheld_because
    found = message_from_bytes(message.body, policy=default)
    assert isinstance(found, EmailMessage)
    return found


def told(message: EmailMessage, kind: str) -> str:
    part = message.get_body((kind,))
    assert part is not None
    return str(part.get_content())


def test_a_text_says_when_and_how_to_answer_and_where_it_goes(approved: Library) -> None:
    message = write(approved, an_order(Moment.BEFORE, Channel.SMS))

    text = (message.body or b"").decode()
    assert text.startswith(
        "To: +447700900101\nFrom: 2027-01-27 08:00 UTC\nUntil: 2027-02-01 20:00 UTC\n\nPart 1 of"
    )
    said = "".join(message.sms.texts if message.sms else ())
    assert said.startswith("Larkfield Clinic:\nFor Robin:\n")
    assert "Wed, 10 Mar 2027 at 10:30" in said
    assert "Ash" not in said


def test_an_email_says_the_same_as_text_and_as_a_page(approved: Library) -> None:
    found = mail(write(approved, an_order(Moment.INVITE, Channel.EMAIL)))

    assert found["To"] == "robin@x.example"
    assert found["Auto-Submitted"] == "auto-generated"
    for kind in ("plain", "html"):
        assert "Dear Robin Ash," in told(found, kind)
        # On the page its day stays with its month.
        assert "Wednesday, 10 March 2027" in told(found, kind).replace("&nbsp;", " ")
    assert all(len(line) <= 76 for line in found.as_bytes().splitlines()[20:])  # RFC 2045, 6.7


# icalendar reads what our own room has written (RFC 5545).
@pytest.mark.parametrize("moment", [Moment.BOOKED, Moment.BEFORE, Moment.CHANGED])
def test_an_email_about_a_visit_brings_it_to_the_calendar(
    approved: Library, moment: Moment
) -> None:
    (part,) = mail(write(approved, an_order(moment, Channel.EMAIL))).iter_attachments()

    assert part.get_content_type() == "text/calendar"
    calendar = icalendar.Calendar.from_ical(part.get_content())
    (event,) = calendar.walk("VEVENT")
    assert event.decoded("DTSTART") == START
    assert str(calendar["METHOD"]) == "PUBLISH" == part.get_param("method")
    assert "01632 960142" in str(event["DESCRIPTION"])
    assert not {"ear", "wax"} & set(str(event).lower().split())


def test_a_cancelled_visit_is_taken_out_of_the_calendar(approved: Library) -> None:
    (part,) = mail(write(approved, an_order(Moment.CANCELLED, Channel.EMAIL))).iter_attachments()

    calendar = icalendar.Calendar.from_ical(part.get_content())
    assert str(calendar["METHOD"]) == "CANCEL"


@pytest.mark.parametrize("moment", list(Moment))
def test_every_moment_can_be_written_on_every_channel_it_has(
    approved: Library, moment: Moment
) -> None:
    channels = [Channel.PRINT] if moment is Moment.LETTER else list(Channel)
    for channel in channels:
        message = write(approved, an_order(moment, channel))
        assert message.status is Status.RELEASED, message.withheld_because
        assert message.findings == ()


@pytest.mark.parametrize("language", ["pl", "ur", "zh"])
def test_a_reader_is_written_to_in_their_language(approved: Library, language: str) -> None:
    for channel in Channel:
        message = write(approved, an_order(channel=channel, person=a_person(language=language)))
        assert (message.status, message.language) == (Status.RELEASED, language)
        assert message.findings == ()


def test_a_draft_reaches_nobody_but_as_a_stamped_sample(library: Library) -> None:
    order = an_order(Moment.INVITE, Channel.EMAIL)

    held = write(library, order)
    sample = write(library, order, Purpose.SAMPLE)

    assert (held.status, held.body) == (REFUSED, None)
    assert held.withheld_because[0].startswith("not approved by a clinician: reminder-invite")
    assert "frame" in held.withheld_because[0]
    assert sample.would_withhold == held.withheld_because
    assert "Sample, not for patients" in told(mail(sample), "plain")
    assert "Sample" in mail(sample)["Subject"]


def test_words_past_their_review_date_reach_nobody(approved: Library) -> None:
    message = write(approved, an_order(on=date(2029, 1, 1)))

    assert message.status is REFUSED
    assert message.withheld_because[0].startswith("past its review date: reminder-")


def test_a_language_that_is_not_there_falls_back_and_says_so(approved: Library) -> None:
    message = write(approved, an_order(person=a_person(language="tr")))

    assert (message.language, message.instead_of) == ("en", "tr")
    assert message.noted[0].startswith("written in en, not tr: there is no catalogue for tr")


@pytest.mark.parametrize(
    ("moment", "topic"), [(Moment.INVITE, RECALL), (Moment.BEFORE, APPOINTMENT)]
)
def test_what_somebody_opted_out_of_is_asked_once_more(
    approved: Library, moment: Moment, topic: str
) -> None:
    person = a_person(opted_out=frozenset({(topic, Channel.SMS)}))

    assert write(approved, an_order(moment, person=person)).withheld_because == ("sms: opted out",)
    assert write(approved, an_order(moment, Channel.EMAIL, person=person)).body


def test_a_time_nobody_kept_is_not_made_up(approved: Library) -> None:
    message = write(approved, an_order(Moment.CHANGED, times={"appointment": START}))

    assert message.withheld_because == ("not on record: former_date, former_time",)


@pytest.mark.parametrize("char", ["\0", "\n", "\x85", "\u2028", "\ud800", "\x1b"])
def test_a_name_that_cannot_be_shown_is_refused_without_being_repeated(
    approved: Library, char: str
) -> None:
    for channel in Channel:
        order = an_order(channel=channel, person=a_person(first_name=f"Ro{char}bin"))
        (because,) = write(approved, order).withheld_because
        assert f"U+{ord(char):04X} at 2" in because
        assert "bin" not in because


def test_somebody_may_be_called_like_a_listed_word(approved: Library) -> None:
    message = write(approved, an_order(person=a_person(first_name="Wax")))

    assert message.status is Status.RELEASED


def test_a_line_that_shows_an_ear_is_held_back_from_a_locked_screen(approved: Library) -> None:
    listed = {**approved.limits.lock_screen, "en": frozenset({"visit"})}
    library = replace(approved, limits=replace(approved.limits, lock_screen=listed))

    for channel in (Channel.SMS, Channel.EMAIL):
        message = write(library, an_order(Moment.BEFORE, channel))
        assert "not safe on a locked screen: visit" in message.withheld_because


def test_a_long_name_is_told_when_it_costs_a_part(approved: Library) -> None:
    library = replace(approved, limits=replace(approved.limits, sms_parts=2))
    long = write(library, an_order(person=a_person(first_name="Bartholomew" * 20)))

    assert long.findings == ("3 parts, over the limit of 2",)


def test_a_page_that_is_hard_to_read_is_told(approved: Library) -> None:
    library = replace(approved, limits=replace(approved.limits, fkgl=0.5))
    message = write(library, an_order(channel=Channel.EMAIL))

    assert message.score.fkgl is None  # too short for a figure that could be shown
    assert message.findings[0].startswith("reading grade")


def test_a_page_in_another_language_is_held_to_its_own_formula(approved: Library) -> None:
    limits = replace(approved.limits, formulas={"fog_pl": 0.5})
    order = an_order(channel=Channel.EMAIL, person=a_person(language="pl"))
    message = write(replace(approved, limits=limits), order, purpose=Purpose.SAMPLE)

    assert message.language == "pl"
    assert message.findings[0].startswith("FOG-PL ")
    assert message.findings[0].endswith("harder than the limit of 0.5")


def test_a_child_is_written_to_by_way_of_a_parent(approved: Library) -> None:
    person = a_person(born=date(2020, 5, 1))
    letter = write(approved, an_order(channel=Channel.EMAIL, person=person))

    assert "Dear parent or carer of Robin Ash," in told(mail(letter), "plain")


def test_who_cannot_phone_is_never_only_told_to(approved: Library) -> None:
    reached = a_person(mobile=None, agreed=frozenset({Channel.PRINT}))
    deaf = replace(reached, facts=frozenset({"need:deaf"}))
    blocks = tuple(one for one in approved.reminders if one.id != "reminder-email")

    held = write(replace(approved, reminders=blocks), an_order(channel=Channel.PRINT, person=deaf))

    assert held.withheld_because == ("no way to contact the clinic without a phone",)
    assert write(approved, an_order(channel=Channel.PRINT, person=deaf)).body


def test_the_record_has_the_key_and_a_digest_and_nothing_of_the_patient(approved: Library) -> None:
    order = an_order()
    message = write(approved, order)

    kept = record(order, message, approved, "2027-01-27T08:00:00+00:00")

    assert kept.case == order.key
    assert kept.digest == sha256(message.body or b"").hexdigest()
    assert not {"Robin", "Ash", "447700900101"} & set(str(kept).replace("'", " ").split())


def test_the_same_order_gives_the_same_bytes(approved: Library) -> None:
    for channel in Channel:
        order = an_order(Moment.BEFORE, channel)
        assert write(approved, order) == write(approved, order)


def test_no_date_shows_a_word_that_a_locked_screen_must_not(approved: Library) -> None:
    # The quick way looks for them once, around a hole where the date will be.
    from datetime import timedelta

    from aftercare.rules.privacy import in_view
    from aftercare.word.formats import full_date, reader_locale, short_date

    for language, listed in approved.limits.lock_screen.items():
        locale = reader_locale(language, approved.clinic.territory)
        days = [date(2027, 1, 1) + timedelta(days=n) for n in range(365)]
        shown = " - ".join(f"{full_date(day, locale)} - {short_date(day, locale)}" for day in days)
        assert list(in_view(shown, listed)) == []
    assert list(in_view("10 March", frozenset({"march"})))

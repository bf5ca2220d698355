"""A letter no print font has, wherever a clinic can write one: print stops there and says so."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from made_up_recalls import a_person
from made_up_reminders import an_order
from scripts.written import a_visit, house, reminding

from aftercare.flow import discharge
from aftercare.model import Case, Channel, Library, Message, Moment, Purpose, Status
from aftercare.recall.people import Person

# Nobody's, in Tibetan letters.
NAME = "བསོད"
TOLD = "the character U+0F56 (TIBETAN LETTER BA) is in none of the print fonts"
Made = tuple[Case, Library]


def patient(case: Case, library: Library) -> Made:
    return replace(case, patient=replace(case.patient, name=NAME)), library


def clinician(case: Case, library: Library) -> Made:
    return replace(case, clinician=f"Dr {NAME}"), library


def clinic(case: Case, library: Library) -> Made:
    return case, replace(library, clinic=replace(library.clinic, name=f"{NAME} Ear Care"))


def messages(made: Made, *channels: Channel) -> dict[Channel, Message]:
    case, library = made
    done = discharge(
        case, library, press=house().press, today=case.visit_date, purpose=Purpose.SAMPLE,
        channels=channels,
    )  # fmt: skip
    return {one.channel: one for one in done.messages}


def stopped(message: Message, place: str) -> None:
    assert (message.status, message.body) == (Status.WITHHELD, None)
    (why,) = message.withheld_because
    assert why.startswith(f"{place}: {TOLD}")
    assert NAME not in why


@pytest.mark.parametrize("language", ["en", "ur"])
@pytest.mark.parametrize(
    ("write", "place"),
    [
        (patient, "frame salutation, a name"),
        (clinician, "frame visit_line, a name"),
        (clinic, "clinic"),
    ],
)
def test_print_stops_and_says_where_and_the_other_messages_go_on(
    write: Callable[[Case, Library], Made], place: str, language: str
) -> None:
    told = messages(write(a_visit(language), house().library), *Channel)

    stopped(told[Channel.PRINT], place)
    for channel in (Channel.SMS, Channel.EMAIL):
        assert told[channel].status is not Status.WITHHELD
        assert told[channel].body


def test_who_is_sent_texts_alone_is_not_asked_of_the_print_fonts() -> None:
    (text,) = messages(patient(a_visit("en"), house().library), Channel.SMS).values()

    assert text.status is not Status.WITHHELD


@pytest.mark.parametrize("language", ["en", "ur"])
@pytest.mark.parametrize(
    ("person", "place"),
    [
        (a_person(first_name=NAME), "frame salutation, a name"),
        (a_person(last_name=NAME), "frame salutation, a name"),
        (a_person(address=("1 Sample Street", NAME)), "patient.address"),
    ],
)
def test_a_letter_stops_and_says_where_and_a_text_goes_on(
    person: Person, place: str, language: str
) -> None:
    person = replace(person, language=language)

    stopped(reminding().write(an_order(Moment.INVITE, Channel.PRINT, person=person)), place)
    for channel in (Channel.SMS, Channel.EMAIL):
        sent = reminding().write(an_order(Moment.INVITE, channel, person=person))
        assert sent.status is not Status.WITHHELD

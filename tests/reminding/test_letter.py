"""A letter as it is printed, read back with pdfium."""

from __future__ import annotations

from collections.abc import Iterator

import pypdfium2
import pytest
from made_up_recalls import a_person
from made_up_reminders import an_order

from aftercare.edges.press import TypstPress
from aftercare.model import Channel, Library, Message, Moment, Purpose, Status
from aftercare.recall.people import Person
from aftercare.reminding import Reminding

ADDRESS = ("Flat 2", "1 Sample Street", "Larkfield", "Nowhere", "ZZ1 1ZZ")
MM = 72 / 25.4


@pytest.fixture(scope="module")
def press() -> TypstPress:
    return TypstPress()


def printed(library: Library, press: TypstPress, person: Person) -> Message:
    order = an_order(Moment.INVITE, Channel.PRINT, person=person)
    return Reminding(library, press, Purpose.PATIENT).write(order)


def lines(message: Message) -> Iterator[tuple[float, float, str]]:
    """Where each run of text begins and ends on page 1, in mm from its top, and the text."""
    page = pypdfium2.PdfDocument(message.body)[0]
    text, height = page.get_textpage(), page.get_height()
    for at in range(text.count_rects()):
        left, bottom, right, top = text.get_rect(at)
        said = text.get_text_bounded(left, bottom, right, top).strip()
        yield (height - top) / MM, (height - bottom) / MM, said


@pytest.mark.parametrize("large", [False, True])
@pytest.mark.parametrize("language", ["en", "ur", "pl"])
def test_an_address_stands_in_the_window_and_nothing_is_printed_over_it(
    approved: Library, press: TypstPress, language: str, large: bool
) -> None:
    facts = frozenset({"format:large-print"} if large else ())
    person = a_person(language=language, address=ADDRESS, facts=facts)

    message = printed(approved, press, person)

    assert (message.status, message.language) == (Status.RELEASED, language)
    assert message.pages == (2 if large else 1)
    found = list(lines(message))
    # pdfium tells the words of a page from right to left the other way round.
    name = next(one for one in found if sorted(one[2].split()) == ["Ash", "Robin"])
    last = next(one for one in found if "ZZ1 1ZZ" in one[2])
    # The window of a DL envelope on a sheet folded in three, from memory.
    assert 44 < name[0] < 52
    assert last[1] < (100 if large else 87)
    # The clinic's name is above, the first words of the letter below; nothing is between.
    between = [one for one in found if one[1] > name[0] and one[0] < last[1]]
    assert len(between) == 1 + len(ADDRESS)


def test_a_name_no_font_holds_is_told_and_not_printed(approved: Library, press: TypstPress) -> None:
    message = printed(approved, press, a_person(last_name="\U0001f442"))

    assert (message.status, message.body) == (Status.WITHHELD, None)
    assert "U+1F442" in message.withheld_because[0]
    assert "Robin" not in message.withheld_because[0]

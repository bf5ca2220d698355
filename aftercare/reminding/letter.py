"""The letter: a reminder on paper, with the address for a window envelope."""

from __future__ import annotations

from dataclasses import replace

from aftercare.flow import EDITION_SHOWN, Press
from aftercare.model import Fact, Library, Message, Purpose, Worded
from aftercare.reminding.order import Order
from aftercare.render.letter import letter_data

_LARGE = "format:large-print"


def letter(
    message: Message,
    order: Order,
    worded: Worded,
    facts: frozenset[Fact],
    library: Library,
    press: Press,
    purpose: Purpose,
) -> Message:
    """The message as a page. Raises ``BadText`` for a character no font has."""
    limits, person = library.limits, order.person
    large = _LARGE in facts
    most = limits.print_pages_large if large else limits.print_pages
    name = f"{person.first_name} {person.last_name}".strip()
    data = letter_data(
        worded,
        address=(name, *person.address),
        clinic=library.clinic.name,
        purpose=purpose,
        point=limits.large_print_point if large else limits.print_point,
        edition=library.fingerprint.removeprefix("sha256:")[:EDITION_SHOWN],
        chosen=message.chosen,
        most_pages=most,
    )
    printed = press.press(data)
    long = [f"{printed.pages} pages, over the limit of {most}"] if printed.pages > most else []
    return replace(message, body=printed.pdf, pages=printed.pages, findings=tuple(long))

"""Which spaces are no place to end a line."""

from __future__ import annotations

import pytest
from hypothesis import given
from strategies import hostile_texts

from aftercare.model import Role, Span
from aftercare.render.unparted import counted, unparted


def kept(*spans: Span | str, language: str = "en") -> str:
    """What the spans say, with ``_`` for a space that is no place to end a line."""
    made = unparted((Span(one) if isinstance(one, str) else one for one in spans), language)
    return "".join(span.text for span in made).replace("\u00a0", "_")


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("no better in three days (72 hours).", "no better in three days (72_hours)."),
        ("measured 3.5 cm (1½ inches).", "measured 3.5_cm (1½_inches)."),
        ("4,5 cm (¾ Zoll) lang", "4,5_cm (¾_Zoll) lang"),
        ("9 bis 17 Uhr", "9_bis 17_Uhr"),
        ("de 9 h à 17 h.", "de 9_h à 17_h."),
        ("(\u20661½\u2069 انچ)", "(\u20661½\u2069_انچ)"),
        # Nothing is counted here.
        ("call 999, or 2 - 3", "call 999, or 2 - 3"),
        ("type B12 now, v2 too", "type B12 now, v2 too"),
    ],
)
def test_a_number_stays_with_what_it_counts(text: str, wanted: str) -> None:
    """SI brochure (BIPM, 9th edition), 5.4.3: a space parts number and unit; that no line may end
    there is common practice, no source."""
    assert kept(text) == wanted
    assert counted(text).replace("\u00a0", "_") == wanted


def test_the_day_stays_with_its_month_and_the_year_may_go_to_the_next_line() -> None:
    assert kept(Span("Wednesday, 10 March 2027", Role.DATE), " at ten") == (
        "Wednesday, 10_March 2027 at ten"
    )


def test_a_number_in_a_slot_stays_with_the_word_after_it() -> None:
    assert kept("um ", Span("10:30", Role.DATE), " Uhr nicht") == "um 10:30_Uhr nicht"
    assert kept("takes ", Span("20"), " minutes") == "takes 20_minutes"
    assert kept("is ", Span("20"), ", not 30") == "is 20, not 30"


def test_a_number_to_ring_counts_nothing() -> None:
    assert kept("Text ", Span("999", Role.PHONE), " now") == "Text 999 now"


def test_no_line_of_polish_ends_with_a_word_of_one_letter() -> None:
    """Common practice in Polish print; PN-83/P-55366 from memory."""
    text = "W uchu i z ucha o 9, a potem do ucha"

    assert kept(text, language="pl") == "W_uchu i_z_ucha o_9, a_potem do ucha"
    assert kept(
        "do ", Span("A B", Role.PHONE), " w ", Span("Larkfield", Role.NAME), language="pl"
    ) == ("do A B w_Larkfield")
    assert kept(text, language="pl_PL") == kept(text, language="pl")
    assert kept("a spot, I see") == "a spot, I see"


@given(text=hostile_texts(), role=...)
def test_no_other_character_differs(text: str, role: Role) -> None:
    for language in ("en", "pl"):
        (made,) = unparted([Span(text, role)], language)

        assert made.text.replace("\u00a0", " ") == text.replace("\u00a0", " ")
        assert made.role is role

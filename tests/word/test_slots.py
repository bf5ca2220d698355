"""What fills the slots: in the reader's language, for the right ear, and as plain values."""

from __future__ import annotations

from datetime import date

import pytest
from babel import Locale
from made_up import a_case, a_patient, an_ear

from aftercare.library.reminders import KNOWN
from aftercare.model import SLOTS, Library, Line, Role, Side, Span
from aftercare.word.formats import full_date, reader_locale
from aftercare.word.slots import Slots

HOURS = Line((Span("Mondays"),), "clinic", approved=True)
RECALL = date(2027, 5, 18)


def slots(
    library: Library, language: str = "en", recall: date | None = RECALL, **case: object
) -> Slots:
    return Slots(a_case(**case), library, language=language, hours=HOURS, recall=recall)


def test_every_slot_of_the_list_is_filled_when_its_fact_holds(library: Library) -> None:
    ear = an_ear("procedure:suction", removed_mm=55)

    filled = slots(library, ears=(ear,)).of(Side.LEFT)

    of_recall = frozenset[str]().union(*KNOWN.values()) | {"first_name"}
    assert set(filled) == set(SLOTS) - of_recall
    assert all(span.role is SLOTS[slot] for slot, span in filled.items())
    assert filled["removed_inches"].text == "2¼ inches"
    assert filled["clinic_hours"].text == "Mondays"


def test_what_is_not_known_is_not_there(library: Library) -> None:
    filled = slots(library, recall=None).of(Side.LEFT)

    assert not {"recall_date", "removed_cm", "removed_inches"} & set(filled)


def test_a_length_belongs_to_its_ear(library: Library) -> None:
    ears = (
        an_ear("procedure:suction", removed_mm=20),
        an_ear("procedure:suction", side=Side.RIGHT, removed_mm=30),
    )

    told = slots(library, ears=ears)

    assert told.of(Side.LEFT)["removed_cm"].text == "2 cm"
    assert told.of(Side.RIGHT)["removed_cm"].text == "3 cm"
    assert "removed_cm" not in told.of(Side.BOTH)


@pytest.mark.parametrize(
    ("language", "told"),
    [
        # CLDR 47 full dates, as listed for these languages by the Unicode CLDR charts.
        ("en", "Wednesday, 4 March 2026"),
        ("pl", "środa, 4 marca 2026"),
        ("ur", "بدھ، 4 مارچ، 2026"),
        ("cy", "Dydd Mercher, 4 Mawrth 2026"),
    ],
)
def test_dates_are_full_and_in_the_readers_language(
    library: Library, language: str, told: str
) -> None:
    filled = slots(library, language, visit_date=date(2026, 3, 4)).of(Side.LEFT)

    assert filled["visit_date"].text == told
    assert filled["visit_date"].role is Role.DATE


@pytest.mark.parametrize(
    ("language", "told"),
    [
        # CLDR 47, skeleton yMMMEd, as listed for these languages by the Unicode CLDR charts.
        ("en", "Wed, 4 Mar 2026"),
        ("fr", "mer. 4 mars 2026"),
        ("pl", "śr., 4 mar 2026"),
        ("ur", "بدھ، 4 مارچ، 2026"),
    ],
)
def test_in_a_text_message_dates_are_short_and_all_else_is_the_same(
    library: Library, language: str, told: str
) -> None:
    made = slots(library, language, recall=date(2026, 3, 4), visit_date=date(2026, 3, 4))
    page, text = made.of(Side.LEFT), made.texted(Side.LEFT)

    dates = {"visit_date", "recall_date"}
    assert {text[one].text for one in dates} == {told}
    assert {text[one].role for one in dates} == {Role.DATE}
    assert {one: text[one] for one in text.keys() - dates} == {
        one: page[one] for one in page.keys() - dates
    }


@pytest.mark.parametrize(
    ("language", "locale"),
    [("en", "en_GB"), ("pl", "pl"), ("pt_BR", "pt_BR"), ("zh_Hant", "zh_Hant"), ("en_GB", "en_GB")],
)
def test_a_language_is_read_in_the_clinics_country_where_that_exists(
    language: str, locale: str
) -> None:
    assert str(reader_locale(language, "GB")) == locale


def test_a_date_without_leading_noughts_keeps_latin_digits() -> None:
    for name in ("ar_EG", "fa_IR", "bn_BD", "ur_PK"):
        told = full_date(date(2026, 3, 4), Locale.parse(name))
        assert "4" in told, told
        assert "2026" in told, told


def test_a_name_is_never_read_again_as_a_slot(library: Library) -> None:
    patient = a_patient(name="{clinic_phone} **x**")

    assert slots(library, patient=patient).of(Side.LEFT)["patient_name"].text == patient.name

"""Slots and numbers to ring: as often as in the source, figure by figure."""

from __future__ import annotations

from collections.abc import Callable

import pytest

Kinds = Callable[..., set[str]]


@pytest.mark.parametrize(
    ("source", "target", "found"),
    [
        ("Dear {patient_name}.", "Dzień dobry, {patient_name}.", set()),
        ("Dear {patient_name}.", "Dzień dobry.", {"slots"}),
        ("Dear {patient_name}.", "Dzień dobry, {patient_name} {patient_name}.", {"slots"}),
        ("Dear {patient_name}.", "Dzień dobry, {imie}.", {"slots"}),
        ("Dear {patient_name}.", "Dzień dobry, {patient_name.", {"slots"}),
        ("Ring {clinic_phone}.", "Dzwonić: {telefon}.", {"slots", "phone"}),
        ("Ring {clinic_phone}.", "Dzwonić: {clinic_text_number}.", {"phone"}),
        ("Hello %(name)s.", "Witaj %(imie)s.", {"slots"}),
        ("Ring {emergency_number}.", "Dzwonić.", {"phone"}),
        ("Ring 999.", "Dzwonić pod 999.", set()),
        ("Ring 999.", "Dzwonić pod ٩٩٩.", set()),
        ("Ring 999.", "Dzwonić pod 112.", {"phone", "numbers"}),
        ("Ring 999.", "Dzwonić.", {"phone", "numbers"}),
        ("Ring 01632 960142.", "Dzwonić: 01632-960-142.", {"numbers"}),
        ("Ring 01632 960142.", "Dzwonić: 01632 960143.", {"phone", "numbers"}),
        ("Give 100 ml.", "Podać 100 ml.", set()),
        ("Open from 8:30 to 17:00.", "Otwarte 8.30-17.00.", set()),
        ("After 10 to 14 days.", "Po 10-14 dniach.", set()),
        ("Ring 112.", "Dzwonić: 11.20.", {"phone", "numbers"}),
    ],
)
def test_a_slot_and_a_number_are_kept(
    source: str, target: str, found: set[str], kinds: Kinds
) -> None:
    assert kinds(source, target, "pl") & {"slots", "phone", "numbers"} == found

"""National language shift tables, held against gsmcodecs 1.0.0 (3GPP TS 23.038 R18)."""

import pytest
from gsmcodecs.charmaps import GSMCHARMAPS
from hypothesis import given
from hypothesis import strategies as st

from aftercare.errors import BadInput
from aftercare.render import gsm, shift_tables
from aftercare.render.gsm import ShiftTables

LOCKING = [0, 1, *range(3, 14)]
SINGLE = list(range(14))


def published(language: int, table: str) -> set[str]:
    """gsmcodecs's characters of one table, the escape code left out.

    Its fault: an apostrophe where the ten Indian and Urdu locking tables have the comma
    (0x2C), against oFono 1.31's source and the tables of Gecko and Android.
    """
    cells = GSMCHARMAPS[language][table]["decode"]
    chars = {chr(char) for code, char in cells.items() if code != 0x1B}
    if table == "locking" and language >= 4:
        return chars - {"'"} | {","}
    return chars - {"\r", " "} if table == "singleShift" else chars


@pytest.mark.parametrize("language", LOCKING)
def test_locking_tables_hold_the_published_characters(language: int) -> None:
    ours = shift_tables.locking_characters(language)

    assert set(ours) == published(language, "locking")
    assert len(ours) == len(set(ours))


@pytest.mark.parametrize("language", SINGLE)
def test_single_shift_tables_hold_the_published_characters(language: int) -> None:
    ours = shift_tables.single_characters(language)

    assert set(ours) == published(language, "singleShift")
    assert len(ours) == len(set(ours))


def test_cells_on_which_published_copies_disagree_are_left_out() -> None:
    """Kannada 0x24: U+0CAA in gsmcodecs and oFono, U+0CA1 in Gecko and Android. Telugu 0x65:
    none in gsmcodecs and oFono, the euro sign in Gecko and Android."""
    assert gsm.count("\u0ca1", shift=ShiftTables(7, 7)).encoding == "UCS-2"
    assert gsm.count("€", shift=ShiftTables(12, 12)).encoding == "UCS-2"
    assert gsm.count("\u0caa", shift=ShiftTables(7, 7)).units == 1


# TS 23.038 R18 Annex A and TS 23.040 R18 sections 9.2.3.24.15 and .16 (header elements of
# three octets): 155 and 149 septets beside one table, 152 and 146 beside two.
@pytest.mark.parametrize(
    ("text", "locking", "single", "units", "parts"),
    [
        ("ş" * 77, 0, 1, 154, 1),
        ("ş" * 78, 0, 1, 156, 2),
        ("ş" * 155, 1, 0, 155, 1),
        ("ş" * 156, 1, 0, 156, 2),
        ("ş" * 298, 1, 0, 298, 2),
        ("ş" * 299, 1, 0, 299, 3),
        ("a" * 153 + "á", 0, 2, 155, 1),
        ("a" * 154 + "á", 0, 2, 156, 2),
        ("ã" * 152, 3, 3, 152, 1),
        ("ã" * 153, 3, 3, 153, 2),
        ("क" * 152, 6, 6, 152, 1),
        ("क" * 153, 6, 6, 153, 2),
        ("क" * 292, 6, 6, 292, 2),
        ("क" * 293, 6, 6, 293, 3),
        ("TUE 4", 6, 6, 8, 1),
    ],
)
def test_count_under_national_tables(
    text: str, locking: int, single: int, units: int, parts: int
) -> None:
    counted = gsm.count(text, shift=ShiftTables(locking, single))

    assert (counted.encoding, counted.units, counted.parts) == ("GSM-7", units, parts)
    assert "".join(counted.texts) == text


def test_tables_are_off_unless_asked_for() -> None:
    assert gsm.count("ş").encoding == "UCS-2"
    assert gsm.count("ş", shift=ShiftTables(single=1)).encoding == "GSM-7"


@pytest.mark.parametrize("text", ["مسئلہ", "غسل", "ঠিক।", "می\u200cخواهم"])
def test_what_the_tables_cannot_spell_falls_back_to_ucs2(text: str) -> None:
    """No U+0626 or U+063A for Urdu, no danda for Bengali, no joiners anywhere (Annex A)."""
    for language in (4, 13):
        assert gsm.count(text, shift=ShiftTables(language, language)).encoding == "UCS-2"


@pytest.mark.parametrize("shift", [ShiftTables(2, 2), ShiftTables(14, 0), ShiftTables(0, -1)])
def test_a_table_the_standard_does_not_have_is_refused(shift: ShiftTables) -> None:
    with pytest.raises(BadInput, match=r"TS 23\.038 has none for national language"):
        gsm.count("a", shift=shift)


shifts = st.builds(ShiftTables, st.sampled_from(LOCKING), st.sampled_from(SINGLE))


@given(st.data(), shifts)
def test_parts_under_any_tables_join_up_and_fit(data: st.DataObject, shift: ShiftTables) -> None:
    one = shift_tables.locking_characters(shift.locking)
    two = set(shift_tables.single_characters(shift.single)) - set(one)
    text = data.draw(st.text(alphabet=sorted(one) + sorted(two) * 4, max_size=700))

    counted = gsm.count(text, shift=shift)

    costs = [sum(2 if char in two else 1 for char in part) for part in counted.texts]
    tables = (shift.locking > 0) + (shift.single > 0)
    alone, joined = {0: (160, 153), 1: (155, 149), 2: (152, 146)}[tables]
    assert counted.encoding == "GSM-7"
    assert "".join(counted.texts) == text
    assert sum(costs) == counted.units
    assert max(costs, default=0) <= (alone if counted.parts <= 1 else joined)

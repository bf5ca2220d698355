"""Numbers and addresses: what the quick way takes is what the libraries take."""

from __future__ import annotations

import re

import phonenumbers
import pytest
from email_validator import EmailNotValidError, validate_email
from hypothesis import given, settings
from hypothesis import strategies as st
from stdnum.gb import nhs

from aftercare.recall.incoming.contacts import Emails, Phones, national_number
from aftercare.recall.incoming.trouble import Trouble
from aftercare.recall.people import Standing

FICTION = re.compile(r"\+447700900\d{3}|\+441632960\d{3}|\+1[2-9]\d{2}55501\d{2}")
INVENTED = Phones("GB", FICTION, invented=True)
REAL = Phones("GB", FICTION, invented=False)
EMAILS = Emails(254)
invented, real, email = INVENTED.read, REAL.read, EMAILS.read


# 07700 900000-900999 are Ofcom's numbers for drama.
@pytest.mark.parametrize(
    "cell",
    [
        "07700900123", "07700 900123", "07700 900 123", "+447700900123", "+44 7700 900123",
        "+44 (0)7700 900123", "00447700900123", "0044 7700 900123", "7700900123", "447700900123",
        "(07700) 900123", "07700-900-123", "'07700900123", "7700900123.0", "07700.900.123",
    ],
)  # fmt: skip
def test_a_uk_mobile_however_it_is_written(cell: str) -> None:
    assert invented(cell) == "+447700900123"


@pytest.mark.parametrize(
    ("cell", "why"),
    [
        ("4.47701E+11", "written as a power of ten"),
        ("07700 90012", "not a phone number"),
        ("07700 9001234", "not a phone number"),
        ("0770O 900123", "not a phone number"),
        ("07700 900123 / 07700 900124", "not a phone number"),
        ("=07700900123", "not a phone number"),
        ("٠٧٧٠٠٩٠٠١٢٣", "not a phone number"),
        ("07700 900123 wife", "not a phone number"),
        ("070 1234 5678", "not"),
        ("\u202d07700900123", "not a phone number"),
    ],
)
def test_what_is_no_mobile_is_held(cell: str, why: str) -> None:
    found = invented(cell)
    assert isinstance(found, Trouble)
    assert found.said.startswith(why)


def test_a_landline_is_told_of_and_gets_no_texts() -> None:
    for cell in ("01632 960001", "0161 496 0001"):
        found = invented(cell)
        assert isinstance(found, Trouble)
        assert (found.value, found.standing) == (None, Standing.READY)


def test_numbers_of_fiction_reach_nobody_at_a_real_clinic() -> None:
    for cell in ("07700 900123", "+44 7700 900123", "+1 212 555 0123"):
        found = real(cell)
        assert isinstance(found, Trouble)
        assert found.said == "a number kept for fiction"
    assert invented("+1 212 555 0123") == "+12125550123"


DIGITS = st.text("0123456789", min_size=9, max_size=10)
PREFIX = st.sampled_from(["0", "+44", "0044", "", "+44 ", "+44(0)", "0044 "])


@settings(deadline=None)  # the first to ask loads a library
@given(PREFIX, st.sampled_from("0123456789"), DIGITS)
def test_the_quick_way_is_phonenumberslite_s(prefix: str, second: str, rest: str) -> None:
    cell = f"{prefix}7{second}{rest[:8]}"
    found = real(cell)
    try:
        number = phonenumbers.parse(cell, "GB")
    except phonenumbers.NumberParseException:
        number = None
    mobile = (
        number is not None
        and phonenumbers.is_valid_number(number)
        and (
            phonenumbers.number_type(number)
            in (
                phonenumbers.PhoneNumberType.MOBILE,
                phonenumbers.PhoneNumberType.FIXED_LINE_OR_MOBILE,
            )
        )
    )
    if mobile:
        written = phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.E164)
        assert found == written
    else:
        assert isinstance(found, Trouble)


@settings(deadline=None)  # the first to ask loads a library
@given(st.from_regex(r"[a-z0-9._-]{1,70}@[a-z0-9.-]{1,40}", fullmatch=True) | st.emails())
def test_the_quick_way_is_email_validator_s(cell: str) -> None:
    try:
        theirs = validate_email(cell, check_deliverability=False, allow_smtputf8=False).ascii_email
    except EmailNotValidError:
        theirs = None
    found = email(cell)
    if theirs is None:
        assert isinstance(found, Trouble)
    else:
        assert found == theirs


@pytest.mark.parametrize("cell", ["nell", "nell@", "a@b@c.example", "n @clinic.example", "@x"])
def test_what_is_no_address_is_held(cell: str) -> None:
    assert isinstance(email(cell), Trouble)


CELLS = st.one_of(
    st.builds("{}7{}".format, PREFIX, DIGITS),
    st.builds("07{} {}".format, st.text("0123456789", min_size=3, max_size=3), DIGITS),
    st.sampled_from(["", "07700 900123", "07700 9001 23", "07911 123456", "0770O 900123", "n/a"]),
    st.text(max_size=12),
)


@settings(deadline=None)  # the first to ask loads a library
@given(st.lists(CELLS, max_size=8))
def test_a_column_of_numbers_is_its_cells(cells: list[str]) -> None:
    for phones in (INVENTED, REAL):
        assert phones.column(cells) == [phones.read(cell) if cell else None for cell in cells]


ADDRESSES = st.from_regex(r"[a-z.]{1,6}@(x|clinic)\.(example|org)", fullmatch=True)


@settings(deadline=None)  # the first to ask loads a library
@given(st.lists(st.one_of(ADDRESSES, st.sampled_from(["", "a@x.org\nb@x.org", "n"])), max_size=9))
def test_a_column_of_addresses_is_its_cells(cells: list[str]) -> None:
    assert EMAILS.column(cells) == [EMAILS.read(cell) if cell else None for cell in cells]


# The library's own ranges: five digits in, every number of a range is a mobile or none is.
def test_a_range_is_good_as_a_whole_or_not_at_all() -> None:
    for start in range(70000, 80000, 7):
        for end in ("00000", "12345", "99999"):
            number = phonenumbers.parse(f"+44{start}{end}")
            is_mobile = phonenumbers.number_type(number) == phonenumbers.PhoneNumberType.MOBILE
            fiction = bool(FICTION.fullmatch(f"+44{start}{end}"))
            assert isinstance(real(f"0{start}{end}"), str) == (is_mobile and not fiction)


# NHS Data Dictionary: 943 476 591 -> 9; 999 000 001 -> 8; 999 000 000 has no check digit.
def test_the_check_digit() -> None:
    assert national_number("943 476 5919") == "9434765919"
    assert national_number("9990000018") == "9990000018"
    for digit in range(10):
        assert isinstance(national_number(f"999000000{digit}"), Trouble)


# python-stdnum takes ten zeros and ten nines; they are nobody's.
def test_ten_zeros_and_ten_nines_are_nobody_s() -> None:
    for digit in "09":
        assert nhs.is_valid(digit * 10)
        assert isinstance(national_number(digit * 10), Trouble)


@settings(deadline=None)  # the first to ask loads a library
@given(st.text("0123456789", min_size=10, max_size=10))
def test_the_check_digit_is_python_stdnum_s(number: str) -> None:
    if number not in ("0" * 10, "9" * 10):
        assert isinstance(national_number(number), str) == nhs.is_valid(number)


@settings(deadline=None)  # the first to ask loads a library
@given(st.integers(0, 999_999_999))
def test_some_check_digit_fits_unless_it_would_be_ten(nine: int) -> None:
    fitting = [d for d in range(10) if isinstance(national_number(f"{nine:09}{d}"), str)]
    assert len(fitting) <= 1

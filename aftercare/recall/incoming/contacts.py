"""Numbers and addresses out of cells: a quick way for what is plainly written, and the exact one.

What the quick way takes, the libraries take too, and give the same (held against them in tests).
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import lru_cache

from aftercare.recall.incoming.trouble import Trouble
from aftercare.recall.people import Standing

_DRESSED = re.compile(r"\+?[\d\s().\-/]+", re.ASCII)
_POWER = re.compile(r"\d+(?:[.,]\d+)?e\+?\d+", re.ASCII | re.IGNORECASE)
_WHOLE = re.compile(r"(\+?\d{7,15})\.0+", re.ASCII)
# Eleven digits from 07, as written in the United Kingdom; 070 and 076 are other services.
_UK_MOBILE = re.compile(
    r"(?:\+44 ?(?:\(0\))?|0044 ?|0)?(7[1-57-9]\d\d)[ -]?(\d{3})[ -]?(\d{3})", re.ASCII
)
_MAIL = re.compile(r"[a-z0-9_-]+(?:\.[a-z0-9_-]+)*@([a-z0-9.-]+)", re.ASCII)
_LOCAL_AT_MOST = 64  # RFC 5321 4.5.3.1.1


def phone_reader(
    country: str, fiction: re.Pattern[str], *, invented: bool
) -> Callable[[str], str | Trouble]:
    """What reads one trimmed cell, not empty, as a mobile number in E.164.

    ``country`` is that of a number without one. ``invented`` says that the clinic is, and numbers
    kept for fiction are then as good as any; else they are held, for they reach nobody.
    """
    quick = _UK_MOBILE.fullmatch if country == "GB" else re.compile(r"(?!)").fullmatch
    is_fiction = fiction.fullmatch
    is_mobile = re.compile(_gb_mobiles(), re.ASCII).fullmatch

    @lru_cache(maxsize=10_000)
    def good(start: str, middle: str) -> bool:
        """Whether all numbers that begin so are good: what is decided late is left to the other."""
        ends = [f"{start}{middle}{end:03}" for end in range(0, 1000, 111)]
        fictions = [bool(is_fiction(f"+44{digits}")) for digits in ends]
        return (
            all(fictions)
            if invented and any(fictions)
            else (not any(fictions) and all(map(is_mobile, ends)))
        )

    def read(cell: str) -> str | Trouble:
        found = quick(cell)
        if found:
            start, middle, end = found.groups()
            if good(start, middle):
                return f"+44{start}{middle}{end}"
        return _slow(cell, country, is_fiction, invented)

    return read


def _slow(
    cell: str, country: str, is_fiction: Callable[[str], object], invented: bool
) -> str | Trouble:
    from phonenumbers import (
        NumberParseException,
        PhoneNumberFormat,
        PhoneNumberType,
        format_number,
        is_possible_number,
        is_valid_number,
        number_type,
        parse,
    )

    cell = cell.lstrip("'")
    if _POWER.fullmatch(cell):
        return Trouble(None, "written as a power of ten, so its last digits are lost")
    whole = _WHOLE.fullmatch(cell)
    cell = whole[1] if whole else cell
    if not _DRESSED.fullmatch(cell):
        return Trouble(None, "not a phone number")
    try:
        number = parse(cell, country)
    except NumberParseException:
        return Trouble(None, "not a phone number")
    written = format_number(number, PhoneNumberFormat.E164)
    if is_fiction(written) and is_possible_number(number):
        if not invented:
            return Trouble(None, "a number kept for fiction")
        fixed = written.startswith("+44") and not written.startswith("+447")
        return _fixed() if fixed else written
    if not is_valid_number(number):
        return Trouble(None, "not a phone number")
    takes_texts = (PhoneNumberType.MOBILE, PhoneNumberType.FIXED_LINE_OR_MOBILE)
    return written if number_type(number) in takes_texts else _fixed()


def _fixed() -> Trouble:
    return Trouble(None, "not a number that takes texts", Standing.READY)


@lru_cache(maxsize=1)
def _gb_mobiles() -> str:
    from phonenumbers import PhoneMetadata

    known = PhoneMetadata.metadata_for_region("GB")
    mobile = known.mobile if known else None
    return str(mobile.national_number_pattern) if mobile else "(?!)"


def email_reader(longest: int) -> Callable[[str], str | Trouble]:
    """What reads one trimmed cell, not empty, as an address that can be written to."""
    domain = lru_cache(maxsize=10_000)(_is_domain)

    def read(cell: str) -> str | Trouble:
        found = _MAIL.fullmatch(cell)
        short = found and found.start(1) <= _LOCAL_AT_MOST + 1 and len(cell) <= longest
        if found and short and domain(found[1]):
            return cell
        return _slow_email(cell)

    return read


def _is_domain(domain: str) -> bool:
    return _slow_email(f"a@{domain}") == f"a@{domain}"


def _slow_email(cell: str) -> str | Trouble:
    from email_validator import EmailNotValidError, validate_email

    try:
        found = validate_email(cell, check_deliverability=False, allow_smtputf8=False)
    except EmailNotValidError:
        return Trouble(None, "not an e-mail address that can be written to")
    return found.ascii_email or Trouble(None, "not an e-mail address that can be written to")


def national_number(cell: str) -> str | Trouble:
    """The ten digits of a number with a check digit, modulus 11.

    Source: NHS Data Dictionary, NHS NUMBER: weights 10 to 2, eleven less the remainder, 11 is 0 and
    10 is none. Ten zeros or nines are nobody's, though the sum holds.
    """
    digits = re.sub(r"[ -]", "", cell)
    if not re.fullmatch(r"\d{10}", digits, re.ASCII) or digits in ("0" * 10, "9" * 10):
        return Trouble(None, "fails the check digit")
    total = sum(
        weight * int(digit) for weight, digit in zip(range(10, 1, -1), digits, strict=False)
    )
    if (11 - total % 11) % 11 != int(digits[9]):
        return Trouble(None, "fails the check digit")
    return digits

"""Numbers and addresses out of cells: a quick way for what is plainly written, and the exact one.

What the quick way takes, the libraries take too, and give the same (held against them in tests).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from functools import lru_cache

from aftercare.recall.incoming.memo import MOST
from aftercare.recall.incoming.trouble import Trouble
from aftercare.recall.people import Standing

LOST_DIGITS = "written as a power of ten, so its last digits are lost"
_DRESSED = re.compile(r"\+?[\d\s().\-/]+", re.ASCII)
_POWER = re.compile(r"\d+(?:[.,]\d+)?e\+?\d+", re.ASCII | re.IGNORECASE)
_WHOLE = re.compile(r"(\+?\d{7,15})\.0+", re.ASCII)
# Eleven digits from 07, as written in the United Kingdom; 070 and 076 are other services.
_UK_MOBILE = re.compile(
    r"(?:\+44 ?(?:\(0\))?|0044 ?|0)?(7[1-57-9]\d\d)[ -]?(\d{3})[ -]?(\d{3})", re.ASCII
)
_NOTHING = re.compile(r"(?!)()()()")
# Blanks and hyphens that do not break, and dashes: what is copied out of a letter has them.
_COPIED = str.maketrans(
    dict.fromkeys("\u00a0\u2007\u2009\u202f", " ")
    | dict.fromkeys("\u2010\u2011\u2012\u2013\u2014\u2212", "-")
)
# The ways a pattern of the library offers, and the end of one that takes any last five digits.
_WAY = re.compile(r"(?:\([^()]*(?:\([^()]*\)[^()]*)*\)|[^|()])+")
_FREE = re.compile(r"\\d\{[5-9]\}$")
_MAIL = re.compile(r"[a-z0-9_-]+(?:\.[a-z0-9_-]+)*@([a-z0-9.-]+)", re.ASCII)
_MAILS = re.compile(rf"^{_MAIL.pattern}$", re.ASCII | re.MULTILINE)
_LOCAL_AT_MOST = 64  # RFC 5321 4.5.3.1.1


class Phones:
    """Reads mobile numbers to E.164, cell by cell or a column at once.

    ``country`` is that of a number without one. ``invented`` says that the clinic is, and numbers
    kept for fiction are then as good as any; else they are held, for they reach nobody.
    """

    def __init__(self, country: str, fiction: re.Pattern[str], *, invented: bool) -> None:
        self._country, self._fiction, self._invented = country, fiction.fullmatch, invented
        self._quick = (_UK_MOBILE if country == "GB" else _NOTHING).fullmatch
        self._ranges = _Starts(fiction, invented=invented)
        self._blocks = _Starts(fiction, invented=invented)

    def read(self, cell: str) -> str | Trouble:
        """One trimmed cell, not empty."""
        found = self._quick(cell)
        if found:
            start, middle, end = found.groups()
            if self._ranges[f"0{start}{middle[0]}"] or self._blocks[f"0{start}{middle}"]:
                return f"+44{start}{middle}{end}"
        return _slow(cell, self._country, self._fiction, self._invented)

    def column(self, cells: Sequence[str]) -> list[str | Trouble | None]:
        """Trimmed cells; empty ones are None."""
        whole = "\n".join(cells).replace(" ", "")
        parts = whole.split("\n")
        if self._country != "GB" or len(parts) != len(cells) or not whole.isascii():
            return [self.read(cell) if cell else None for cell in cells]
        ranges, blocks, read = self._ranges, self._blocks, self.read
        return [
            "+44" + part[1:]
            if len(part) == 11 and part.isdigit() and (ranges[part[:6]] or blocks[part[:8]])
            else (read(cell) if cell else None)
            for part, cell in zip(parts, cells, strict=True)
        ]


class _Starts(dict[str, bool]):
    """Whether all United Kingdom numbers that begin so, from 0, are mobiles to be taken."""

    def __init__(self, fiction: re.Pattern[str], *, invented: bool) -> None:
        super().__init__()
        self._fiction, self._invented = fiction.fullmatch, invented

    def __missing__(self, start: str) -> bool:
        if len(self) >= MOST:
            self.clear()
        self[start] = found = self._all_good(start[1:])
        return found

    def _all_good(self, start: str) -> bool:
        if start[:1] != "7" or start[1:2] in ("0", "6"):  # 070 and 076 are other services
            return False
        # Numbers are handed out by the thousand or more, those for fiction too.
        ends = range(0, 1000, 111) if len(start) == 7 else range(0, 100_000, 1000)
        numbers = [f"{start}{end:0{10 - len(start)}}" for end in ends]
        fictions = [bool(self._fiction(f"+44{number}")) for number in numbers]
        if any(fictions):
            return self._invented and all(fictions)
        if len(start) == 7:
            return all(map(_gb_mobile(), numbers))
        return _decided_early() and bool(_gb_mobile()(numbers[0]))


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

    cell = cell.lstrip("'").translate(_COPIED).strip()
    if _POWER.fullmatch(cell):
        return Trouble(None, LOST_DIGITS)
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


@lru_cache(maxsize=1)
def _gb_mobile() -> Callable[[str], object]:
    return re.compile(_gb_mobiles(), re.ASCII).fullmatch


@lru_cache(maxsize=1)
def _decided_early() -> bool:
    """Whether the library looks at no more than the first five digits of a mobile."""
    ways = _WAY.findall(_gb_mobiles())
    return all(_FREE.search(way) for way in ways)


class Emails:
    """Reads addresses that can be written to, cell by cell or a column at once."""

    def __init__(self, longest: int) -> None:
        self._longest = longest
        self._domain = lru_cache(maxsize=10_000)(_is_domain)

    def read(self, cell: str) -> str | Trouble:
        """One trimmed cell, not empty."""
        found = _MAIL.fullmatch(cell)
        short = found and found.start(1) <= _LOCAL_AT_MOST + 1 and len(cell) <= self._longest
        if found and short and self._domain(found[1]):
            return cell
        return _slow_email(cell)

    def column(self, cells: Sequence[str]) -> list[str | Trouble | None]:
        """Trimmed cells; empty ones are None."""
        given = list(filter(None, cells))
        if self._all_plain(given):
            return [cell or None for cell in cells]
        return [self.read(cell) if cell else None for cell in cells]

    def _all_plain(self, given: Sequence[str]) -> bool:
        """Whether each can be taken as it stands."""
        whole = "\n".join(given)
        domains = _MAILS.findall(whole)
        return (
            len(domains) == len(given) == whole.count("\n") + 1
            and max(map(len, given), default=0) <= min(self._longest, _LOCAL_AT_MOST)
            and all(map(self._domain, set(domains)))
        )


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

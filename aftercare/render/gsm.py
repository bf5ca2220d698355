"""How a text travels as SMS: its encoding, its units, and the parts it is cut into.

Source: 3GPP TS 23.038 R18, sections 6.2.1, 6.2.1.1 and 6.2.3; TS 23.040 R18, sections 9.2.3.24
and 9.2.3.24.1. A part carries 140 octets. A text of several parts gives six of them to a
header that says which part it is (8-bit reference), and no character is cut in two.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache

from aftercare.errors import BadText
from aftercare.model import SmsCount
from aftercare.render import shift_tables

GSM_7 = "GSM-7"
UCS_2 = "UCS-2"

# TS 23.040 counts the parts of one message in a single octet.
MOST_PARTS = 255

_OCTETS = 140
_LENGTH_OCTET = 1
_CONCATENATION = 5
_LANGUAGE = 3
_JOINED_WIDE = (_OCTETS - _LENGTH_OCTET - _CONCATENATION) // 2
_ESCAPE = "\x1b"
_UNSENDABLE = re.compile("[\x1b\ud800-\udfff]")
# The first octet of the first half of a surrogate pair (RFC 2781, section 2.1).
_LEADING = frozenset((b"\xd8", b"\xd9", b"\xda", b"\xdb"))


@dataclass(frozen=True, slots=True)
class ShiftTables:
    """The national language identifiers a message announces; 0 is the default alphabet.

    Support in handsets and gateways is optional, so nothing here is used unless asked for.
    Source: TS 23.038 R18, sections 6.2.1.2.1 to 6.2.1.2.5 and Annex A.
    """

    locking: int = 0
    single: int = 0


NO_SHIFT = ShiftTables()


@dataclass(frozen=True, slots=True)
class _Alphabet:
    """What GSM-7 can spell: ``doubled`` costs two septets a character, the rest one."""

    covers: re.Pattern[str]
    outside: re.Pattern[str]
    doubled: str
    alone: int
    joined: int


def count(text: str, *, shift: ShiftTables = NO_SHIFT) -> SmsCount:
    """Count and cut one text exactly as given; nothing in it is replaced.

    Units are septets in GSM-7 and 16-bit units in UCS-2. The empty text has no parts. A text
    that no network can carry is counted all the same: `check_sendable` refuses it.
    """
    if is_gsm7(text, shift=shift):
        units, texts = _cut_septets(text, _alphabet(shift))
        return SmsCount(encoding=GSM_7, units=units, parts=len(texts), texts=texts)
    units, texts = _cut_utf16(text)
    return SmsCount(encoding=UCS_2, units=units, parts=len(texts), texts=texts)


def parts_in_gsm7(text: str) -> int:
    """How many parts a text would take if the default alphabet had all its letters."""
    return count("x" * len(text)).parts


def part_sizes() -> Mapping[str, int]:
    """How many units one part of several carries, by encoding."""
    return {GSM_7: _alphabet(NO_SHIFT).joined, UCS_2: _JOINED_WIDE}


def is_gsm7(text: str, *, shift: ShiftTables = NO_SHIFT) -> bool:
    """Whether every character is in the alphabet; the empty text is."""
    return _alphabet(shift).covers.fullmatch(text) is not None


def offenders(text: str, *, shift: ShiftTables = NO_SHIFT) -> tuple[tuple[str, int], ...]:
    """Every character that forces UCS-2, with its position in code points from 0."""
    return tuple((found[0], found.start()) for found in _alphabet(shift).outside.finditer(text))


def check_sendable(text: str, counted: SmsCount) -> None:
    """Raise `BadText` unless a network can carry the text whole; characters count from 1."""
    if not text:
        raise BadText("SMS text", "it is empty", "write the words to send")
    if found := _UNSENDABLE.search(text):
        raise BadText(
            f"SMS text, character {found.start() + 1} of {len(text)}",
            f"U+{ord(found[0]):04X} ({_fault(found[0])}) cannot travel in an SMS",
            "delete it or type the intended character again",
        )
    if counted.parts > MOST_PARTS:
        raise BadText(
            "SMS text",
            f"it needs {counted.parts} parts and one message may have at most {MOST_PARTS}",
            "shorten it or send it by e-mail or print",
        )


def _fault(char: str) -> str:
    return "the escape code" if char == _ESCAPE else "half of a surrogate pair"


# --- GSM-7 ------------------------------------------------------------------------------


@cache
def _alphabet(shift: ShiftTables) -> _Alphabet:
    single = shift_tables.locking_characters(shift.locking)
    escaped = shift_tables.single_characters(shift.single)
    doubled = "".join(char for char in escaped if char not in single)
    inside = re.escape(single + doubled)
    languages = _LANGUAGE * ((shift.locking > 0) + (shift.single > 0))
    return _Alphabet(
        covers=re.compile(f"[{inside}]*"),
        outside=re.compile(f"[^{inside}]"),
        doubled=doubled,
        alone=_septets_beside(languages),
        joined=_septets_beside(languages + _CONCATENATION),
    )


def _septets_beside(elements: int) -> int:
    """How many septets fit beside header elements of so many octets; none, no header."""
    header = elements + _LENGTH_OCTET if elements else 0
    return (_OCTETS - header) * 8 // 7


def _cut_septets(text: str, alphabet: _Alphabet) -> tuple[int, tuple[str, ...]]:
    # No alphabet holds the escape code, so it can stand in for itself: after this loop the
    # length of the string is the number of septets, at the speed of a C loop.
    septets = text
    for char in alphabet.doubled:
        septets = septets.replace(char, _ESCAPE + char)
    if len(septets) <= alphabet.alone:
        return len(septets), (text,) if text else ()
    return len(septets), tuple(_whole_characters(septets, alphabet.joined))


def _whole_characters(septets: str, limit: int) -> Iterator[str]:
    start = 0
    while start < len(septets):
        end = start + limit
        if septets[end - 1 : end] == _ESCAPE:
            end -= 1
        yield septets[start:end].replace(_ESCAPE, "")
        start = end


# --- UCS-2 ------------------------------------------------------------------------------


def _cut_utf16(text: str) -> tuple[int, tuple[str, ...]]:
    octets = text.encode("utf-16-be", "surrogatepass")
    units = len(octets) // 2
    if len(octets) <= _OCTETS:
        return units, (text,)
    if units == len(text):
        starts = range(0, units, _JOINED_WIDE)
        return units, tuple(text[at : at + _JOINED_WIDE] for at in starts)
    return units, tuple(_whole_pairs(text, _JOINED_WIDE))


def _whole_pairs(text: str, limit: int) -> Iterator[str]:
    # Stray halves would join into a character when decoded, so they are hidden for the
    # cutting; the parts are taken from the text itself.
    octets = re.sub("[\ud800-\udfff]", "\ufffd", text).encode("utf-16-be")
    at = start = 0
    while start < len(octets):
        end = start + 2 * limit
        if octets[end - 2 : end - 1] in _LEADING:
            end -= 2
        taken = len(octets[start:end].decode("utf-16-be"))
        yield text[at : at + taken]
        at, start = at + taken, end

"""A visit as a calendar file: iCalendar (RFC 5545) as iTIP (RFC 5546), for an e-mail (RFC 6047).

Times are the clinic's own with a VTIMEZONE beside them, written by hand because its onsets must
be told in the wall time before each change (RFC 5545, 3.6.5), and because it is the same for
every visit of a year.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from functools import lru_cache
from zoneinfo import ZoneInfo

from aftercare.errors import BadText

# RFC 5545, 3.1: a line has 75 octets at most, without its end.
LINE_OCTETS = 75
# An identifier begins with so many digits, whoever's it is.
UID_DIGITS = 32
_END = "\r\n"
# RFC 5545, 3.3.11 has no controls in a text, and a separator would end a line for some readers.
_UNFIT = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069\ud800-\udfff]")
_ADDRESS = re.compile(r"[!-~]+@[!-~]+")
_TAG = re.compile(r"[A-Za-z]{2,3}(-[A-Za-z0-9]{2,8})*")
_HOUR = timedelta(hours=1)


class Method(StrEnum):
    """What a reader's calendar is to do: RFC 5546, 1.4."""

    PUBLISH = "PUBLISH"
    CANCEL = "CANCEL"


@dataclass(frozen=True, slots=True, kw_only=True)
class Appointment:
    """A visit as a calendar shows it. Others may see it: no text names what the visit is for.

    ``start`` is a moment with a zone, shown on the clock of ``zone`` (IANA). ``sequence`` is 0
    at first and one more with every change or cancellation, ``uid`` always the same. ``stamp``
    is when the file is made. ``organizer`` is the clinic's address. ``summary`` and ``description``
    may be None in a file that takes the visit out (RFC 5546, 3.2.5).
    """

    uid: str
    sequence: int
    start: datetime
    zone: str
    minutes: int
    stamp: datetime
    summary: str | None
    description: str | None
    location: str
    language: str
    organizer: str


def uid_of(recall: int, domain: str) -> str:
    """The identifier of a recall's visit in calendars: the same for ever, and telling nothing."""
    digest = hashlib.sha256(f"{domain}/recall/{recall}".encode()).hexdigest()
    return f"{digest[:UID_DIGITS]}@{domain}"


def content_type(method: Method) -> dict[str, str]:
    """The parameters of ``text/calendar`` for a file of this method (RFC 6047, 2.4)."""
    return {"method": method.value, "charset": "UTF-8", "component": "VEVENT"}


def calendar_file(visit: Appointment, method: Method) -> bytes:
    """The file of one visit, to be entered or taken out. The same visit gives the same bytes.

    Raises ``BadText`` naming the field and the code point of what a calendar cannot hold.
    """
    return "".join(folded(line) for line in _lines(visit, method)).encode()


def _lines(visit: Appointment, method: Method) -> Iterator[str]:
    cancelled = method is Method.CANCEL
    yield "BEGIN:VCALENDAR"
    yield "VERSION:2.0"
    yield "PRODID:-//aftercare//recall//EN"
    yield "CALSCALE:GREGORIAN"
    yield f"METHOD:{method}"
    when = _start(visit)
    if "TZID" in when:
        yield from _timezone(visit.zone, visit.start.astimezone(UTC).year)
    yield "BEGIN:VEVENT"
    yield f"UID:{_text('uid', visit.uid)}"
    yield f"DTSTAMP:{visit.stamp.astimezone(UTC):%Y%m%dT%H%M%SZ}"
    yield when
    yield f"DURATION:PT{visit.minutes}M"
    yield f"SEQUENCE:{visit.sequence}"
    yield f"STATUS:{'CANCELLED' if cancelled else 'CONFIRMED'}"
    language = f";LANGUAGE={_tag(visit.language)}"
    if visit.summary is not None:
        yield f"SUMMARY{language}:{_text('summary', visit.summary)}"
    if visit.description is not None:
        yield f"DESCRIPTION{language}:{_text('description', visit.description)}"
    yield f"LOCATION:{_text('location', visit.location)}"
    yield f"ORGANIZER:mailto:{_address(visit.organizer)}"
    yield "CLASS:PRIVATE"
    yield f"TRANSP:{'TRANSPARENT' if cancelled else 'OPAQUE'}"
    yield "END:VEVENT"
    yield "END:VCALENDAR"


def _start(visit: Appointment) -> str:
    """The start on the clinic's clock; in UTC for the second of two that look the same.

    A local time that comes twice stands for the first (RFC 5545, 3.3.5).
    """
    shown = visit.start.astimezone(ZoneInfo(visit.zone))
    if shown.replace(fold=0).utcoffset() != shown.utcoffset():
        return f"DTSTART:{visit.start.astimezone(UTC):%Y%m%dT%H%M%SZ}"
    return f"DTSTART;TZID={visit.zone}:{shown:%Y%m%dT%H%M%S}"


# --- the time zone ----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Change:
    """Clocks put from one offset to another: when, as they showed it before, and the new name."""

    shown: datetime
    before: timedelta
    after: timedelta
    name: str


@lru_cache(maxsize=256)
def _timezone(zone: str, year: int) -> tuple[str, ...]:
    """The VTIMEZONE for visits of a year: every change from a year before to a year after."""
    place = ZoneInfo(zone)
    changes = list(_changes(place, year))
    # What holds before the first change told, from long ago: a visit may fall there.
    first = datetime(year - 1, 1, 1, tzinfo=UTC).astimezone(place)
    offset = first.utcoffset() or timedelta()
    since = _Change(datetime(1970, 1, 1), offset, offset, first.tzname() or "UTC")  # noqa: DTZ001
    lines = ["BEGIN:VTIMEZONE", f"TZID:{zone}"]
    for change in (since, *changes):
        kind = "DAYLIGHT" if change.after > change.before else "STANDARD"
        lines += [
            f"BEGIN:{kind}",
            f"DTSTART:{change.shown:%Y%m%dT%H%M%S}",
            f"TZOFFSETFROM:{_offset(change.before)}",
            f"TZOFFSETTO:{_offset(change.after)}",
            f"TZNAME:{change.name}",
            f"END:{kind}",
        ]
    return (*lines, "END:VTIMEZONE")


def _changes(place: ZoneInfo, year: int) -> Iterator[_Change]:
    hour, last = datetime(year - 1, 1, 1, tzinfo=UTC), datetime(year + 2, 1, 1, tzinfo=UTC)
    while hour < last:
        after = hour + 24 * _HOUR
        if _at(hour, place) != _at(after, place):
            moment = _moment_of_change(hour, after, place)
            before, now = _at(moment - timedelta(minutes=1), place), _at(moment, place)
            name = moment.astimezone(place).tzname() or "UTC"
            yield _Change((moment + before).replace(tzinfo=None), before, now, name)
        hour = after


def _moment_of_change(low: datetime, high: datetime, place: ZoneInfo) -> datetime:
    """The first minute with the new offset, found by halving: no zone changes twice in a day."""
    while high - low > timedelta(minutes=1):
        middle = low + timedelta(minutes=(high - low) // timedelta(minutes=2))
        if _at(middle, place) == _at(low, place):
            low = middle
        else:
            high = middle
    return high


def _at(moment: datetime, place: ZoneInfo) -> timedelta:
    return moment.astimezone(place).utcoffset() or timedelta()


def _offset(offset: timedelta) -> str:
    minutes = round(offset.total_seconds() / 60)
    hours, rest = divmod(abs(minutes), 60)
    return f"{'-' if minutes < 0 else '+'}{hours:02}{rest:02}"


# --- lines ------------------------------------------------------------------------------------


def _text(field: str, text: str) -> str:
    """A text with what would end or part it escaped (RFC 5545, 3.3.11). Raises ``BadText``."""
    plain = text.replace("\r\n", "\n")
    found = _UNFIT.search(plain)
    if found:
        raise BadText(
            f"calendar {field}", f"the character U+{ord(found[0]):04X} at {found.start()}",
            "remove it",
        )  # fmt: skip
    escaped = plain.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
    return escaped.replace("\n", "\\n")


def _address(address: str) -> str:
    if not _ADDRESS.fullmatch(address):
        raise BadText("calendar organizer", "not an address in ASCII", "check shared/clinic.toml")
    return address


def _tag(language: str) -> str:
    tag = language.replace("_", "-")
    if not _TAG.fullmatch(tag):
        raise BadText("calendar language", "not a language tag", "write it like pl or pt-BR")
    return tag


def folded(line: str) -> str:
    """A line with its end, broken so that none is over 75 octets and no character is parted."""
    if len(line) <= LINE_OCTETS and line.isascii():
        return f"{line}{_END}"
    pieces, room, start, used = [], LINE_OCTETS, 0, 0
    for at, char in enumerate(line):
        size = len(char.encode())
        if used + size > room:
            pieces.append(line[start:at])
            # A line that goes on begins with a space, which counts.
            start, used, room = at, 0, LINE_OCTETS - 1
        used += size
    return f"{_END} ".join([*pieces, line[start:]]) + _END

"""The e-mail of a recall with everything done that is the same for many patients.

A form is made by the plain way itself (``render.reminder_email``), with holes where patients
differ, so that it cannot say anything else. Lines without a hole are encoded once.
"""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Callable, Iterator, Mapping
from email.quoprimime import body_encode
from functools import lru_cache

from aftercare.errors import BadText
from aftercare.model import SLOTS, Clinic, Role, Span, Worded
from aftercare.render.calendar import Method
from aftercare.render.email import POLICY, deliverable
from aftercare.render.isolate import STEERING, isolated
from aftercare.render.reminder_email import (
    Attached,
    Envelope,
    Headed,
    assemble,
    html_of,
    seed_of,
    subject_of,
    text_of,
)
from aftercare.render.unparted import counted

# Characters no content has (Unicode's private use area), so that no words can look like a hole.
_OPENS, _CLOSES = "\ue000", "\ue001"
_HOLES = re.compile(f"{_OPENS}([a-z_]+){_CLOSES}")
_LINE = POLICY.max_line_length or 76
# RFC 5322 atoms of letters and digits; whatever else an address has goes the plain way.
_LOCAL = re.compile(r"[A-Za-z0-9]+(?:[._+-][A-Za-z0-9]+)*")
_LONGEST_LOCAL, _LONGEST_ADDRESS = 64, 254
# What stands in a form for that which is filled in; none of it needs encoding.
_TEXT, _HTML, _FILE = "aftercare-text", "aftercare-html", b"aftercare-calendar"
_TO = "aftercare-form@form.example"
_SEED = "5eed" * 10
_MARKS = re.compile(
    b"|".join(
        (
            b"%s\r\n" % _TEXT.encode(), b"%s\r\n" % _HTML.encode(), b"%s\r\n" % b64encode(_FILE),
            _TO.encode(), _SEED.encode(), _SEED[:32].encode(),
        )
    )
)  # fmt: skip


def hole(slot: str) -> Span:
    """What stands where a patient's own value goes; of the value's role, so that it is kept
    whole as the value would be.
    """
    return Span(f"{_OPENS}{slot}{_CLOSES}", SLOTS[slot])


def slot_of(span: Span) -> str | None:
    """The slot of a span that is a hole."""
    found = _HOLES.fullmatch(span.text)
    return found[1] if found else None


def in_hole(span: Span, direction: str) -> str:
    """A value as it goes into a hole: in a text from right to left each is set apart already."""
    return STEERING.sub("", span.text) if direction == "rtl" else isolated(span, direction)


class Holed:
    """A text with holes."""

    def __init__(self, text: str) -> None:
        # Odd places are slots.
        self._parts = _HOLES.split(text)
        self.slots = frozenset(self._parts[1::2])

    def filled(self, values: Mapping[str, str]) -> str:
        """The text with the values in their places."""
        if len(self._parts) == 1:
            return self._parts[0]
        parts = self._parts.copy()
        parts[1::2] = [values[slot] for slot in parts[1::2]]
        return "".join(parts)


class _Body:
    """A body in quoted-printable: runs of lines that are encoded, and single lines with holes.

    A line without a name is the same for many patients.
    """

    def __init__(self, text: str) -> None:
        self._pieces: list[bytes | tuple[Holed, Callable[[str], bytes]]] = []
        run: list[bytes] = []
        for raw in text.encode().splitlines():
            line = Holed(raw.decode())
            if not line.slots:
                run.append(encoded(raw.decode()))
                continue
            named = any(SLOTS[slot] is Role.NAME for slot in line.slots)
            self._pieces += [b"".join(run), (line, encoded if named else _encoded_before)]
            run = []
        self._pieces.append(b"".join(run))

    def filled(self, values: Mapping[str, str]) -> bytes:
        """The encoded body with its line ends."""
        return b"".join(
            [
                one if isinstance(one, bytes) else one[1](one[0].filled(values))
                for one in self._pieces
            ]
        )


def encoded(line: str) -> bytes:
    """A line as quoted-printable has it, with its end (RFC 2045, 6.7)."""
    if line.isascii() and len(line) < _LINE and "=" not in line and not line.endswith((" ", "\t")):
        return b"%s\r\n" % line.encode()
    soft = body_encode(line.encode().decode("latin-1"), _LINE).replace("\n", "\r\n")
    return b"%s\r\n" % soft.encode("ascii")


_encoded_before = lru_cache(maxsize=4096)(encoded)


@lru_cache(maxsize=4096)
def _domain(domain: str) -> str | None:
    """A domain as an address has it in ASCII; None where it can stand in none."""
    try:
        return deliverable("patient.email", f"a@{domain}").rpartition("@")[2]
    except BadText:
        return None


def quick_address(address: str) -> str | None:
    """What ``deliverable`` makes of a plain address; None for any other, or one it may refuse."""
    local, _, domain = address.partition("@")
    if not _LOCAL.fullmatch(local) or len(local) > _LONGEST_LOCAL or not domain.isascii():
        return None
    known = _domain(domain)
    # Longer ones are folded, which is left to the library.
    short = len(address) + len("To: ") <= _LINE and len(address) <= _LONGEST_ADDRESS
    return f"{local}@{known}" if known and short and "--" not in domain else None


def _held(slot: str, value: str) -> str:
    return _html_date(value) if SLOTS[slot] is Role.DATE else _html(value)


# Many patients are told of one day.
@lru_cache(maxsize=4096)
def _html_date(value: str) -> str:
    """A date as the page has it: its day stays with its month."""
    return _html(counted(value))


def _html(text: str) -> str:
    """A value as the page has it once its styles are on the elements."""
    if text.isalnum():
        return text
    plain = text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    return plain.replace("\u00a0", "&nbsp;")


class EmailForm:
    """An e-mail for many patients. ``worded`` has holes; ``method`` is None without a calendar.

    Raises ``BadText`` when a header would not be safe, or has a hole in it.
    """

    def __init__(
        self, worded: Worded, envelope: Envelope, clinic: Clinic, stamp: str, method: Method | None
    ) -> None:
        subject = subject_of(worded, stamp)
        if _OPENS in subject:
            raise BadText("subject", "it is not the same for everybody", "write each by itself")
        text, html = text_of(worded, stamp), html_of(worded, stamp)
        self._edition, self._language = envelope.edition, worded.language
        self._text, self._plain, self._page = Holed(text), _Body(text), _Body(html)
        self.slots = self._text.slots | Holed(html).slots
        headed = Headed(subject=subject, to=_TO, seed=_SEED, on=envelope.on)
        attached = None if method is None else Attached(_FILE, method)
        raw = assemble(_TEXT, _HTML, headed, clinic, worded.language, attached)
        self._pieces = list(_pieces(raw))

    def filled(self, values: Mapping[str, str], to: str, key: str, calendar: bytes | None) -> bytes:
        """The finished message. ``to`` is an address from ``quick_address``."""
        text = self._text.filled(values)
        seed = seed_of(key, self._edition, self._language, to, text).encode()
        told: dict[bytes, bytes] = {
            b"%s\r\n" % _TEXT.encode(): self._plain.filled(values),
            b"%s\r\n" % _HTML.encode(): self._page.filled(
                {slot: _held(slot, value) for slot, value in values.items()}
            ),
            _TO.encode(): to.encode(),
            _SEED.encode(): seed,
            _SEED[:32].encode(): seed[:32],
        }
        if calendar is not None:
            told[b"%s\r\n" % b64encode(_FILE)] = _base64(calendar)
        pieces = self._pieces.copy()
        pieces[1::2] = [told[mark] for mark in pieces[1::2]]
        return b"".join(pieces)


def _pieces(raw: bytes) -> Iterator[bytes]:
    """The message cut at its marks; odd places are the marks themselves."""
    done = 0
    for mark in _MARKS.finditer(raw):
        yield raw[done : mark.start()]
        yield mark[0]
        done = mark.end()
    yield raw[done:]


def _base64(raw: bytes) -> bytes:
    """In lines of 76 (RFC 2045, 6.8), as the library has it."""
    whole = b64encode(raw)
    lines = [whole[at : at + _LINE] for at in range(0, len(whole), _LINE)]
    return b"\r\n".join(lines) + b"\r\n"

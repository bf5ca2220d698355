"""The e-mail: RFC 5322 and 2045 through Python's own library, plain text first, then HTML.

Bytes are the same for the same visit and shelf: the date is the visit's, the identifier
and the boundary are digests of what is said and to whom. Whoever sends it sets the Date of
sending (RFC 5322, 3.6.1).
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from datetime import datetime, time
from email.headerregistry import Address
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime
from functools import cache
from itertools import cycle
from zoneinfo import ZoneInfo

import css_inline
from email_validator import EmailNotValidError, validate_email
from jinja2 import Environment, PackageLoader, StrictUndefined, Template
from markupsafe import Markup, escape

from aftercare.errors import BadText
from aftercare.model import (
    VITAL_KINDS,
    Case,
    Clinic,
    Library,
    Line,
    Passage,
    Purpose,
    Role,
    Section,
    Shape,
    Span,
    Worded,
)
from aftercare.render.isolate import isolated, plain
from aftercare.render.unparted import counted

# RFC 2045, 6.7 (5): an encoded line has 76 characters at most.
POLICY = SMTP.clone(max_line_length=76)
_NOT_IN_HEADERS = re.compile("[\x00-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069\ud800-\udfff]|=\\?")
# Browsers end lines at hyphens: "e-" and Romanian "v-" read badly there. A longer word may be
# wider than a phone.
_HYPHENED = re.compile(r"([^\W_]+(?:-[^\W_]+)+)")
_LONGEST_WHOLE = 20
TAGS = {Shape.BULLETS: "ul", Shape.STEPS: "ol", Shape.PARAGRAPHS: ""}


@dataclass(frozen=True, slots=True)
class _Box:
    name: str
    sections: tuple[Section, ...]


def email(worded: Worded, case: Case, library: Library, purpose: Purpose) -> bytes:
    """A finished ``.eml`` for one patient.

    Raises ``BadText`` when the patient has no address or a header would not be safe.
    """
    if case.patient.email is None:
        raise BadText("patient.email", "no e-mail address", "choose another channel")
    stamp = plain(worded.frame["stamp"], worded.direction) if purpose is Purpose.SAMPLE else ""
    text, html = _text(worded, stamp), _html(worded, library.clinic, stamp)
    # Another text, even of the same visit, is another message (RFC 5322, 3.6.4).
    seed = _digest(case.ref, library.fingerprint, worded.language, case.patient.email, text, html)
    message = EmailMessage(policy=POLICY)
    _headers(message, worded, case, library.clinic, seed, stamp)
    message.set_content(text, cte="quoted-printable")
    message.add_alternative(html, subtype="html", cte="quoted-printable")
    message.set_boundary(f"=_{seed[:32]}")
    # set_content deletes these when they come first, so they come last.
    for part in (message, *message.iter_parts()):
        part["Content-Language"] = worded.language.replace("_", "-")
    return message.as_bytes()


def _digest(*parts: str) -> str:
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()


def _headers(
    message: EmailMessage, worded: Worded, case: Case, clinic: Clinic, seed: str, stamp: str
) -> None:
    subject = ": ".join(filter(None, (stamp, worded.frame["subject"].text)))
    noon = datetime.combine(case.visit_date, time(12), ZoneInfo(clinic.timezone))
    shown = header_safe("clinic.short_name", clinic.short_name)
    sender = deliverable("clinic.sender", clinic.sender)
    message["Date"] = format_datetime(noon)
    message["From"] = Address(shown, addr_spec=sender)
    message["Reply-To"] = Address(addr_spec=deliverable("clinic.email", clinic.email))
    # The address alone: a name in a header is one more thing that could be injected.
    to = deliverable("patient.email", str(case.patient.email))
    message["To"] = Address(addr_spec=to)
    message["Subject"] = header_safe("subject", subject)
    message["Message-ID"] = f"<{seed[:40]}@{sender.rpartition('@')[2]}>"
    message["Auto-Submitted"] = "auto-generated"  # RFC 3834


def deliverable(place: str, address: str) -> str:
    """The address in ASCII, its domain as IDNA: a header carries nothing else (RFC 5322, 3.4.1)."""
    try:
        found = validate_email(address, check_deliverability=False, allow_smtputf8=False)
    except EmailNotValidError:
        raise BadText(
            place, "not an address that can be written to", "check its spelling"
        ) from None
    # What looks like an encoded word is a valid address, and is decoded in a header all the same.
    return header_safe(place, str(found.ascii_email))


def header_safe(place: str, text: str) -> str:
    """The text, if it may stand in a header. Raises ``BadText`` naming the first that may not.

    The standard library stops only some control characters: NUL, VT and FF pass in display
    names. It also decodes what looks like an encoded word (RFC 2047), line ends included, and
    writes those out: ``=?utf-8?q?a=0D=0ABcc:_x?=`` would be a header of its own.
    """
    found = _NOT_IN_HEADERS.search(text)
    if found:
        what = " ".join(f"U+{ord(char):04X}" for char in found[0])
        raise BadText(place, f"{what} at {found.start()} cannot stand in a header", "remove it")
    return text


def _text(worded: Worded, stamp: str) -> str:
    """The whole message for readers of plain text; nothing is only in the HTML."""
    way, frame = worded.direction, worded.frame
    told = [stamp] if stamp else []
    if worded.help is not None:
        told.append(plain(worded.help.line, worded.help.direction))
    told += [plain(frame[key], way) for key in ("title", "salutation", "visit_line")]
    for section in worded.sections:
        told.append(f"== {plain(section.heading, way)} ==")
        told += [passage_text(passage, way) for passage in section.passages]
    told += ["--------", plain(frame["caution"], way), plain(frame["signoff"], way)]
    return "\n\n".join(told) + "\n"


def passage_text(passage: Passage, direction: str) -> str:
    """The lines of a passage as plain text, marked by its shape."""
    said = [plain(line, direction) for line in passage.lines]
    if passage.shape is Shape.BULLETS:
        return "\n".join(f"- {line}" for line in said)
    if passage.shape is Shape.STEPS:
        return "\n".join(f"{number}. {line}" for number, line in enumerate(said, 1))
    return "\n\n".join(said)


def _html(worded: Worded, clinic: Clinic, stamp: str) -> str:
    page = _template().render(
        lang=worded.language.replace("_", "-"),
        dir=worded.direction,
        stamp=stamp,
        clinic=isolated(Span(clinic.name, Role.NAME), worded.direction),
        frame=worded.frame,
        help=worded.help,
        boxes=_boxes(worded),
        tags=TAGS,
        say=lambda line, way=worded.direction: spans(line, way),
    )
    return inliner().inline(page)


def _boxes(worded: Worded) -> tuple[_Box, _Box]:
    first = tuple(one for one in worded.sections if one.kind in VITAL_KINDS)
    rest = tuple(one for one in worded.sections if one.kind not in VITAL_KINDS)
    return _Box("first", first), _Box("rest", rest)


def spans(line: Line, direction: str) -> Markup:
    """A line as HTML: every character escaped, bold runs and numbers to ring marked."""
    return Markup().join(_run(span, direction) for span in line.spans)


def _run(span: Span, direction: str) -> Markup:
    """Numbers are what is sought in a hurry, and one split over two lines is misread."""
    said = isolated(span, direction)
    if span.role is Role.PHONE:
        return Markup('<strong class="number">{}</strong>').format(said)
    told = escape(said)
    if span.role is Role.WORDS:
        told = _held(said)
    elif span.role is Role.DATE:
        told = escape(counted(said))
    return Markup("<strong>{}</strong>").format(told) if span.strong else told


def _held(words: str) -> Markup:
    """Words with what is to stay on one line of them."""
    pieces = _HYPHENED.split(counted(words))
    return Markup().join(
        Markup('<span class="whole">{}</span>').format(piece)
        if odd and len(piece) <= _LONGEST_WHOLE
        else escape(piece)
        for odd, piece in zip(cycle((False, True)), pieces, strict=False)
    )


@cache
def _template() -> Template:
    shelf = Environment(
        loader=PackageLoader("aftercare.render"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
    )
    return shelf.get_template("email.html.j2")


@cache
def inliner() -> css_inline.CSSInliner:
    """What puts the rules of a style sheet on the elements."""
    # Nothing is ever fetched; the style sheet stays for the media rules that cannot be inlined.
    return css_inline.CSSInliner(load_remote_stylesheets=False, keep_at_rules=True)

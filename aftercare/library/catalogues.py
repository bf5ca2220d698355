"""Catalogue files to Catalogues: gettext PO, with approvals kept beside them by digest."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator, Mapping
from datetime import date
from functools import cache
from typing import Annotated

from babel import Locale, UnknownLocaleError
from babel.messages.catalog import Catalog
from babel.messages.catalog import Message as PoMessage
from babel.messages.pofile import PoFileError, PoFileParser
from pydantic import BaseModel, ConfigDict, Field

from aftercare.errors import BadContent
from aftercare.library.blocks import decode
from aftercare.library.header import Named
from aftercare.library.phrases import parse_phrase, refuse_numbers
from aftercare.library.settings import load
from aftercare.model import Catalogue, Phrase, Translation

# The clinic's own words, such as its hours, may hold figures like 0900.
CLINIC = "clinic"
_REMEDY = "check it with msgfmt -c"
_PO_LINE = re.compile(r'(#.*)?|((msgctxt|msgid|msgid_plural|msgstr(\[\d\])?)\s+)?"([^"\\]|\\.)*"')
CATALOGUE_BYTES = 4_194_304


class TranslationApproval(BaseModel):
    """One `[[approval]]` of `approvals.toml`: who stands behind which strings, by digest."""

    model_config = ConfigDict(extra="forbid", strict=True)

    by: Named
    role: Named
    date: date
    strings: list[Annotated[str, Field(pattern=r"^[0-9a-f]{24}$")]]


class ApprovalFile(BaseModel):
    """`locales/<language>/approvals.toml`."""

    model_config = ConfigDict(extra="forbid", strict=True)

    approval: list[TranslationApproval] = []


def digest(context: str, msgid: str, msgstr: str) -> str:
    """What an approval is tied to: any change of source, place or translation undoes it."""
    return hashlib.sha256("\0".join((context, msgid, msgstr)).encode()).hexdigest()[:24]


@cache
def direction(language: str) -> str:
    """``rtl`` or ``ltr``, from CLDR. Raises ``BadContent`` for a language CLDR lacks."""
    try:
        return Locale.parse(language).text_direction
    except (UnknownLocaleError, ValueError):
        raise BadContent(
            f"locales/{language}", "no such language in CLDR", "name the folder like pl or pt_BR"
        ) from None


def parse_catalogue(
    language: str, place: str, raw: bytes, approvals: tuple[str, bytes] | None
) -> Catalogue:
    """One language from its PO file and, if it has one, its approvals file.

    A fuzzy entry counts as untranslated. Raises ``BadContent`` with file and line.
    """
    reviewers = _reviewers(*approvals) if approvals else {}
    phrases: dict[tuple[str, str], Translation] = {}
    for message in _messages(place, raw):
        key = (message.context or "", str(message.id))
        phrase = _translated(f"{place}:{message.lineno}", *key, str(message.string))
        reviewer = reviewers.get(digest(*key, phrase.msgid))
        phrases[key] = Translation(phrase=phrase, approved_by=reviewer)
    return Catalogue(language=language, direction=direction(language), phrases=phrases)


def _translated(place: str, context: str, msgid: str, msgstr: str) -> Phrase:
    phrase = parse_phrase(place, msgstr)
    _check_slots(place, msgid, phrase.slots)
    if context != CLINIC:
        refuse_numbers(place, phrase)
    return phrase


class _Once(Catalog):
    """A catalogue that notices a source given twice; Babel would keep the first silently."""

    def __setitem__(self, msgid: str | list[str] | tuple[str, ...], message: PoMessage) -> None:
        if msgid and self.get(msgid, message.context) is not None:
            line = (message.lineno or 1) - 1
            raise PoFileError("the same source twice in one block", self, "", line)
        super().__setitem__(msgid, message)


def _messages(place: str, raw: bytes) -> Iterator[PoMessage]:
    """The entries fit for use: the header, empty and fuzzy ones never reach a patient."""
    catalog = _Once()
    lines = decode(place, raw, CATALOGUE_BYTES).split("\n")
    for number, line in enumerate(lines, 1):
        # Babel cuts the first and last character off an entry that is not in quotes.
        if not _PO_LINE.fullmatch(line.strip()):
            raise BadContent(f"{place}:{number}", "not a line of a PO file", _REMEDY)
    try:
        PoFileParser(catalog, ignore_obsolete=True, abort_invalid=True).parse(lines)
    except PoFileError as error:
        what = str(error).removesuffix(f" on {error.lineno}")
        raise BadContent(
            f"{place}:{error.lineno + 1}",
            f"not a usable PO file ({what})",
            _REMEDY,
        ) from None
    except (LookupError, ValueError, AttributeError, TypeError, AssertionError) as error:
        # Babel's parser trusts the file; what it trips over depends on the mistake.
        problem = f"not a PO file ({type(error).__name__})"
        raise BadContent(f"{place}:1", problem, _REMEDY) from None
    for message in catalog:
        if message.id and message.string and not message.fuzzy:
            if not isinstance(message.id, str) or not isinstance(message.string, str):
                raise BadContent(
                    f"{place}:{message.lineno}", "a plural entry", "no text of ours has plurals yet"
                )
            yield message


def _check_slots(place: str, msgid: str, slots: tuple[str, ...]) -> None:
    wanted = sorted(parse_phrase(place, msgid).slots)
    if sorted(slots) != wanted:
        raise BadContent(
            place,
            f"the translation has the slots {sorted(slots)}, the source {wanted}",
            "keep every {slot} exactly as in the source",
        )


def _reviewers(place: str, raw: bytes) -> dict[str, str]:
    """Who approved each string, by digest; the last approval listed is the one that counts."""
    listed = load(place, raw, ApprovalFile)
    return {
        string: f"{one.by}, {one.role}, {one.date}"
        for one in listed.approval
        for string in one.strings
    }


def languages(paths: Mapping[str, bytes]) -> dict[str, str]:
    """The languages with a catalogue on the shelf, and the path of each."""
    found: dict[str, str] = {}
    for path in sorted(paths):
        steps = path.split("/")
        if (
            len(steps) == 4
            and steps[0] == "locales"
            and steps[2:] == ["LC_MESSAGES", "aftercare.po"]
        ):
            found[steps[1]] = path
    return found

"""Catalogue files to Catalogues: gettext PO, with approvals kept beside them by digest."""

from __future__ import annotations

import hashlib
import re
import tomllib
from collections.abc import Iterator, Mapping
from datetime import date
from functools import cache
from io import BytesIO
from typing import Annotated

from babel import Locale, UnknownLocaleError
from babel.messages.catalog import Message as PoMessage
from babel.messages.pofile import PoFileError, read_po
from pydantic import BaseModel, ConfigDict, Field, ValidationError

from aftercare.errors import BadContent
from aftercare.library.phrases import parse_phrase
from aftercare.model import Catalogue, Translation

_CATALOGUE = re.compile(r"locales/([A-Za-z_]+)/LC_MESSAGES/aftercare\.po")
CATALOGUE_BYTES = 4_194_304


class TranslationApproval(BaseModel):
    """One `[[approval]]` of `approvals.toml`: who stands behind which strings, by digest."""

    model_config = ConfigDict(extra="forbid", strict=True)

    by: Annotated[str, Field(min_length=3)]
    role: Annotated[str, Field(min_length=3)]
    date: date
    strings: list[str]


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
    if len(raw) > CATALOGUE_BYTES:
        raise BadContent(place, f"{len(raw):,} bytes, over {CATALOGUE_BYTES:,}", "split it")
    approved = _approved(*approvals) if approvals else frozenset()
    phrases: dict[tuple[str, str], Translation] = {}
    for message in _messages(place, raw):
        key = (message.context or "", str(message.id))
        if key in phrases:
            raise BadContent(
                f"{place}:{message.lineno}", "the same source twice in one block", "keep one"
            )
        phrase = parse_phrase(f"{place}:{message.lineno}", str(message.string))
        _check_slots(f"{place}:{message.lineno}", key[1], phrase.slots)
        phrases[key] = Translation(phrase=phrase, approved=digest(*key, phrase.msgid) in approved)
    return Catalogue(language=language, direction=direction(language), phrases=phrases)


def _messages(place: str, raw: bytes) -> Iterator[PoMessage]:
    """The entries fit for use: the header, empty and fuzzy ones never reach a patient."""
    try:
        catalog = read_po(BytesIO(raw), abort_invalid=True)
    except (PoFileError, UnicodeDecodeError, LookupError, ValueError) as error:
        line = getattr(error, "lineno", None)
        where = place if line is None else f"{place}:{line + 1}"
        raise BadContent(where, f"not a PO file ({error})", "check it with msgfmt -c") from None
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


def _approved(place: str, raw: bytes) -> frozenset[str]:
    try:
        listed = ApprovalFile.model_validate(tomllib.loads(raw.decode("utf-8")))
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise BadContent(place, f"not TOML ({error})", "mend it") from None
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(step) for step in first["loc"])
        raise BadContent(place, f"'{where}': {first['msg']}", "mend it") from None
    return frozenset(string for one in listed.approval for string in one.strings)


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

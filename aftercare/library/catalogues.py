"""Catalogue files to Catalogues: gettext PO, with approvals kept beside them by digest."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from functools import cache
from typing import Annotated

from babel import Locale, UnknownLocaleError
from pydantic import BaseModel, ConfigDict, Field

from aftercare.errors import BadContent
from aftercare.library.header import Named
from aftercare.library.phrases import parse_phrase, refuse_numbers
from aftercare.library.plurals import Forms, plural_fault, plural_forms, read_forms
from aftercare.library.po import Entry, Key, Po, read_po
from aftercare.library.settings import load
from aftercare.model import COUNTS, Catalogue, Phrase, Translation

# The clinic's own words, such as its hours, may hold figures like 0900.
CLINIC = "clinic"
_SLOT = re.compile(r"\{([^{}]*)\}")


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
    reviewers = read_reviewers(*approvals) if approvals else {}
    return catalogue_of(language, read_po(place, raw), reviewers)


def catalogue_of(language: str, po: Po, reviewers: Mapping[str, str]) -> Catalogue:
    """One language from what was read of its file; ``reviewers`` are its approvals, by digest.

    Raises ``BadContent`` for the first thing that cannot be read or used.
    """
    phrases: dict[Key, Translation] = {}
    forms = forms_of(po)
    for entry in _fit(po):
        phrase = parse_translation(f"{po.place}:{entry.line}", entry, forms)
        words = approved_words(phrase)
        reviewer = reviewers.get(digest(*entry.key, words)) if reviewers else None
        phrases[entry.key] = Translation(phrase=phrase, approved_by=reviewer)
    return Catalogue(
        language=language, direction=direction(language), phrases=phrases,
        plural=forms.rule if forms else "0",
    )  # fmt: skip


def forms_of(po: Po) -> Forms | None:
    """The plural forms that the header of a catalogue names."""
    return read_forms(po.field("Plural-Forms") or "")


def approved_words(phrase: Phrase) -> str:
    """The words of a translation that an approval is tied to: every form of them."""
    return "\0".join(form.msgid for form in phrase.forms) if phrase.others else phrase.msgid


def parse_translation(place: str, entry: Entry, forms: Forms | None) -> Phrase:
    """A translation as a patient would get it; ``forms`` are the plural forms of its catalogue.

    Raises ``BadContent`` if no patient may get it.
    """
    if entry.plural is not None:
        return _parse_counted(place, entry, entry.plural, forms)
    phrase = parse_phrase(place, entry.msgstr)
    _check_slots(place, entry.msgid, phrase.slots)
    if entry.context != CLINIC:
        refuse_numbers(place, phrase)
    return phrase


def _parse_counted(place: str, entry: Entry, plural: str, forms: Forms | None) -> Phrase:
    """A translation for every kind of number, each whole."""
    if forms is None or len(entry.msgstrs) != forms.many:
        wanted = "no 'Plural-Forms' in the header" if forms is None else f"{forms.many} are needed"
        raise BadContent(
            place, f"{len(entry.msgstrs)} plural forms, but {wanted}",
            "write msgstr[0], msgstr[1] and so on, one for each form of 'Plural-Forms'",
        )  # fmt: skip
    said = [parse_phrase(place, text) for text in entry.msgstrs]
    for number, phrase in enumerate(said):
        refuse_numbers(place, phrase)
        # One, two and the like may be told in words, or by the noun alone.
        leaves_out = forms.only(number) is not None and not COUNTS.intersection(phrase.slots)
        _check_slots(place, _uncounted(plural) if leaves_out else plural, phrase.slots)
    return replace(said[0], others=tuple(said[1:]))


def _uncounted(source: str) -> str:
    return _SLOT.sub(lambda slot: "" if slot[1] in COUNTS else slot[0], source)


def header_faults(language: str, po: Po) -> Iterator[BadContent]:
    """What the header says that is not so: another language, other bytes, other plural forms."""
    if po.header is None:
        yield BadContent(f"{po.place}:1", "no header", "'aftercare locales update' writes one")
        return
    at = f"{po.place}:{po.header.line}"
    said = po.field("Language")
    if said is None or said.replace("-", "_") != language:
        problem = f"the header says the language is '{(said or '')[:20]}'"
        yield BadContent(at, problem, f"write Language: {language}, if that is what it is")
    content = po.field("Content-Type") or ""
    charset = content.lower().rpartition("charset=")[2].strip()
    if charset not in ("utf-8", "utf8"):
        problem = f"the header says the charset is '{charset[:20]}'"
        yield BadContent(at, problem, "save it as UTF-8 and write charset=UTF-8")
    forms = po.field("Plural-Forms")
    fault = None if forms is None else plural_fault(language, forms)
    if fault:
        yield BadContent(at, fault, f"write Plural-Forms: {plural_forms(language)}")


def _fit(po: Po) -> Iterator[Entry]:
    """The entries fit for use: the header, empty and fuzzy ones never reach a patient."""
    if po.faults:
        raise po.faults[0]
    for entry in po.entries:
        if entry.usable:
            yield entry


def _check_slots(place: str, msgid: str, slots: Sequence[str]) -> None:
    wanted = sorted(_SLOT.findall(msgid)) if "{" in msgid else []
    if sorted(slots) != wanted:
        raise BadContent(
            place,
            f"the translation has the slots {sorted(slots)}, the source {wanted}",
            "keep every {slot} exactly as in the source",
        )


def read_reviewers(place: str, raw: bytes) -> dict[str, str]:
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

"""Catalogues are read when they are asked for, and what is wrong with one harms no other."""

from __future__ import annotations

from collections.abc import Mapping

import pytest
from made_up import approvals

from aftercare.errors import BadContent
from aftercare.library import fingerprint, read
from aftercare.library.shelved import Shelved

POLISH, URDU = (f"locales/{one}/LC_MESSAGES/aftercare.po" for one in ("pl", "ur"))


def test_what_is_read_late_is_what_is_read_at_once(translated_shelf: Mapping[str, bytes]) -> None:
    late, at_once = Shelved(translated_shelf), read(translated_shelf).catalogues

    assert list(late) == list(at_once) == ["pl", "ur"]
    assert (len(late), "pl" in late, "sv" in late) == (2, True, False)
    assert dict(late) == dict(at_once)
    assert late["pl"] is late["pl"]
    assert late.get("sv") is None


def test_nothing_is_read_before_it_is_asked_for(translated_shelf: Mapping[str, bytes]) -> None:
    broken = {**translated_shelf, URDU: b"no catalogue"}
    late = Shelved(broken)

    assert "ur" in late
    assert late["pl"].phrases
    with pytest.raises(BadContent, match=f"^{URDU}:1: not a line of a PO file"):
        late["ur"]


@pytest.mark.parametrize(
    ("old", "new", "why"),
    [
        (b"Language: pl", b"Language: cs", "the header says the language is 'cs'"),
        (b"charset=utf-8", b"charset=iso-8859-2", "the header says the charset is"),
        (b"nplurals=3", b"nplurals=2", "Plural-Forms"),
        (b'msgid ""\nmsgstr ""\n"Project', b'msgid "a"\nmsgstr ""\n"Project', "no header"),
        (b"\xc5\xbb ", b"\xc5 ", "not UTF-8"),
    ],
)
def test_a_catalogue_that_is_not_what_it_says_is_refused_with_its_line(
    translated_shelf: Mapping[str, bytes], old: bytes, new: bytes, why: str
) -> None:
    raw = translated_shelf[POLISH]
    assert old in raw
    late = Shelved({**translated_shelf, POLISH: raw.replace(old, new)})

    with pytest.raises(BadContent, match=rf"^{POLISH}:\d+: .*{why}"):
        late["pl"]


def test_approvals_that_cannot_be_read_approve_nothing(
    translated_shelf: Mapping[str, bytes],
) -> None:
    late = Shelved({**translated_shelf, "locales/pl/approvals.toml": b"[[approval]]\nby = 1"})

    with pytest.raises(BadContent, match=r"^locales/pl/approvals.toml:"):
        late["pl"]


def test_a_folder_that_is_no_language_is_refused(translated_shelf: Mapping[str, bytes]) -> None:
    place = "locales/xx/LC_MESSAGES/aftercare.po"
    late = Shelved({**translated_shelf, place: translated_shelf[POLISH]})

    with pytest.raises(BadContent, match=r"^locales/xx: no such language in CLDR"):
        late["xx"]


def test_the_edition_is_of_every_file_whatever_is_read(
    translated_shelf: Mapping[str, bytes],
) -> None:
    changed = {**translated_shelf, URDU: translated_shelf[URDU] + b"\n"}
    signed = {**changed, "locales/ur/approvals.toml": approvals("ur", URDU, changed[URDU])}

    assert read(signed, wanted=()).fingerprint == fingerprint(signed)
    assert fingerprint(signed) != fingerprint(translated_shelf)

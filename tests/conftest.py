"""What many tests share: the shelf of this checkout, the same with everything approved, a press."""

from __future__ import annotations

import re
import sys
from collections.abc import Callable
from datetime import date
from io import BytesIO
from pathlib import Path

import pytest
from babel.messages.catalog import Catalog
from babel.messages.pofile import write_po

# Tests of several folders share the generators; the folders are no packages.
sys.path.insert(0, str(Path(__file__).parent))

from strategies import HOME, TODAY
from strategies import a_case as built_case

from aftercare.edges.folder import read_home
from aftercare.library import block_paths, read
from aftercare.library.catalogues import digest, languages, parse_catalogue
from aftercare.model import Case, Library
from aftercare.render.leaflet import Printed

APPROVER = "Dr A. Example, consultant"
_APPROVAL = re.compile(rb"^(approval *[:=]).*$", re.MULTILINE)
_REVIEW = re.compile(rb"^(review_by *[:=]).*$", re.MULTILINE)
_LATIN = "abcdefghijklmnopqrstuvwxyz"
_TURNED = str.maketrans(_LATIN + _LATIN.upper(), _LATIN[::-1] + _LATIN[::-1].upper())
_ARABIC = str.maketrans(_LATIN + _LATIN.upper(), "ابتثجحخدذرزسشصضطظعغفقكلمنه" * 2)
_KEPT = re.compile(r"(\{[^}]*\}|\*\*)")


class FakePress:
    """A press whose page is the data it was given."""

    def press(self, data: str) -> Printed:
        return Printed(b"%PDF-fake" + data.encode(), 1)


@pytest.fixture(scope="session")
def today() -> date:
    return TODAY


@pytest.fixture(scope="session")
def a_case() -> Callable[..., Case]:
    return built_case


@pytest.fixture(scope="session")
def press() -> FakePress:
    return FakePress()


@pytest.fixture(scope="session")
def shelf() -> dict[str, bytes]:
    """The files of this checkout."""
    return read_home(HOME)


@pytest.fixture(scope="session")
def library(shelf: dict[str, bytes]) -> Library:
    """The checkout as it stands: drafts."""
    return read(shelf)


@pytest.fixture(scope="session")
def approved_shelf(shelf: dict[str, bytes]) -> dict[str, bytes]:
    """The checkout with every block, the frame and every translation approved."""
    files = {path: _approve(path, raw) for path, raw in shelf.items()}
    for language, path in languages(files).items():
        files[f"locales/{language}/approvals.toml"] = approvals(language, path, files[path])
    return files


@pytest.fixture(scope="session")
def approved(approved_shelf: dict[str, bytes]) -> Library:
    return read(approved_shelf)


@pytest.fixture(scope="session")
def translated_shelf(approved_shelf: dict[str, bytes]) -> dict[str, bytes]:
    """The approved shelf with made-up catalogues for ``pl`` and ``ur``, whole and approved."""
    files = {path: raw for path, raw in approved_shelf.items() if not path.startswith("locales/")}
    for language in ("pl", "ur"):
        path = f"locales/{language}/LC_MESSAGES/aftercare.po"
        files[path] = made_up_catalogue(files, language)
        files[f"locales/{language}/approvals.toml"] = approvals(language, path, files[path])
    return files


@pytest.fixture(scope="session")
def translated(translated_shelf: dict[str, bytes]) -> Library:
    return read(translated_shelf)


def _approve(path: str, raw: bytes) -> bytes:
    if path in set(block_paths({path: raw})):
        yes = f'\\1 {{state: approved, approver: "{APPROVER}", date: 2026-11-20}}'
        return _REVIEW.sub(rb"\1 2028-11-01", _APPROVAL.sub(yes.encode(), raw))
    if path == "content/frame.toml":
        yes = f'\\1 {{ state = "approved", approver = "{APPROVER}", date = 2026-11-20 }}'
        return _REVIEW.sub(rb"\1 2028-11-01", _APPROVAL.sub(yes.encode(), raw))
    return raw


def approvals(language: str, path: str, raw: bytes) -> bytes:
    """An ``approvals.toml`` that stands behind every entry of a catalogue."""
    phrases = parse_catalogue(language, path, raw, None).phrases
    listed = sorted(digest(*key, found.phrase.msgid) for key, found in phrases.items())
    strings = ", ".join(f'"{one}"' for one in listed)
    by = 'by = "A. Translator"\nrole = "reviewer"\ndate = 2026-11-20'
    return f"[[approval]]\n{by}\nstrings = [{strings}]\n".encode()


def sources(files: dict[str, bytes]) -> list[tuple[str, str]]:
    """Every (context, source) a translator would get, each once."""
    found = read(files, wanted=())
    told = [
        (block.id, variant.phrase.msgid)
        for block in found.blocks
        for unit in block.units()
        for variant in unit.variants
    ]
    told += [("frame", phrase.msgid) for phrase in found.frame.texts.values()]
    return list(dict.fromkeys([*told, ("clinic", found.clinic.hours)]))


def made_up_catalogue(files: dict[str, bytes], language: str) -> bytes:
    """A catalogue made by turning letters round; its slots and bold marks are kept."""
    catalog = Catalog(locale=language)
    table, first = (_ARABIC, "") if language == "ur" else (_TURNED, "Ż ")
    for context, msgid in sources(files):
        runs = _KEPT.split(msgid)
        turned = "".join(run if _KEPT.fullmatch(run) else run.translate(table) for run in runs)
        catalog.add(msgid, first + turned, context=context)
    written = BytesIO()
    write_po(written, catalog)
    return written.getvalue()

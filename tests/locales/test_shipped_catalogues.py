"""The catalogues that ship: whole, in step with the content, and fit for the channels."""

from __future__ import annotations

import re
import shutil
import subprocess
from io import BytesIO
from pathlib import Path

import pytest
from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import read_po

from aftercare.model import Library

ROOT = Path(__file__).parents[2]
LANGUAGES = ("pl", "ur")
EXTRACTOR = "aftercare.edges.extractor:extract"
METHODS = [
    ("**/README.md", "ignore"),
    ("**/HAZARDS.md", "ignore"),
    ("**/*.md", EXTRACTOR),
    ("**/frame.toml", EXTRACTOR),
    ("**/clinic.toml", EXTRACTOR),
]
Key = tuple[str | None, str]


def extracted() -> set[Key]:
    """What translators are asked for, straight from the content as it stands."""
    return {
        (context, msgid)
        for folder in ("content", "shared")
        for _, _, msgid, _, context in extract_from_dir(ROOT / folder, METHODS)
    }


def catalogue(path: Path) -> Catalog:
    return read_po(BytesIO(path.read_bytes()), abort_invalid=True)


def po(language: str) -> Path:
    return ROOT / "locales" / language / "LC_MESSAGES" / "aftercare.po"


def keys(messages: Catalog) -> set[Key]:
    return {(message.context, str(message.id)) for message in messages if message.id}


@pytest.mark.parametrize(
    "path", [ROOT / "locales/aftercare.pot", *map(po, LANGUAGES)], ids=lambda path: path.parts[-3]
)
def test_translators_are_asked_for_exactly_the_words_of_the_shelf(path: Path) -> None:
    assert keys(catalogue(path)) == extracted()


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_phrase_is_translated_and_none_is_fuzzy(language: str) -> None:
    left = [m.id for m in catalogue(po(language)) if m.id and (m.fuzzy or not m.string)]

    assert left == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_translation_that_ships_is_approved(library: Library, language: str) -> None:
    assert not any(one.approved for one in library.catalogues[language].phrases.values())


@pytest.mark.parametrize("language", LANGUAGES)
def test_slots_bold_and_digits_are_kept(language: str) -> None:
    for message in catalogue(po(language)):
        if message.id:
            source, target = str(message.id), str(message.string)
            for kept in (r"\{[a-z_]+\}", r"\*\*", r"\d+"):
                if not (kept == r"\d+" and message.context == "clinic"):
                    assert sorted(re.findall(kept, source)) == sorted(re.findall(kept, target)), (
                        message.context,
                        source,
                    )


@pytest.mark.parametrize("language", LANGUAGES)
def test_gnu_gettext_accepts_the_catalogue(language: str) -> None:
    """An outside judge: msgfmt -c of GNU gettext."""
    msgfmt = shutil.which("msgfmt")
    if msgfmt is None:
        pytest.skip("GNU gettext is not installed")

    checked = subprocess.run(
        [msgfmt, "-c", "-o", "/dev/null", str(po(language))], capture_output=True, text=True
    )

    assert (checked.returncode, checked.stderr) == (0, "")

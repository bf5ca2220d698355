"""What translators are shown is what the reader looks up, neither more nor less."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from babel.messages import Catalog
from babel.messages.extract import DEFAULT_KEYWORDS, extract, extract_from_dir
from babel.messages.pofile import write_po

from aftercare import library as shelf
from aftercare.edges.folder import read_home
from aftercare.errors import BadContent
from aftercare.model import Library

METHOD = "aftercare.edges.extractor:extract"
MAPPING = [
    ("**/README.md", "ignore"),
    ("**/HAZARDS.md", "ignore"),
    ("**/*.md", METHOD),
    ("**/frame.toml", METHOD),
    ("**/clinic.toml", METHOD),
]


class Named(BytesIO):
    """Bytes with a name, as Babel opens files."""

    def __init__(self, name: str, raw: bytes) -> None:
        super().__init__(raw)
        self.name = name


def found(name: str, text: str) -> list[tuple[int, Any, list[str], Any]]:
    """What Babel itself makes of one file: (line, msgid, comments, context)."""
    return list(extract(METHOD, Named(name, text.encode()), DEFAULT_KEYWORDS))


def of_the_shelf(root: Path) -> dict[tuple[str, str], tuple[str, int]]:
    """(context, msgid) -> (file, line) of everything on the shelf, through Babel."""
    messages = {}
    for part in ("content", "shared"):
        for path, line, msgid, _, context in extract_from_dir(root / part, MAPPING):
            messages[context or "", source(msgid)] = (f"{part}/{path}", line)
    return messages


def source(msgid: str | tuple[str, ...]) -> str:
    """A source as it is looked up: where it tells a number, both forms with a NUL."""
    return msgid if isinstance(msgid, str) else "\0".join(msgid)


def looked_up(library: Library) -> Iterator[tuple[str, str]]:
    for block in library.shelf:
        for unit in block.units():
            yield from ((block.id, variant.phrase.source) for variant in unit.variants)
    yield from (("frame", phrase.msgid) for phrase in library.frame.texts.values())
    yield "clinic", library.clinic.hours


def test_translators_see_what_is_looked_up_and_nothing_else(root: Path, library: Library) -> None:
    assert set(of_the_shelf(root)) == set(looked_up(library))


def test_hours_given_as_times_are_nothing_to_translate(root: Path) -> None:
    words = (root / "shared" / "clinic.toml").read_text(encoding="utf-8")
    times = words.replace(
        'hours = "Monday to Thursday, 9am to 5pm"', 'opens="09:00"\ncloses="17:00"'
    )

    assert [one[1] for one in found("shared/clinic.toml", words)] == [
        "Monday to Thursday, 9am to 5pm"
    ]
    assert found("shared/clinic.toml", times) == []


def test_a_catalogue_of_all_that_was_extracted_leaves_nothing_missing(root: Path) -> None:
    catalogue = Catalog(locale="de")
    for context, msgid in of_the_shelf(root):
        one, _, other = msgid.partition("\0")
        if other:
            both = f"Deutsch: {one}", f"Deutsch: {other}"
            catalogue.add((one, other), both, context=context)
        else:
            catalogue.add(one, f"Deutsch: {one}", context=context)
    written = BytesIO()
    write_po(written, catalogue)
    files = read_home(root) | {"locales/de/LC_MESSAGES/aftercare.po": written.getvalue()}

    german = shelf.read(files, wanted=["de"]).catalogues["de"]

    assert set(german.phrases) == set(looked_up(shelf.read(files, wanted=[])))


def test_every_message_stands_on_the_line_it_is_said_to(root: Path) -> None:
    for (_, msgid), (path, line) in of_the_shelf(root).items():
        text = (root / path).read_text("utf-8").split("\n")[line - 1]
        # A paragraph may run over lines; its first words are on the first.
        assert msgid.split(" ")[0].strip('*"') in text, (path, line, msgid)


def test_comments_say_when_the_words_are_used(root: Path) -> None:
    path = root / "content" / "wax" / "water.md"

    comments = {msgid: said for _, _, msgid, said in told(path)}

    left = next(text for text in comments if "the left ear" in text)
    assert "water, paragraphs; used when side:left" in comments[left]
    short = "Keep water out of a sore ear."
    assert comments[short] == "text message, keep it short"


def told(path: Path) -> Iterator[tuple[int, str | None, str, str]]:
    with path.open("rb") as stream:
        for line, msgid, comments, context in extract(METHOD, stream, DEFAULT_KEYWORDS):
            yield line, context, source(msgid), "; ".join(comments)


def test_the_locked_screen_is_mentioned_where_it_matters(root: Path) -> None:
    safe = [
        said
        for path in sorted((root / "content").glob("*/*.md"))
        if path.name not in ("README.md", "HAZARDS.md")
        for _, _, _, said in told(path)
        if said.startswith("text message") and "locked screen" in said
    ]

    assert safe


def test_furniture_is_found_however_it_is_spaced(root: Path) -> None:
    text = (root / "content" / "frame.toml").read_text("utf-8")
    number = next(n for n, line in enumerate(text.split("\n"), 1) if line.startswith("subject"))
    tight = text.replace("subject = ", "subject=").replace("After your visit", "After  your visit")

    lines = {msgid: line for line, msgid, _, _ in found("frame.toml", tight)}

    # One space, as the reader of the shelf looks it up.
    assert lines["After your visit to {clinic_short_name}"] == number


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("a/block.md", "no header"),
        ("a/block.md", "---\nid: x\n"),
        ("a/frame.toml", "version = "),
        ("a/frame.toml", 'version = "1"\n'),
        ("a/clinic.toml", 'name = "x"\n'),
        ("a/clinic.toml", "\0"),
    ],
)
def test_what_the_reader_would_refuse_is_refused_with_its_path(name: str, text: str) -> None:
    with pytest.raises(BadContent) as caught:
        found(name, text)

    assert caught.value.place.startswith(name)


def test_bytes_that_are_no_text_are_refused() -> None:
    for name in ("a/block.md", "a/frame.toml", "a/clinic.toml"):
        with pytest.raises(BadContent, match="not UTF-8 text"):
            list(extract(METHOD, Named(name, b"\xff\xfe"), DEFAULT_KEYWORDS))


def test_babel_finds_the_extractor_by_its_entry_point(root: Path) -> None:
    project = tomllib.loads((root / "pyproject.toml").read_text("utf-8"))["project"]

    assert project["entry-points"]["babel.extractors"] == {"aftercare_content": METHOD}

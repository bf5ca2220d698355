"""Every script printed: ``out/contact-sheet/index.html`` shows what these tests only measure.

Looked at by eye on 2026-11-30: joined and stacked letters, order, bold, line ends, lists.
"""

from __future__ import annotations

import io
import shutil
from collections.abc import Iterator
from pathlib import Path

import pikepdf
import pytest
from made_up import HOME
from PIL import Image
from scripts.contact_sheet import SCALE, dark, leaflet, put, screens
from scripts.written import LANGUAGES, house, written

from aftercare.model import Channel

SHEET = HOME / "out" / "contact-sheet"
SIZES = ("print", "large")
# Between the band of a sample and the frame of a box, in points from either side of the page:
# nothing may stand there. The frame is drawn half outside the margin of 20 mm.
GUTTER = (39, 50)
INK = 250

in_every_size = pytest.mark.parametrize("size", SIZES)
in_every_language = pytest.mark.parametrize("language", LANGUAGES)


@pytest.fixture(scope="module")
def drawn() -> dict[str, dict[str, list[Image.Image]]]:
    """The pages of each leaflet; ``put`` writes them whatever the tests then say of them."""
    pictures = {
        language: {size: leaflet(pdf(language, size)) for size in SIZES} for language in LANGUAGES
    }
    put(SHEET, pictures)
    return pictures


def pdf(language: str, size: str) -> bytes:
    message = written(language).leaflets[size]
    assert message.body is not None, message.withheld_because
    return message.body


def test_every_language_that_ships_is_on_the_sheet() -> None:
    shipped = {path.parts[-3] for path in (HOME / "locales").glob("*/LC_MESSAGES/aftercare.po")}

    assert shipped | {"en"} == set(LANGUAGES)
    assert [written(one).message(Channel.PRINT).language for one in LANGUAGES] == [*LANGUAGES]


@in_every_size
@in_every_language
def test_each_page_is_printed_and_nothing_runs_out_of_it(
    drawn: dict[str, dict[str, list[Image.Image]]], language: str, size: str
) -> None:
    pages, message = drawn[language][size], written(language).leaflets[size]
    limits = house().library.limits

    assert len(pages) == message.pages
    assert len(pages) <= {"print": limits.print_pages, "large": limits.print_pages_large}[size]
    for page in pages:
        assert 0.005 < dark(words(page)) < 0.30
        assert [side for side in gutters(page) if inked(side)] == []


def words(page: Image.Image) -> Image.Image:
    """The page without the bands at its sides."""
    edge = round(GUTTER[1] * SCALE)
    return page.crop((edge, 0, page.width - edge, page.height))


def gutters(page: Image.Image) -> tuple[Image.Image, Image.Image]:
    near, far = (round(one * SCALE) for one in GUTTER)
    left = page.crop((near, 0, far, page.height))
    right = page.crop((page.width - far, 0, page.width - near, page.height))
    return left, right


def inked(picture: Image.Image) -> bool:
    return picture.getextrema()[0] < INK


def test_a_word_that_ran_out_of_the_page_would_be_seen(
    drawn: dict[str, dict[str, list[Image.Image]]],
) -> None:
    page = drawn["en"]["print"][0].copy()
    page.paste(0, (60, 700, 200, 712))

    assert [inked(side) for side in gutters(page)] == [True, False]
    assert dark(words(Image.new("L", page.size, 255))) == 0


# --- glyphs -------------------------------------------------------------------------------


@in_every_size
@in_every_language
def test_no_letter_is_drawn_as_the_box_of_a_missing_one(language: str, size: str) -> None:
    """Glyph 0 of a font is that box (OpenType 1.9.1, 'Recommendations for OpenType Fonts');
    read from the page's own operators by pikepdf."""
    with pikepdf.open(io.BytesIO(pdf(language, size))) as document:
        counts = [list(glyphs(page)) for page in document.pages]

    assert all(len(one) > 30 for one in counts)
    assert all(0 not in one for one in counts)


def glyphs(page: pikepdf.Page) -> Iterator[int]:
    """The two-byte codes of what the page shows (ISO 32000-2, 9.7.5.2, Identity-H)."""
    for operands, operator in pikepdf.parse_content_stream(page):
        if str(operator) in ("Tj", "TJ"):
            shown = operands[0] if str(operator) == "TJ" else [operands[0]]
            for piece in shown:
                if isinstance(piece, pikepdf.String):
                    raw = bytes(piece)
                    yield from (int.from_bytes(raw[at : at + 2]) for at in range(0, len(raw), 2))


def test_a_missing_letter_would_be_seen() -> None:
    with pikepdf.open(io.BytesIO(pdf("en", "print"))) as document:
        page = document.pages[0]
        page.contents_add(b"BT <0000> Tj ET")

        assert 0 in list(glyphs(page))


# --- screens ------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def screened(
    drawn: dict[str, dict[str, list[Image.Image]]], tmp_path_factory: pytest.TempPathFactory
) -> dict[str, tuple[Image.Image, ...]]:
    if not shutil.which("chromium"):
        pytest.skip("no chromium to look at e-mails with")
    every = {language: written(language) for language in LANGUAGES}
    shots = screens(every, tmp_path_factory.mktemp("screens"))
    with_pages = {
        language: {**drawn[language], "email": [trimmed(mail)], "sms": [trimmed(text)]}
        for language, (text, mail) in shots.items()
    }
    put(SHEET, with_pages)
    return shots


def trimmed(picture: Image.Image) -> Image.Image:
    """Without the empty end."""
    box = picture.point(lambda grey: 255 - grey).getbbox()
    return picture.crop((0, 0, picture.width, min(picture.height, (box or (0, 0, 0, 1))[3] + 20)))


@in_every_language
def test_text_message_and_email_are_shown_whole(
    screened: dict[str, tuple[Image.Image, ...]], language: str
) -> None:
    for picture in screened[language]:
        ends = picture.crop((0, picture.height - 40, picture.width, picture.height))
        side = picture.crop((picture.width - 6, 0, picture.width, picture.height))

        assert dark(picture) > 0.01
        assert not inked(ends)
        assert not inked(side)


def test_the_sheet_shows_every_picture_there_is(
    screened: dict[str, tuple[Image.Image, ...]],
) -> None:
    page = (SHEET / "index.html").read_text(encoding="utf-8")
    there = {path.name for path in Path(SHEET).glob("*.png")}

    assert screened
    assert {name for name in there if f'src="{name}"' in page} == there
    assert {
        f"{one}-{kind}-1.png" for one in LANGUAGES for kind in (*SIZES, "email", "sms")
    } <= there

"""Every script printed: ``out/contact-sheet/index.html`` shows what these tests only measure.

All pages of a leaflet in both sizes and of recall letters, then what is read on a phone. Looked at
by eye on 2026-11-30: joined and stacked letters, order, bold, line and page ends, lists, colours.
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
from scripts.contact_sheet import SCALE, TALL, dark, leaflet, put, screens
from scripts.written import LANGUAGES, house, reminder, reminder_page, written

from aftercare.model import Channel, Message, Moment

SHEET = HOME / "out" / "contact-sheet"
SIZES = ("print", "large")
# A new time, a missed visit, and the longest letter in large print.
LETTERS = {
    "letter-changed": (Moment.CHANGED, False),
    "letter-missed": (Moment.MISSED, False),
    "letter-large": (Moment.CHANGED, True),
}
PRINTED = (*SIZES, *LETTERS)
# Between the band of a sample and the frame of a box, in points from either side of the page:
# nothing may stand there. The frame is drawn half outside the margin of 20 mm.
GUTTER = (39, 50)
INK = 250

in_every_size = pytest.mark.parametrize("size", PRINTED)
in_every_language = pytest.mark.parametrize("language", LANGUAGES)


def printed(language: str, size: str) -> Message:
    if size in LETTERS:
        moment, large = LETTERS[size]
        return reminder(language, moment, Channel.PRINT, large=large)
    return written(language).leaflets[size]


def pdf(language: str, size: str) -> bytes:
    message = printed(language, size)
    assert message.body is not None, message.withheld_because
    return message.body


def test_every_language_that_ships_is_on_the_sheet() -> None:
    shipped = {path.parts[-3] for path in (HOME / "locales").glob("*/LC_MESSAGES/aftercare.po")}

    assert shipped | {"en"} == set(LANGUAGES)
    assert [written(one).message(Channel.PRINT).language for one in LANGUAGES] == [*LANGUAGES]


@in_every_size
@in_every_language
def test_each_page_is_printed_and_nothing_runs_out_of_it(language: str, size: str) -> None:
    pages, limits = leaflet(pdf(language, size)), house().library.limits
    most = limits.print_pages_large if size.endswith("large") else limits.print_pages

    assert len(pages) == printed(language, size).pages
    assert len(pages) <= most
    for page in pages:
        assert 0.002 < dark(words(page)) < 0.30
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


def test_a_word_that_ran_out_of_the_page_would_be_seen() -> None:
    page = leaflet(pdf("en", "print"))[0]
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


# --- the sheet ----------------------------------------------------------------------------


@pytest.mark.skipif(not shutil.which("chromium"), reason="no chromium to look at e-mails with")
def test_the_sheet_shows_every_page_and_every_screen_whole(tmp_path: Path) -> None:
    """One test, as the sheet is one folder: two at once would write it twice."""
    shots = screens({language: read_on_a_phone(language) for language in LANGUAGES}, tmp_path)
    put(SHEET, {language: shown(language, shots[language]) for language in LANGUAGES})

    page = (SHEET / "index.html").read_text(encoding="utf-8")
    there = {path.name for path in SHEET.glob("*.png")}
    assert there == {
        *(f"{one}-{kind}-1.png" for one in LANGUAGES for kind in TALL),
        *(
            f"{one}-{size}-{at}.png"
            for one in LANGUAGES
            for size in PRINTED
            for at in range(1, 1 + (printed(one, size).pages or 0))
        ),
    }
    assert {name for name in there if f'src="{name}"' in page} == there
    cut = [(one, kind) for one in LANGUAGES for kind in TALL if not is_whole(shots[one][kind])]
    assert cut == []


def read_on_a_phone(language: str) -> dict[str, str]:
    one = written(language)
    return {"sms": one.sms, "email": one.email[1], "reminder": reminder_page(language)}


def shown(language: str, shots: dict[str, Image.Image]) -> dict[str, list[Image.Image]]:
    pages = {size: leaflet(pdf(language, size)) for size in PRINTED}
    return {**pages, **{kind: [trimmed(picture)] for kind, picture in shots.items()}}


def trimmed(picture: Image.Image) -> Image.Image:
    """Without the empty end."""
    box = picture.point(lambda grey: 255 - grey).getbbox()
    return picture.crop((0, 0, picture.width, min(picture.height, (box or (0, 0, 0, 1))[3] + 20)))


def is_whole(picture: Image.Image) -> bool:
    """Whether something is on it, and nothing at its end or its side."""
    end = picture.crop((0, picture.height - 40, picture.width, picture.height))
    side = picture.crop((picture.width - 6, 0, picture.width, picture.height))
    return dark(picture) > 0.01 and not inked(end) and not inked(side)


def test_a_screen_that_is_empty_or_cut_would_be_seen() -> None:
    empty = Image.new("L", (400, 800), 255)
    told = empty.copy()
    told.paste(0, (20, 20, 300, 60))
    long, wide = told.copy(), told.copy()
    long.paste(0, (20, 790, 300, 800))
    wide.paste(0, (20, 100, 400, 120))

    assert [is_whole(one) for one in (told, empty, long, wide)] == [True, False, False, False]

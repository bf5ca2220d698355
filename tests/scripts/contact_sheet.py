"""Pictures of what a patient gets: the leaflets by pdfium, e-mail and text message by a browser."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Iterator, Mapping
from html import escape
from pathlib import Path

import pypdfium2
from PIL import Image
from scripts.written import NAMES, RIGHT_TO_LEFT, Written

from aftercare.edges import fonts

# Dots for each point of the page: 14 point print can still be read.
SCALE = 1.25
COLUMN, TEXTED, MAILED = 560, 560, 3600


def leaflet(pdf: bytes) -> list[Image.Image]:
    """Each page in grey."""
    with pypdfium2.PdfDocument(pdf) as document:
        return [page.render(scale=SCALE, grayscale=True).to_pil().convert("L") for page in document]


def screens(every: Mapping[str, Written], folder: Path) -> dict[str, tuple[Image.Image, ...]]:
    """The text message and the e-mail in each language, in one run of the browser."""
    columns = []
    for at, (language, one) in enumerate(every.items()):
        (folder / f"{language}.html").write_text(one.email[1], encoding="utf-8")
        columns.append(
            f'<pre lang="{language}" dir="{_way(language)}" style="left:{at * COLUMN}px">'
            f'{escape(one.sms)}</pre><iframe src="{language}.html" scrolling="no"'
            f' style="left:{at * COLUMN}px"></iframe>'
        )
    picture = _photographed(_WALL.format("".join(columns)), COLUMN * len(every), folder)
    return {
        language: tuple(
            picture.crop((at * COLUMN, top, (at + 1) * COLUMN, top + tall))
            for top, tall in ((0, TEXTED), (TEXTED, MAILED))
        )
        for at, language in enumerate(every)
    }


_WALL = f"""<!doctype html><meta charset="utf-8"><style>body {{{{ margin: 0 }}}}
pre, iframe {{{{ position: absolute; box-sizing: border-box; width: {COLUMN}px; margin: 0 }}}}
pre {{{{ top: 0; height: {TEXTED}px; padding: 16px; white-space: pre-wrap }}}}
pre {{{{ font: 17px/1.5 "Noto Sans", sans-serif }}}}
iframe {{{{ top: {TEXTED}px; height: {MAILED}px; border: 0 }}}}</style>{{}}"""


def _way(language: str) -> str:
    return "rtl" if language in RIGHT_TO_LEFT else "ltr"


def _photographed(page: str, width: int, folder: Path) -> Image.Image:
    """The page as Chromium draws it with the fonts of the leaflets, whatever the machine has."""
    held = "".join(f"<dir>{one}</dir>" for one in fonts.folders())
    (folder / "fonts.conf").write_text(f"<fontconfig>{held}</fontconfig>", encoding="utf-8")
    (folder / "wall.html").write_text(page, encoding="utf-8")
    shot = folder / "wall.png"
    subprocess.run(
        [
            "chromium", "--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars",
            "--no-first-run", "--disable-background-networking",
            f"--user-data-dir={folder / 'browser'}", f"--screenshot={shot}",
            f"--window-size={width},{TEXTED + MAILED}", (folder / "wall.html").as_uri(),
        ],
        env={**os.environ, "HOME": str(folder), "FONTCONFIG_FILE": str(folder / "fonts.conf")},
        check=True, capture_output=True, timeout=120,
    )  # fmt: skip
    return Image.open(shot).convert("L")


def dark(picture: Image.Image) -> float:
    """The share of the picture that is nearer to black than to white."""
    return sum(picture.histogram()[:128]) / (picture.width * picture.height)


def put(folder: Path, pictures: Mapping[str, Mapping[str, list[Image.Image]]]) -> None:
    """Write the pictures, by language and kind, and the sheet that shows them side by side."""
    folder.mkdir(parents=True, exist_ok=True)
    for old in folder.glob("*.png"):
        old.unlink()
    for language, kinds in pictures.items():
        for kind, pages in kinds.items():
            for at, page in enumerate(pages, 1):
                page.save(folder / _name(language, kind, at))
    (folder / "index.html").write_text(_index(pictures), encoding="utf-8")


def _name(language: str, kind: str, at: int) -> str:
    return f"{language}-{kind}-{at}.png"


def _index(pictures: Mapping[str, Mapping[str, list[Image.Image]]]) -> str:
    return "\n".join(
        [
            '<!doctype html>\n<html lang="en">\n<meta charset="utf-8">',
            "<title>Contact sheet: samples, drafts, not for patients</title>",
            "<style>body { font: 16px sans-serif } img { border: 1px solid; height: 30rem }",
            "section { display: flex; gap: .5rem; overflow-x: auto }</style>",
            "<h1>Contact sheet: samples, drafts, not for patients</h1>",
            *(row for language, kinds in pictures.items() for row in _rows(language, kinds)),
        ]
    )


def _rows(language: str, kinds: Mapping[str, list[Image.Image]]) -> Iterator[str]:
    yield f'<h2>{language}: <span lang="{language}">{NAMES[language]}</span></h2>\n<section>'
    for kind, pages in kinds.items():
        for at in range(1, len(pages) + 1):
            name = _name(language, kind, at)
            yield f'<a href="{name}"><img src="{name}" alt="{language}, {kind}, {at}"></a>'
    yield "</section>"

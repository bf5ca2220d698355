"""Pictures of what a patient gets: the leaflets by pdfium, e-mail and text message by a browser."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Iterator, Mapping
from html import escape
from itertools import accumulate
from pathlib import Path

import pypdfium2
from PIL import Image
from scripts.written import NAMES, RIGHT_TO_LEFT

from aftercare.edges import fonts

# Dots for each point of the page: 14 point print can still be read.
SCALE = 1.25
# A phone's width, and room for the longest of each in pixels.
COLUMN = 400
TALL = {"sms": 800, "email": 5600, "reminder": 2200}


def leaflet(pdf: bytes) -> list[Image.Image]:
    """Each page in grey."""
    with pypdfium2.PdfDocument(pdf) as document:
        return [page.render(scale=SCALE, grayscale=True).to_pil().convert("L") for page in document]


def screens(
    every: Mapping[str, Mapping[str, str]], folder: Path
) -> dict[str, dict[str, Image.Image]]:
    """What is read on a phone, by language and kind, in one run of the browser."""
    columns = "".join(
        _told(kind, said, language, at * COLUMN, folder)
        for at, (language, kinds) in enumerate(every.items())
        for kind, said in kinds.items()
    )
    picture = _photographed(_WALL.format(columns), COLUMN * len(every), folder)
    return {
        language: {
            kind: picture.crop((at * COLUMN, top, (at + 1) * COLUMN, top + TALL[kind]))
            for kind, top in TOPS.items()
        }
        for at, language in enumerate(every)
    }


TOPS = dict(zip(TALL, accumulate([0, *TALL.values()]), strict=False))


def _told(kind: str, said: str, language: str, left: int, folder: Path) -> str:
    where = f'style="left:{left}px;top:{TOPS[kind]}px;height:{TALL[kind]}px"'
    if kind == "sms":
        return f'<pre lang="{language}" dir="{_way(language)}" {where}>{escape(said)}</pre>'
    (folder / f"{language}-{kind}.html").write_text(said, encoding="utf-8")
    return f'<iframe src="{language}-{kind}.html" scrolling="no" {where}></iframe>'


_WALL = f"""<!doctype html><meta charset="utf-8"><style>body {{{{ margin: 0 }}}}
pre, iframe {{{{ position: absolute; box-sizing: border-box; width: {COLUMN}px; margin: 0 }}}}
pre {{{{ padding: 16px; white-space: pre-wrap; font: 17px/1.5 "Noto Sans", sans-serif }}}}
iframe {{{{ border: 0 }}}}</style>{{}}"""


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
            f"--window-size={width},{sum(TALL.values())}", (folder / "wall.html").as_uri(),
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

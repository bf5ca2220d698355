"""What is read out of a PDF by two independent readers, and which lines of it are lost."""

from __future__ import annotations

import subprocess
from collections.abc import Callable, Iterable
from unicodedata import category, normalize

import pypdfium2

# What pdfium reads for a hyphen at the end of a line.
_LINE_END_HYPHEN = "\ufffe"


def pages(pdf: bytes) -> list[str]:
    """The text of each page by pypdfium2."""
    with pypdfium2.PdfDocument(pdf) as document:
        read = [sheet.get_textpage().get_text_range() for sheet in document]
    return [text.replace(_LINE_END_HYPHEN, "-") for text in read]


def pdfium(pdf: bytes) -> str:
    """All the text by pypdfium2."""
    return "".join(pages(pdf))


def poppler(pdf: bytes) -> str:
    """All the text by pdftotext, of poppler."""
    read = ["pdftotext", "-enc", "UTF-8", "-", "-"]
    return subprocess.run(read, input=pdf, capture_output=True, check=True).stdout.decode()


def letters(text: str) -> str:
    """The text without what a reader does not see: NFKC, then no spaces and no Cf.

    A fraction's stroke is a slash, as pdfium writes it among Arabic letters.
    """
    flat = normalize("NFKC", text).replace("\N{FRACTION SLASH}", "/")
    return "".join(char for char in flat if not char.isspace() and category(char) != "Cf")


def in_order(pdf: bytes, lines: Iterable[str], read: Callable[[bytes], str]) -> list[str]:
    """The lines that do not follow the one before them, letter for letter, in what is read."""
    text, at, lost = letters(read(pdf)), 0, []
    for one in map(letters, lines):
        found = text.find(one, at)
        lost += [one] if found < 0 else []
        at = max(at, found + len(one))
    return lost

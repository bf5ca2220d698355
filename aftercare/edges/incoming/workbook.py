"""A list in a workbook (ECMA-376): its first sheet that is not hidden, or the one the plan names.

Values come from a reader that evaluates nothing and drops formulas without a word; so the sheet's
own XML is looked through for formulas and error values beside it, and those cells are marked.
"""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

from aftercare.edges.incoming.in_memory import InMemory
from aftercare.edges.incoming.source import Source
from aftercare.errors import BadInput
from aftercare.recall.incoming.plan import ImportPlan
from aftercare.recall.incoming.trouble import MARK

FILE_BYTES = 128 * 1024 * 1024
UNPACKED_BYTES = 1024 * 1024 * 1024
# Sheets of people pack to a tenth; what packs to a thousandth was made to fill a memory.
MOST_TIMES, WORTH_ASKING = 200, 10 * 1024 * 1024
MOST_PARTS, MOST_ROWS, MOST_COLUMNS = 10_000, 300_000, 500
_CHUNK = 1024 * 1024
_CELL = re.compile(
    rb"<(?:\w+:)?c\b([^>]*?)>\s*(?:<(?:\w+:)?(f)\b)?|<(?:\w+:)?(?:row|sheetData)\b", re.ASCII
)
_AT = re.compile(rb'\br="([A-Z]{1,3})(\d{1,7})"')
_ERROR = re.compile(rb'\bt="e"')
_KEEP = 4096
_REL = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
_AGAIN = "save it as .xlsx again, or export it as CSV"


def read_workbook(path: Path, plan: ImportPlan) -> Source:
    """The list in a workbook. Raises ``BadInput``."""
    place = str(path)
    _refuse(path)
    from python_calamine import CalamineError, CalamineWorkbook, SheetVisibleEnum

    try:
        book = CalamineWorkbook.from_path(place)
        name = _sheet(place, book, plan.sheet, SheetVisibleEnum.Visible)
        sheet = book.get_sheet_by_name(name)
        if sheet.total_height > MOST_ROWS or sheet.total_width > MOST_COLUMNS:
            told = f"more than {MOST_ROWS} rows or {MOST_COLUMNS} columns"
            raise BadInput(place, told, "export it as CSV")
        rows = [[_words(cell) for cell in row] for row in sheet.iter_rows()]
        merged, start = sheet.merged_cell_ranges or [], sheet.start or (0, 0)
    except CalamineError as error:
        told = "a password" if "assword" in str(error) else "not a sound workbook"
        raise BadInput(place, told, _AGAIN) from None
    _mark(rows, start, _marks(path, name))
    _mark(rows, start, _covered(merged))
    if not rows or not any(rows[0]):
        raise BadInput(f"{place}:1", "empty", "begin with a line of column names")
    return InMemory(
        place,
        [cell.strip() for cell in rows[0]],
        rows[1:],
        first_row=start[0] + 2,
        notes=(f"read the sheet '{name}'",),
    )


def _refuse(path: Path) -> None:
    """Refuse what is no workbook, and one that would fill the memory."""
    place = str(path)
    try:
        with path.open("rb") as stream:
            head = stream.read(8)
        if head.startswith(b"\xd0\xcf\x11\xe0"):
            told = "a workbook of the old kind, or one with a password"
            raise BadInput(place, told, "save it as .xlsx without a password")
        if path.stat().st_size > FILE_BYTES:
            raise BadInput(place, "over 128 MB", "export it as CSV")
        with zipfile.ZipFile(path) as packed:
            _refuse_bombs(place, packed)
    except OSError as error:
        raise BadInput(place, error.strerror or "unreadable", "check the name") from None
    except (zipfile.BadZipFile, EOFError, NotImplementedError, RuntimeError):
        raise BadInput(place, "not what its name says: no workbook", _AGAIN) from None


def _refuse_bombs(place: str, packed: zipfile.ZipFile) -> None:
    parts = packed.infolist()
    unpacked = sum(part.file_size for part in parts)
    if len(parts) > MOST_PARTS or unpacked > UNPACKED_BYTES:
        raise BadInput(place, "far too large once unpacked", "export it as CSV")
    for part in parts:
        times = part.file_size / max(part.compress_size, 1)
        if part.file_size > WORTH_ASKING and times > MOST_TIMES:
            raise BadInput(place, "packed so tightly that it may be a trap", "export it as CSV")
        if part.filename.endswith((".xml", ".rels")):
            # What a part says of its size may be false; reading it to the end finds out.
            with packed.open(part) as stream:
                while stream.read(_CHUNK):
                    pass


def _sheet(place: str, book: Any, wanted: str, visible: Any) -> str:
    names = [one.name for one in book.sheets_metadata]
    shown = [one.name for one in book.sheets_metadata if one.visible == visible]
    if wanted:
        if wanted not in names:
            raise BadInput(place, f"no sheet '{wanted[:40]}'", f"the sheets are {', '.join(names)}")
        return wanted
    if not shown:
        raise BadInput(place, "every sheet is hidden", "name one in the mapping: sheet")
    return str(shown[0])


def _words(cell: Any) -> str:
    """A cell as it would stand in a file of words."""
    if isinstance(cell, datetime):
        return cell.date().isoformat()
    if isinstance(cell, date):
        return cell.isoformat()
    if isinstance(cell, bool):
        return "true" if cell else "false"
    if isinstance(cell, float):
        return str(int(cell)) if cell.is_integer() and abs(cell) < 1e15 else repr(cell)
    # A mark is ours to set: nobody's cell may look like one.
    return str(cell).replace(MARK, "\ufffe")


def _mark(rows: list[list[str]], start: tuple[int, int], marks: Any) -> None:
    for (row, column), said in marks:
        row, column = row - start[0], column - start[1]
        if 0 <= row < len(rows) and 0 <= column < len(rows[row]):
            rows[row][column] = MARK + said


def _covered(merged: Any) -> Iterator[tuple[tuple[int, int], str]]:
    """The cells that a merged one hides, but for its first."""
    for (top, left), (bottom, right) in merged:
        for row in range(top, min(bottom, top + MOST_ROWS) + 1):
            for column in range(left, min(right, left + MOST_COLUMNS) + 1):
                if (row, column) != (top, left):
                    yield (row, column), "part of a merged cell"


# --- formulas ---------------------------------------------------------------------------------


def _marks(path: Path, name: str) -> list[tuple[tuple[int, int], str]]:
    """Where the sheet has formulas and error values."""
    with zipfile.ZipFile(path) as packed:
        part = _part(packed, name)
        return list(_found(packed, part)) if part else []


def _part(packed: zipfile.ZipFile, name: str) -> str | None:
    """The part of the package that holds a sheet."""
    book = ElementTree.fromstring(packed.read("xl/workbook.xml"))  # noqa: S314 - expat, no entities
    rels = ElementTree.fromstring(packed.read("xl/_rels/workbook.xml.rels"))  # noqa: S314
    ids = {one.get("name"): one.get(_REL) for one in book.iter() if one.tag.endswith("}sheet")}
    targets = {one.get("Id"): one.get("Target") or "" for one in rels}
    target = targets.get(ids.get(name), "")
    part = target.lstrip("/") if target.startswith("/") else f"xl/{target}"
    return part if part in packed.namelist() else None


def _found(packed: zipfile.ZipFile, part: str) -> Iterator[tuple[tuple[int, int], str]]:
    with packed.open(part) as stream:
        kept = b""
        while more := stream.read(_CHUNK):
            raw = kept + more
            # A cell's start is short: what may be cut in two waits for the rest.
            end = max(raw.rfind(b"<", 0, len(raw) - _KEEP), 0) if len(more) == _CHUNK else len(raw)
            end = raw.rfind(b"</", 0, end) if end < len(raw) and b"</" in raw[:end] else end
            yield from _cells(raw[:end])
            kept = raw[end:]
        yield from _cells(kept)


def _cells(raw: bytes) -> Iterator[tuple[tuple[int, int], str]]:
    for found in _CELL.finditer(raw):
        if found[1] is None or not (found[2] or _ERROR.search(found[1])):
            continue
        if at := _AT.search(found[1]):
            column = 0
            for letter in at[1]:
                column = column * 26 + letter - 64
            yield (int(at[2]) - 1, column - 1), "a formula" if found[2] else "an error value"

"""A table somebody exported from a spreadsheet: strict about what it holds, not about commas."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from aftercare.errors import AftercareError, BadInput

TABLE_BYTES = 32 * 1024 * 1024
SEPARATORS = (",", ";", "\t")
# What an admin can mend in one sitting; the rest is likely to be the same mistake.
MOST_FAULTS = 20
_UNFIT = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\ufffe\uffff]")


@dataclass(frozen=True, slots=True)
class TableRow:
    """One row: its line in the file and its cells by column, trimmed; "" for an empty one."""

    place: str
    cells: dict[str, str]

    def refuse(self, problem: str, remedy: str) -> BadInput:
        """An error about this row."""
        return BadInput(self.place, problem, remedy)


def read_table(
    place: str, raw: bytes, columns: Sequence[str], *, optional: Sequence[str] = ()
) -> Iterator[TableRow]:
    """The rows of a table with these columns in any order, and no others.

    UTF-8 with or without a byte order mark; commas, semicolons or tabs, as the first line has
    them; empty lines are passed over. Raises ``BadInput`` with the line.
    """
    text = _text(place, raw)
    lines = text.splitlines(keepends=True)
    if not lines or not lines[0].strip():
        raise BadInput(f"{place}:1", "empty", f"begin with the columns {', '.join(columns)}")
    separator = max(SEPARATORS, key=lines[0].count)
    reader = csv.reader(lines, delimiter=separator, strict=True)
    try:
        header = _header(f"{place}:1", next(reader), columns, optional)
        for cells in reader:
            row = [cell.strip() for cell in cells]
            if any(row):
                where = f"{place}:{reader.line_num}"
                yield TableRow(where, _cells(where, header, row))
    except csv.Error as error:
        where = f"{place}:{reader.line_num}"
        raise BadInput(where, f"not a table ({error})", "export it as CSV again") from None


def _text(place: str, raw: bytes) -> str:
    if len(raw) > TABLE_BYTES:
        raise BadInput(place, f"larger than {TABLE_BYTES} bytes", "split it")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise BadInput(
            f"{place}:{line}", f"the byte 0x{raw[error.start]:02X} is not UTF-8", "save it as UTF-8"
        ) from None
    found = _UNFIT.search(text)
    if found:
        line = text.count("\n", 0, found.start()) + 1
        told = f"the character U+{ord(found[0]):04X} has no place in a table"
        raise BadInput(f"{place}:{line}", told, "export it as CSV again")
    return text


def _header(
    place: str, cells: Sequence[str], columns: Sequence[str], optional: Sequence[str]
) -> tuple[str, ...]:
    header = tuple(cell.strip().lower() for cell in cells)
    known = ", ".join((*columns, *optional))
    for name in columns:
        if name not in header:
            raise BadInput(place, f"no column '{name}'", f"the columns are {known}")
    for name in header:
        if name not in (*columns, *optional):
            raise BadInput(place, f"unknown column '{name[:40]}'", f"the columns are {known}")
        if header.count(name) > 1:
            raise BadInput(place, f"the column '{name}' stands there twice", "take one out")
    return header


def _cells(place: str, header: Sequence[str], row: Sequence[str]) -> dict[str, str]:
    if len(row) != len(header):
        told = f"{len(row)} cells under {len(header)} columns"
        raise BadInput(place, told, "give each column its cell")
    return dict(zip(header, row, strict=True))


def all_or_faults(place: str, faults: Sequence[AftercareError]) -> None:
    """Raise ``BadInput`` with every fault found, the first of them if they are many."""
    if len(faults) == 1:
        raise faults[0]
    if faults:
        shown = "".join(f"\n  {fault}" for fault in faults[:MOST_FAULTS])
        more = f"\n  and {len(faults) - MOST_FAULTS} more" if len(faults) > MOST_FAULTS else ""
        raise BadInput(place, f"{len(faults)} faults:{shown}{more}")


def whole_number(row: TableRow, column: str, least: int, most: int) -> int:
    """A cell as a whole number between two bounds. Raises ``BadInput``."""
    cell = row.cells[column]
    if not re.fullmatch(r"-?[0-9]{1,9}", cell, re.ASCII):
        raise row.refuse(f"'{column}': {cell[:40]!r} is not a whole number", "write digits alone")
    number = int(cell)
    if not least <= number <= most:
        raise row.refuse(f"'{column}': {number} is not from {least} to {most}", "check it")
    return number


def yes_or_no(row: TableRow, column: str) -> bool:
    """A cell that says yes or no; an empty or missing one says no. Raises ``BadInput``."""
    cell = row.cells.get(column, "").lower()
    if cell not in ("", "yes", "no"):
        raise row.refuse(f"'{column}': {cell[:40]!r} is neither yes nor no", "write yes or no")
    return cell == "yes"

"""A list in comma-separated values (RFC 4180), or with semicolons, tabs or bars.

The file is cut into blocks of whole records by counting quotation marks, so that two processes
can read it. It is never copied to another file: what is in it stays where it is.
"""

from __future__ import annotations

import codecs
import csv
import io
import os
from collections.abc import Collection, Iterator, Sequence
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING

from aftercare.edges.incoming.plain_rows import cell_ends, one_line_end, some_columns
from aftercare.edges.incoming.source import Block
from aftercare.errors import BadInput
from aftercare.recall.incoming.cells import Cells, Row, cells_of

if TYPE_CHECKING:
    from aftercare.edges.incoming.plain_rows import Ends

BLOCK_BYTES = 1024 * 1024
RECORD_BYTES = 16 * 1024 * 1024  # a record longer than this is a quotation mark never closed
WIDE_BYTES = 512 * 1024 * 1024
SEPARATORS = ",;\t|"
# What trimming takes besides blanks and line ends: all that `str.isspace` knows (held in a test).
_TRIMMED = (
    "\t\v\f\x1c\x1d\x1e\x1f\x85\xa0\u1680\u2000\u2001\u2002\u2003\u2004\u2005\u2006\u2007\u2008"
    "\u2009\u200a\u2028\u2029\u202f\u205f\u3000"
)
_END = "\x1a end of the rows"
_WIDE = ((codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"))


class CsvList:
    """A `Source` over a file of separated values."""

    first_row = 2

    def __init__(self, path: Path) -> None:
        self.place = str(path)
        self._file = _open(path)
        self._size = os.fstat(self._file).st_size
        self._wide: bytes | None = None
        self._start, self._encoding, told = self._look()
        self._newline = b"\n" if b"\n" in self._bytes(0, BLOCK_BYTES) else b"\r"
        head = self._head()
        first = head.split("\n", 1)[0]
        self._separator = max(SEPARATORS, key=first.count)
        reader = csv.reader(io.StringIO(head, newline=""), delimiter=self._separator)
        self.headers = tuple(cell.strip() for cell in next(reader, []))
        # Of several header lines only a quoted one spans lines; the reader knows how many.
        lines = list(io.StringIO(head, newline=""))[: reader.line_num]
        self._body = self._start + sum(len(line.encode(self._encoding)) for line in lines)
        self._trimmed = [mark for mark in _TRIMMED if mark != self._separator]
        name = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "bars"}[self._separator]
        self.notes: tuple[str, ...] = (f"read as {told}, with {name}",)

    def blocks(self) -> Iterator[Block]:
        """The parts of the file as (start, length) in bytes."""
        at = self._body
        while at < self._size:
            length = self._whole(at)
            self._decode(at, length)
            yield Block((at, length))
            at += length

    def cells(self, block: Block) -> Cells:
        """The cells of a part."""
        return self._plain(block) or self._read(block)

    def some_cells(self, block: Block, places: Collection[int]) -> Cells:
        """As `cells`; columns at no ``places`` may be blank."""
        return self._some_plain(block, places) or self._read(block)

    def _plain(self, block: Block) -> Cells | None:
        """The cells of rows with nothing to unquote or trim, cut in one go; else None."""
        raw, ends = self._cut(block)
        if ends is None:
            return None
        count, width = ends.shape
        text = raw.decode(self._encoding).removesuffix("\n")
        cells = text.replace("\n", self._separator).split(self._separator)
        return Cells([cells[n::width] for n in range(width)], count)

    def _some_plain(self, block: Block, places: Collection[int]) -> Cells | None:
        """As `_plain`, with nothing made of the columns that are not asked for."""
        raw, ends = self._cut(block)
        if ends is None:
            return None
        count, width = ends.shape
        columns: list[list[str]] = [[""] * count] * width
        for place, cells in some_columns(raw, ends, places).items():
            text = cells.decode(self._encoding)
            columns[place] = text[:-1].split(text[-1])
        return Cells(columns, count)

    def _cut(self, block: Block) -> tuple[bytes, Ends | None]:
        """The bytes of a part with line feeds, and where its cells end if they are plain."""
        at, length = block.where
        text = self._decode(at, length)
        raw = one_line_end(self._bytes(at, length))
        if any(mark in text for mark in self._trimmed):
            return raw, None
        return raw, cell_ends(raw, self._separator.encode("ascii"), len(self.headers))

    def _read(self, block: Block) -> Cells:
        at, length = block.where
        return cells_of(self._rows(at, self._decode(at, length)), len(self.headers))

    def _rows(self, at: int, text: str) -> Sequence[Row]:
        lines = io.StringIO(text, newline="")
        if csv.field_size_limit() < RECORD_BYTES:
            csv.field_size_limit(RECORD_BYTES)
        try:
            # Within quotation marks that nothing closes, the line behind the last is no row.
            *rows, last = csv.reader(chain(lines, (_END,)), delimiter=self._separator)
        except csv.Error as error:
            raise BadInput(self.place, f"not a table ({error})", "export it as CSV again") from None
        if last != [_END]:
            raise self._never_closed(at, text, last[-1])
        return rows

    def _never_closed(self, at: int, text: str, cell: str) -> BadInput:
        """Who comes behind such a mark would be lost in one cell."""
        before = self._bytes(0, at).count(self._newline) + text.count(self._newline.decode())
        line = before - cell.count(self._newline.decode()) + 1
        told = "a quotation mark that is never closed: all behind it would be one cell"
        return BadInput(f"{self.place}:{line}", told, "take it out or close it")

    # --- bytes ------------------------------------------------------------------------

    def _bytes(self, at: int, length: int) -> bytes:
        if self._wide is not None:
            return self._wide[at : at + length]
        return os.pread(self._file, length, at)

    def _look(self) -> tuple[int, str, str]:
        """Where the text begins, how it is encoded, and the name of that."""
        head = self._bytes(0, 4096)
        if not head.strip(b"\xef\xbb\xbf\xff\xfe \t\r\n\x00"):
            raise BadInput(f"{self.place}:1", "empty", "begin with a line of column names")
        _refuse_others(self.place, head)
        if any(head.startswith(mark) for mark, _ in _WIDE):
            return self._widen()
        if head.startswith(codecs.BOM_UTF8):
            return len(codecs.BOM_UTF8), "utf-8", "UTF-8"
        return (0, "utf-8", "UTF-8") if self._is_utf8() else (0, "cp1252", "Windows-1252")

    def _widen(self) -> tuple[int, str, str]:
        """UTF-16 is read whole, because its bytes cannot be cut at a line."""
        if self._size > WIDE_BYTES:
            raise BadInput(self.place, "UTF-16 and over 512 MB", "save it as UTF-8")
        try:
            text = self._bytes(0, self._size).decode("utf-16")
        except UnicodeDecodeError:
            raise BadInput(self.place, "cut short in UTF-16", "export it again") from None
        self._wide = text.encode("utf-8", "surrogatepass")
        self._size = len(self._wide)
        return 0, "utf-8", "UTF-16"

    def _is_utf8(self) -> bool:
        """Whether all of it is UTF-8. Raises ``BadInput`` when only some of it is."""
        decoder, wide, at = codecs.getincrementaldecoder("utf-8")(), False, 0
        while at < self._size:
            raw = self._bytes(at, BLOCK_BYTES)
            try:
                wide = wide or not raw.isascii()
                decoder.decode(raw, final=at + len(raw) >= self._size)
            except UnicodeDecodeError as error:
                self._refuse_mixed(raw, at, error)
                return False
            at += len(raw)
        return True

    def _refuse_mixed(self, raw: bytes, at: int, error: UnicodeDecodeError) -> None:
        """One bad byte in a file that is UTF-8 elsewhere must not turn every name in it."""
        before = error.object[: error.start]
        if (before.isascii() and at == 0) or not _says_utf8(raw):
            return
        line = before.count(b"\n") + 1
        raise BadInput(
            f"{self.place}:{line}" if at == 0 else self.place,
            "some of it is UTF-8 and some is not",
            "export it again as UTF-8",
        )

    def _head(self) -> str:
        """The first record, and whatever else is in the same block."""
        length = self._whole(self._start) if self._size > self._start else 0
        return self._decode(self._start, min(length, self._size - self._start))

    def _decode(self, at: int, length: int) -> str:
        try:
            return self._bytes(at, length).decode(self._encoding)
        except UnicodeDecodeError as error:
            told = f"the byte 0x{error.object[error.start]:02X} is no {self._encoding} character"
            raise BadInput(self.place, told, "export it again as UTF-8") from None

    def _whole(self, at: int) -> int:
        """The length of the whole records in about a block from here."""
        wanted = BLOCK_BYTES
        while True:
            raw = self._bytes(at, wanted)
            if at + len(raw) >= self._size:
                return len(raw)
            cut = _cut(raw, self._newline)
            if cut:
                return cut
            if wanted >= RECORD_BYTES:
                told = f"no end of a record in {RECORD_BYTES // 1024 // 1024} MB"
                raise BadInput(self.place, told, "look for a quotation mark that is never closed")
            wanted *= 2


def _cut(raw: bytes, newline: bytes) -> int:
    """Behind the last end of a record; a line end within quotation marks is none."""
    end, marks = len(raw), raw.count(b'"')
    while (found := raw.rfind(newline, 0, end)) >= 0:
        marks -= raw.count(b'"', found, end)
        if marks % 2 == 0:
            return found + 1
        end = found
    return 0


def _says_utf8(raw: bytes) -> bool:
    """Whether at least two characters of several bytes are well formed: chance makes hardly one."""
    text = raw.decode("utf-8", "replace")
    good = sum(1 for char in text if ord(char) > 127 and char != "\ufffd")
    return good >= 2


def _open(path: Path) -> int:
    try:
        return os.open(path, os.O_RDONLY | os.O_CLOEXEC)
    except OSError as error:
        raise BadInput(str(path), error.strerror or "unreadable", "check the name") from None
    except ValueError:
        raise BadInput(ascii(str(path)), "no file can have this name", "check the name") from None


def _refuse_others(place: str, head: bytes) -> None:
    """A workbook or a page that somebody has called a table."""
    kinds = (
        (b"PK\x03\x04", "a workbook or another packed file", "name it .xlsx, or export it as CSV"),
        (b"\xd0\xcf\x11\xe0", "a workbook of the old kind, or one with a password",
         "save it as .xlsx without a password"),
        (b"%PDF", "a PDF", "export the list as CSV"),
        (b"<", "a web page", "export the list as CSV"),
        (b"{", "JSON", "name it .jsonl or .json"),
    )  # fmt: skip
    start = head.removeprefix(codecs.BOM_UTF8).lstrip()
    for mark, what, remedy in kinds:
        if start.startswith(mark):
            raise BadInput(place, f"not what its name says: {what}", remedy)
    if (
        b"\x00" in head
        and not any(head.startswith(mark) for mark, _ in _WIDE)
        and (head.count(b"\x00") > len(head) // 8)
    ):
        raise BadInput(place, "not text", "export it as CSV in UTF-8")

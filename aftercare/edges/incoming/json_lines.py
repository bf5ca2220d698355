"""A list as JSON lines: an object for each row, its keys taken as a header is."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator
from pathlib import Path
from typing import Any

from aftercare.edges.incoming.source import ROWS_AT_A_TIME, Block
from aftercare.errors import BadInput
from aftercare.recall.incoming.cells import Cells, Row, cells_of
from aftercare.recall.incoming.trouble import MARK

LINE_BYTES = 1024 * 1024
MOST_KEYS = 500


class JsonLines:
    """A `Source` over JSON lines, read from the file each time."""

    first_row = 1
    notes: tuple[str, ...] = ("read as JSON lines",)

    def __init__(self, path: Path) -> None:
        self.place, self._path = str(path), path
        keys: dict[str, None] = {}
        self._blocks: list[Block] = []
        at = 0
        for number, line in self._lines(0):
            if (number - 1) % ROWS_AT_A_TIME == 0:
                self._blocks.append(Block((at, number)))
            at += len(line)
            keys.update(dict.fromkeys(self._object(number, line)))
            if len(keys) > MOST_KEYS:
                raise BadInput(f"{self.place}:{number}", f"over {MOST_KEYS} keys", "see the file")
        if not keys:
            raise BadInput(f"{self.place}:1", "empty", "write an object on each line")
        self.headers = tuple(keys)

    def blocks(self) -> Iterator[Block]:
        """The parts as (first byte, first line)."""
        return iter(self._blocks)

    def cells(self, block: Block) -> Cells:
        """The cells of a part."""
        at, first = block.where
        found: list[Row] = []
        for number, line in self._lines(at, first):
            if number >= first + ROWS_AT_A_TIME:
                break
            one = self._object(number, line)
            found.append([_words(one.get(key)) for key in self.headers] if one else [])
        return cells_of(found, len(self.headers))

    def some_cells(self, block: Block, _: Collection[int]) -> Cells:
        """The cells of a part."""
        return self.cells(block)

    def _lines(self, at: int, first: int = 1) -> Iterator[tuple[int, bytes]]:
        number = first
        try:
            with self._path.open("rb") as stream:
                stream.seek(at)
                while line := stream.readline(LINE_BYTES + 1):
                    if len(line) > LINE_BYTES:
                        raise BadInput(f"{self.place}:{number}", "a line over 1 MB", "see the file")
                    yield number, line
                    number += 1
        except OSError as error:
            raise BadInput(self.place, error.strerror or "unreadable", "check the name") from None

    def _object(self, number: int, line: bytes) -> dict[str, Any]:
        if not line.strip(b"\xef\xbb\xbf \t\r\n"):
            return {}
        try:
            found = json.loads(
                line.decode("utf-8-sig"), object_pairs_hook=_once, parse_constant=_no_constant
            )
        except (ValueError, RecursionError):
            found = None
        if not isinstance(found, dict):
            told = "not a JSON object with each key once"
            raise BadInput(f"{self.place}:{number}", told, "write one object on each line")
        return found


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        raise ValueError
    return found


def _no_constant(_: str) -> None:
    raise ValueError


def _words(value: Any) -> str:
    """A value as it would stand in a file of words."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list) and all(isinstance(one, str | int) for one in value):
        return ";".join(map(str, value))
    if isinstance(value, dict | list):
        return f"{MARK}an object where a word was wanted"
    return str(value).replace(MARK, "\ufffe")

"""A reading that is done once for each different thing to read."""

from __future__ import annotations

from collections.abc import Callable, Container, Mapping
from typing import Any

from aftercare.recall.incoming.trouble import MARK, Trouble

# A column whose cells all differ must not fill the memory.
MOST = 50_000


class Memo(dict[Any, Any]):
    """Readings by what was read; ``troubled`` once any reading had something to say."""

    def __init__(self, read: Callable[..., Any]) -> None:
        super().__init__()
        self._read = read
        self.troubled = False

    def __missing__(self, said: Any) -> Any:
        found = self._read(said)
        if found.__class__ is Trouble or getattr(found, "note", None) or getattr(found, "waits", 0):
            self.troubled = True
        if len(self) >= MOST:
            self.clear()
        self[said] = found
        return found


class Joint(Memo):
    """Readings of several fields together, by those of them that a list has.

    ``fields`` are all of them, each with what it is where a list lacks it.
    """

    def __init__(
        self, read: Callable[..., Any], fields: Mapping[str, Any], there: Container[str]
    ) -> None:
        self.fields = tuple(field for field in fields if field in there)

        def read_all(said: tuple[Any, ...]) -> Any:
            given = {**fields, **dict(zip(self.fields, said, strict=True))}
            return read(tuple(given.values()))

        super().__init__(read_all)


def heeding(read: Callable[..., Any], otherwise: str | None = None) -> Callable[..., Any]:
    """``read``, but for cells that are marked: these are trouble, and ``otherwise`` is kept."""

    def read_marked(said: Any) -> Any:
        mark = marked(said)
        return Trouble(otherwise, mark.said) if mark else read(said)

    return read_marked


def marked(said: Any) -> Trouble | None:
    """The trouble that whoever read a cell has marked it with."""
    if isinstance(said, str):
        return Trouble(None, said[1:]) if said[:1] == MARK else None
    cells = [cell for cell in said if isinstance(cell, str) and cell[:1] == MARK]
    return Trouble(None, cells[0][1:]) if cells else None

"""Known words and their syllables: the reviewed clinical lexicon, then CMUdict, then no answer.

The tables are read on first use. CMUdict stays one sorted run of bytes and is searched by
halves: 1.3 MB in memory instead of a 15 MB dict.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Mapping
from enum import StrEnum
from functools import cache
from importlib.resources import files


class Dictionary(StrEnum):
    """Whether syllables may be looked up, or must all come from the rules."""

    USED = "used"
    HIDDEN = "hidden"


def resource(name: str) -> bytes:
    """One table of this room as it is shipped."""
    return (files("aftercare.score") / "data" / name).read_bytes()


class _WordAt:
    """The word at any offset of the sorted table: a sequence that bisect can walk."""

    def __init__(self, table: bytes) -> None:
        self.table = table

    def __len__(self) -> int:
        return len(self.table)

    def __getitem__(self, offset: int) -> bytes:
        start = self.table.rfind(b"\n", 0, offset) + 1
        return self.table[start : self.table.find(b"\n", offset) - 1]


class Pronounced(Mapping[str, int]):
    """CMUdict as word -> fewest syllables, without ever building a dict of it."""

    def __init__(self, table: bytes) -> None:
        self._table = table
        self._lines = _WordAt(table)

    def __getitem__(self, word: str) -> int:
        key = word.encode("utf-8")
        place = bisect_left(self._lines, key, 0, len(self._table) - 1)
        if self._lines[place] != key:
            raise KeyError(word)
        return self._table[self._table.find(b"\n", place) - 1] - ord("0")

    def __iter__(self) -> Iterator[str]:
        return (line[:-1].decode("ascii") for line in self._table.splitlines())

    def __len__(self) -> int:
        return self._table.count(b"\n")


@cache
def pronounced() -> Pronounced:
    """The CMU Pronouncing Dictionary's syllable counts."""
    return Pronounced(resource("syllables.txt"))


@cache
def clinical() -> Mapping[str, int]:
    """The reviewed clinical lexicon: words CMUdict lacks or says in another way."""
    lexicon: dict[str, int] = {}
    for line in resource("clinical.txt").decode("ascii").splitlines():
        words, _, count = line.partition("#")[0].rpartition(" ")
        if count:
            lexicon.update(dict.fromkeys(words.split(), int(count)))
    return lexicon


@cache
def word_lists() -> Mapping[str, frozenset[str]]:
    """The short English lists of data/english.txt by name."""
    lists: dict[str, frozenset[str]] = {}
    text = "\n".join(
        line for line in resource("english.txt").decode("ascii").splitlines() if line[:1] != "#"
    )
    for paragraph in text.split("\n\n"):
        name, _, words = paragraph.strip().partition(":")
        lists[name] = frozenset(words.split())
    return lists


def known(word: str) -> int | None:
    """The syllables of a lower-case word, or None when no table holds it."""
    count = clinical().get(word)
    return count if count is not None else pronounced().get(word)

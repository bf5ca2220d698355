"""The chain of what happened: every row is sealed together with the one before it.

Each code is HMAC-SHA256 (RFC 2104, FIPS 198-1) over the code before and the row. A row that was
altered, added or taken out is found exactly; a tail that was cut is found by the anchor.
"""

from __future__ import annotations

import hashlib
import hmac
import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

START = ""


class Link(NamedTuple):
    """One row of ``happened``; ``details`` is JSON text."""

    seq: int
    at: str
    pid: int | None
    what: str
    by: str
    details: str
    mac: str = ""


@dataclass(frozen=True, slots=True)
class Tail:
    """How long a chain is, and the code of its last row."""

    count: int = 0
    mac: str = START


def sealed(key: bytes, tail: Tail, links: Iterable[Link]) -> Iterator[Link]:
    """The links with their numbers and codes, following ``tail``."""
    seq, mac = tail.count, tail.mac
    for link in links:
        seq += 1
        mac = code(key, mac, link._replace(seq=seq))
        yield link._replace(seq=seq, mac=mac)


def code(key: bytes, before: str, link: Link) -> str:
    """The code of one row after the row whose code is ``before``, as hexadecimal text."""
    said = json.dumps([before, *link[:-1]], ensure_ascii=True, separators=(",", ":"))
    return hmac.new(key, said.encode(), hashlib.sha256).hexdigest()


@dataclass(frozen=True, slots=True)
class Broken:
    """One place where the chain does not hold, by the number of its row."""

    seq: int
    because: str


class Reading:
    """A chain read from its first row on: what is broken, and what its anchors say of it.

    One anchor that holds is enough.
    """

    def __init__(self, key: bytes, anchors: tuple[Tail, ...]) -> None:
        self._key = key
        self._anchors = anchors
        self._held = {Tail()}
        self.tail = Tail()
        self.broken: list[Broken] = []

    def follow(self, links: Iterable[Link]) -> Reading:
        """Read the rows, in the order of their numbers, and hold the end against the anchors."""
        counts = {one.count for one in self._anchors}
        for link in links:
            self._row(link)
            if link.seq in counts:
                self._held.add(self.tail)
        if not self._held.intersection(self._anchors):
            self.broken.append(self._lost(self._anchors[0]))
        return self

    def _lost(self, known: Tail) -> Broken:
        if self.tail.count < known.count:
            cut = known.count - self.tail.count
            return Broken(self.tail.count + 1, f"cut: {cut} more were here")
        return Broken(known.count, "not the row the anchor was written for")

    def _row(self, link: Link) -> None:
        before = self.tail
        if link.seq != before.count + 1:
            self.broken.append(Broken(before.count + 1, f"missing, up to row {link.seq}"))
        elif not hmac.compare_digest(code(self._key, before.mac, link), link.mac):
            self.broken.append(Broken(link.seq, "altered since it was written"))
        self.tail = Tail(link.seq, link.mac)

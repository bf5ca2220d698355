"""What comes more than once in a list, or is in the register, by a few bytes a row.

A row is remembered by 64 bits for each of its reference, its person (name and birth) and its
mobile. Two of a million different ones are alike once in some 40 million lists. Keys are looked
through part by part, so that no more than `PART` of them are in memory, however long the list is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from itertools import islice
from typing import TYPE_CHECKING, Any
from unicodedata import combining, normalize

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Keys = NDArray[np.int64]  # 3 by rows: references, people, mobiles; 0 is none

REF, PERSON, MOBILE = 0, 1, 2
FEW = 5
NOBODY = -1
PART = 250_000
_STREAMED = 10_000
_UNSAID = dict.fromkeys(map(ord, " .-'\u2010\u2011\u2019"))
# Odd numbers, so that whose first and last names are each other's are not one person.
_MIX = (0x9E3779B97F4A7C15, 0xC2B2AE3D27D4EB4F)


def keys_of(
    refs: Sequence[str],
    people: tuple[Sequence[str], Sequence[str], Sequence[str | None]],
    mobiles: Sequence[str | None],
) -> Keys:
    """The keys of rows by their columns; people are first names, last names and births."""
    import numpy as np

    found = np.empty((3, len(refs)), np.int64)
    found[REF] = _hashed(refs)
    first, last, born = people
    one, two, day = (
        _hashed(column).view(np.uint64)
        for column in (folded(first), folded(last), (b or "" for b in born))
    )
    mixed = (one * np.uint64(_MIX[0]) + two) * np.uint64(_MIX[1]) + day
    found[PERSON] = np.where(day != 0, mixed, np.uint64(0)).view(np.int64)
    found[MOBILE] = _hashed(mobile or "" for mobile in mobiles)
    return found


def folded(names: Sequence[str]) -> Sequence[str]:
    """Names without what is written in several ways: capitals, accents, hyphens, ' and blanks."""
    together = _folded("\n".join(names)).split("\n")
    return together if len(together) == len(names) else list(map(_folded, names))


def _folded(said: str) -> str:
    said = said.casefold()
    if not said.isascii():
        said = "".join(char for char in normalize("NFKD", said) if not combining(char))
    return said.translate(_UNSAID)


def _hashed(words: Iterable[str]) -> Keys:
    import numpy as np

    return np.fromiter(map(hash, words), np.int64)  # nothing is 0


@dataclass(frozen=True, slots=True)
class Some:
    """Keys that were found, in order, and the first `FEW` rows that have each, or `NOBODY`."""

    keys: Any = ()
    rows: Any = ()

    def __bool__(self) -> bool:
        return len(self.keys) > 0

    def places(self, keys: Keys) -> NDArray[np.intp]:
        """The places of those of ``keys`` that were found."""
        import numpy as np

        if not self:
            return np.empty(0, np.intp)
        return np.flatnonzero((self.keys[self._at(keys)] == keys) & (keys != 0))

    def rows_of(self, keys: Keys) -> list[list[int]]:
        """The rows that have each of ``keys``, all of which were found."""
        some = self.rows[self._at(keys)].tolist() if len(keys) else []
        return [[row for row in rows if row != NOBODY] for rows in some]

    def _at(self, keys: Keys) -> NDArray[np.intp]:
        import numpy as np

        return np.minimum(np.searchsorted(self.keys, keys), len(self.keys) - 1)


@dataclass(frozen=True, slots=True)
class Repeats:
    """References and people that several rows have, and mobiles that several references have.

    ``silent`` are references the register keeps silent; ``registered`` are people the register has
    under references with which the list has nobody of that name and birth.
    """

    refs: Some = field(default_factory=Some)
    people: Some = field(default_factory=Some)
    mobiles: Some = field(default_factory=Some)
    silent: Some = field(default_factory=Some)
    registered: Some = field(default_factory=Some)


Chunks = Callable[[], Iterable["Keys"]]  # the same each time it is asked


def keys_of_standings(
    standings: Iterable[tuple[str, str, str, date | None, str]],
) -> Iterator[tuple[Keys, Keys]]:
    """The keys of everybody there is, some at a time, and those of references kept silent."""
    import numpy as np

    everybody = iter(standings)
    while some := list(islice(everybody, _STREAMED)):
        refs, first, last, days, standing = zip(*some, strict=True)
        born = [day.isoformat() if day else None for day in days]
        keys = keys_of(refs, (first, last, born), [None] * len(refs))
        yield keys, keys[REF, np.array(standing) == "silent"]


def find_repeats(listed: Chunks, known: Chunks, silent: Keys, count: int) -> Repeats:
    """What comes more than once among ``count`` rows, which are counted from 0."""
    bits = (count // PART).bit_length()
    found = [_repeats(listed, known, bits, part) for part in range(1 << bits)]
    refs, people, mobiles, elsewhere = map(_joined, zip(*found, strict=True))
    return Repeats(refs, people, Some(mobiles.keys), _told(silent), elsewhere)


def _repeats(listed: Chunks, known: Chunks, bits: int, part: int) -> tuple[Some, Some, Some, Some]:
    keys, _, rows = _part(listed, REF, bits, part)
    refs = _again(keys, rows, rows)
    # One person on several lines, for several visits, is not two people.
    keys, of, rows = _part(listed, PERSON, bits, part)
    people, elsewhere = _again(keys, rows, of), _elsewhere(keys, of, known)
    keys, of, rows = _part(listed, MOBILE, bits, part)
    return refs, people, _again(keys, rows, of), elsewhere


def _part(chunks: Chunks, which: int, bits: int, part: int) -> tuple[Keys, Keys, Keys]:
    """Keys of one kind, those that begin with some bits, with their references and rows."""
    import numpy as np

    found, first = [np.empty((3, 0), np.int64)], 0
    for chunk in chunks():
        keys = chunk[which]
        there = keys != 0
        if bits:
            there &= keys.view(np.uint64) >> np.uint64(64 - bits) == part
        mine = np.flatnonzero(there)
        found.append(np.stack((keys[mine], chunk[REF, mine], mine + first)))
        first += len(keys)
    keys, refs, rows = np.concatenate(found, axis=1)
    return keys, refs, rows


def _again(keys: Keys, rows: Keys, apart: Keys) -> Some:
    """Keys with which rows differ in ``apart``."""
    import numpy as np

    ordered = np.sort(keys)
    if not (ordered[1:] == ordered[:-1]).any():  # the usual list, and far sooner known
        return Some()
    order = np.argsort(keys, kind="stable")
    keys, rows, apart = keys[order], rows[order], apart[order]
    starts = np.flatnonzero(np.diff(keys, prepend=~keys[:1]))
    ends = np.append(starts[1:], len(keys))
    changes = np.cumsum(np.diff(apart, prepend=apart[:1]) != 0)
    differ = changes[ends - 1] > changes[starts]
    starts, ends = starts[differ, None], ends[differ, None]
    places = starts + np.arange(FEW)
    first_few = np.where(places < ends, rows[np.minimum(places, ends - 1)], NOBODY)
    return Some(keys[starts[:, 0]], first_few)


def _elsewhere(people: Keys, refs: Keys, known: Chunks) -> Some:
    """The people of a list whom the register has under a reference the list does not give them."""
    import numpy as np

    found = [np.empty(0, np.int64)]
    listed = given = Some()
    for chunk in known():
        listed = listed or _told(people)
        given = given or _told(_paired(people, refs))
        theirs = chunk[:, listed.places(chunk[PERSON])]
        theirs = np.delete(theirs, given.places(_paired(theirs[PERSON], theirs[REF])), axis=1)
        found.append(theirs[PERSON])
    return _told(np.concatenate(found))


def _paired(people: Keys, refs: Keys) -> Keys:
    import numpy as np

    return (people.view(np.uint64) * np.uint64(_MIX[0]) + refs.view(np.uint64)).view(np.int64)


def _told(keys: Keys) -> Some:
    import numpy as np

    return Some(np.unique(keys))


def _joined(parts: Sequence[Some]) -> Some:
    import numpy as np

    some = [one for one in parts if one]
    if not some:
        return Some()
    keys = np.concatenate([one.keys for one in some])
    order = np.argsort(keys, kind="stable")
    rows = [one.rows for one in some if len(one.rows)]
    return Some(keys[order], np.concatenate(rows)[order] if rows else ())

"""What comes twice in a list, found before the list is judged, in a few bytes a row.

A row is remembered by 64 bits for each of its reference, its person (name and birth) and its
mobile. Two of a million different ones are alike once in some 40 million lists.
"""

from __future__ import annotations

from array import array
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

Keys = tuple["array[int]", "array[int]", "array[int]"]
FEW = 5


def no_keys() -> Keys:
    """Room for the keys of a list's references, people and mobiles."""
    return array("q"), array("q"), array("q")


@dataclass(frozen=True, slots=True)
class Repeats:
    """References and people by key with the first rows that have them; mobiles that are shared."""

    refs: Mapping[int, tuple[int, ...]] = field(default_factory=dict)
    people: Mapping[int, tuple[int, ...]] = field(default_factory=dict)
    mobiles: Collection[int] = frozenset()


def find_repeats(keys: Keys, first_row: int) -> Repeats:
    """What comes more than once; key 0 is none. Rows are counted from ``first_row``."""
    refs, people, mobiles = keys
    return Repeats(
        refs=_rows(refs, first_row),
        # One person on several lines, for several visits, is not two people.
        people=_of_several(people, refs, first_row),
        mobiles=_shared(mobiles, refs),
    )


def _again(keys: array[int]) -> set[int]:
    """The keys that come more than once, without 0."""
    import numpy as np

    ordered = np.sort(np.frombuffer(keys, dtype=np.int64)) if keys else np.empty(0, np.int64)
    again = set(ordered[1:][ordered[1:] == ordered[:-1]].tolist())
    again.discard(0)
    return again


def _rows(keys: array[int], first_row: int) -> dict[int, tuple[int, ...]]:
    again, found = _again(keys), dict[int, tuple[int, ...]]()
    if again:
        for row, key in enumerate(keys, first_row):
            if key in again and len(found.get(key, ())) < FEW:
                found[key] = (*found.get(key, ()), row)
    return found


def _of_several(people: array[int], refs: array[int], first_row: int) -> dict[int, tuple[int, ...]]:
    again, named = _again(people), dict[int, set[int]]()
    if not again:
        return {}
    for person, ref in zip(people, refs, strict=True):
        if person in again:
            named.setdefault(person, set()).add(ref)
    rows = _rows(people, first_row)
    return {person: rows[person] for person, several in named.items() if len(several) > 1}


def _shared(mobiles: array[int], refs: array[int]) -> frozenset[int]:
    """Mobiles that more than one reference has."""
    again = _again(mobiles)
    if not again:
        return frozenset()
    first, shared = dict[int, int](), set[int]()
    for mobile, ref in zip(mobiles, refs, strict=True):
        if mobile in again and first.setdefault(mobile, ref) != ref:
            shared.add(mobile)
    return frozenset(shared)

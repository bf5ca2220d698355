"""What comes twice in a list, found before the list is judged, in a few bytes a row.

A row is remembered by 64 bits for each of its reference, its person (name and birth) and its
mobile. Two of a million different ones are alike once in some 40 million lists.
"""

from __future__ import annotations

from array import array
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date

Keys = tuple["array[int]", "array[int]", "array[int]"]
FEW = 5


def no_keys() -> Keys:
    """Room for the keys of a list's references, people and mobiles."""
    return array("q"), array("q"), array("q")


@dataclass(frozen=True, slots=True)
class Repeats:
    """References and people by key with the first rows that have them; mobiles that are shared.

    ``silent`` are references the register keeps silent; ``registered`` are people the register has
    under other references than the list, with those.
    """

    refs: Mapping[int, tuple[int, ...]] = field(default_factory=dict)
    people: Mapping[int, tuple[int, ...]] = field(default_factory=dict)
    mobiles: Collection[int] = frozenset()
    silent: Collection[int] = frozenset()
    registered: Mapping[int, Collection[int]] = field(default_factory=dict)


def person_key(first_name: str, last_name: str, born: str) -> int:
    """What stands for somebody of this name and birth."""
    return hash((first_name.casefold(), last_name.casefold(), born))


@dataclass(frozen=True, slots=True)
class Registered:
    """Everybody the register has, by the keys of reference and person; references kept silent."""

    refs: array[int]
    people: array[int]
    silent: frozenset[int]


def registered(standings: Iterable[tuple[str, str, str, date | None, str]]) -> Registered:
    """The keys of everybody there is."""
    refs, people, silent = array("q"), array("q"), set[int]()
    for ref, first, last, born, standing in standings:
        refs.append(key := hash(ref))
        people.append(person_key(first, last, born.isoformat()) if born else 0)
        if standing == "silent":
            silent.add(key)
    return Registered(refs, people, frozenset(silent))


def find_repeats(keys: Keys, first_row: int, known: Registered) -> Repeats:
    """What comes more than once; key 0 is none. Rows are counted from ``first_row``."""
    refs, people, mobiles = keys
    return Repeats(
        refs=_rows(refs, first_row),
        # One person on several lines, for several visits, is not two people.
        people=_of_several(people, refs, first_row),
        mobiles=_shared(mobiles, refs),
        silent=known.silent,
        registered=_elsewhere(people, refs, known),
    )


def _elsewhere(
    people: array[int], refs: array[int], known: Registered
) -> dict[int, frozenset[int]]:
    """The people of a list whom the register has under a reference the list does not give them."""
    import numpy as np

    if not known.people or not people:
        return {}
    theirs = np.frombuffer(known.people, dtype=np.int64)
    again = np.isin(theirs, np.frombuffer(people, dtype=np.int64)) & (theirs != 0)
    if not again.any():
        return {}
    given = set(zip(people, refs, strict=True))
    found: dict[int, frozenset[int]] = {}
    for n in np.flatnonzero(again).tolist():
        person, ref = known.people[n], known.refs[n]
        if (person, ref) not in given:
            found[person] = found.get(person, frozenset()) | {ref}
    return found


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

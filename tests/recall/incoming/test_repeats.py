"""What comes twice, against the plainest way of finding it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from aftercare.recall.incoming import repeats
from aftercare.recall.incoming.repeats import (
    FEW,
    MOBILE,
    PERSON,
    REF,
    find_repeats,
    keys_of,
    keys_of_standings,
)

SMALL = st.sampled_from([0, 7, 11, 0x3C6EF372FE94F82B, -0x5AB00AC5A0E2C90F, -0x14DEFC4E3B2A7A11])
ROWS = st.lists(st.tuples(SMALL, SMALL, SMALL), max_size=30)


def chunked(rows: list[tuple[int, ...]], size: int) -> Any:
    def chunks() -> Iterator[Any]:
        for at in range(0, len(rows), size):
            yield np.array(rows[at : at + size], np.int64).T

    return chunks


def of_several(rows: list[tuple[int, ...]], which: int) -> dict[int, list[int]]:
    """The rows of each key that several references (for references: several rows) have."""
    found: dict[int, list[int]] = defaultdict(list)
    for number, row in enumerate(rows):
        if row[which]:
            found[row[which]].append(number)
    apart = (lambda n: n) if which == REF else (lambda n: rows[n][REF])
    return {key: some for key, some in found.items() if len(set(map(apart, some))) > 1}


@settings(deadline=None)  # the first to ask loads a library
@given(ROWS, ROWS, st.integers(1, 9), st.sampled_from([1, 3, 250_000]))
def test_what_comes_twice_is_what_comes_twice(
    rows: list[tuple[int, ...]], known: list[tuple[int, ...]], size: int, part: int
) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(repeats, "PART", part)
        silent = np.array([3, 1, 3], np.int64)
        found = find_repeats(chunked(rows, size), chunked(known, size), silent, len(rows))
    keys = np.array(rows, np.int64).reshape(-1, 3).T
    for which, some in ((REF, found.refs), (PERSON, found.people)):
        places = some.places(keys[which])
        wanted = of_several(rows, which)
        assert {rows[n][which] for n in places} == set(wanted)
        given_rows = some.rows_of(keys[which, places])
        for n, first in zip(places.tolist(), given_rows, strict=True):
            assert first == wanted[rows[n][which]][:FEW]
    shared = {rows[n][MOBILE] for n in found.mobiles.places(keys[MOBILE])}
    assert shared == set(of_several(rows, MOBILE))
    given_pairs = {(row[REF], row[PERSON]) for row in rows}
    others = {
        row[PERSON] for row in known if row[PERSON] and (row[REF], row[PERSON]) not in given_pairs
    }
    mine = {row[PERSON] for row in rows}
    assert {rows[n][PERSON] for n in found.registered.places(keys[PERSON])} == others & mine
    assert {rows[n][REF] for n in found.silent.places(keys[REF])} == {1, 3} & {r[REF] for r in rows}


def test_keys_tell_people_apart_as_their_names_and_births_do() -> None:
    people = (["Nell", "NELL", "Ann", "Nell", "Nell"], ["Ann", "ann", "Nell", "Ann", "Ann"])
    born = ["1961-04-23", "1961-04-23", "1961-04-23", "1961-04-24", None]
    found = keys_of(["P1", "P2", "", "P1", "P5"], (*people, born), ["+1", None, "", "+1", "+2"])
    one, folded, other, later, nobody = found[PERSON].tolist()
    assert one == folded
    assert len({one, other, later, nobody}) == 4
    assert nobody == 0
    assert found[REF, 2] == 0
    assert found[REF, 0] == found[REF, 3] != found[REF, 1]
    assert found[MOBILE].tolist()[1:3] == [0, 0]
    assert found[MOBILE, 0] == found[MOBILE, 3] != found[MOBILE, 4]


def test_the_register_s_people_have_the_keys_of_a_list_s() -> None:
    born = date(1961, 4, 23)
    standings = [("P1", "Nell", "Ann", born, "ready"), ("P2", "Li", "Ann", None, "silent")]
    ((keys, silent),) = keys_of_standings(standings)
    listed = keys_of(["P1", "P2"], (["nell", "li"], ["ann", "ann"], ["1961-04-23", None]), ["", ""])
    assert (keys == listed).all()
    assert silent.tolist() == [listed[REF, 1]]

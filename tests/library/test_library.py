"""The shelf as one value: every fault at once, order without effect, nothing passed over."""

from __future__ import annotations

import random
from collections.abc import Mapping

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from aftercare.errors import BadContent
from aftercare.library import block_paths, fingerprint, read
from aftercare.model import Library

Shelf = Mapping[str, bytes]
WATER = "content/wax/water.md"


def refusal(files: Shelf) -> str:
    with pytest.raises(BadContent) as caught:
        read(files, wanted=())
    return str(caught.value)


def test_every_block_file_becomes_a_block(shelf: Shelf, library: Library) -> None:
    assert len(library.blocks) == len(list(block_paths(shelf)))
    assert {block.place for block in library.blocks} == set(block_paths(shelf))


def test_two_blocks_of_one_id_are_refused_naming_both(shelf: Shelf) -> None:
    told = refusal({**shelf, "content/zzz/again.md": shelf[WATER]})

    assert told.startswith("content/zzz/again.md:2: the id 'water-wax' is taken by " + WATER)


def test_every_fault_is_told_at_once(shelf: Shelf) -> None:
    broken = {
        **shelf,
        WATER: shelf[WATER].replace(b"rank: 20", b"rank: no"),
        "content/wax/care.md": b"no header",
        "shared/limits.toml": b"[reading]\n",
        "content/frame.toml": b"= 1",
    }
    del broken["shared/regions.toml"]

    told = refusal(broken)

    assert told.startswith("the shelf: 5 faults")
    for place in (
        f"{WATER}:{line(shelf, WATER, 'rank:')}: ",
        "content/wax/care.md:1: ",
        "shared/limits.toml:1: ",
        "content/frame.toml:1: ",
        "shared/regions.toml: the file is missing",
    ):
        assert place in told


@pytest.mark.parametrize(
    "path",
    ["content/water.md", "content/wax/water.MD", "content/wax/water.md.txt", "content/a/b.md.bak"],
)
def test_a_block_where_no_block_is_looked_for_is_not_passed_over(shelf: Shelf, path: str) -> None:
    assert refusal({**shelf, path: b"Words."}).startswith(f"{path}:1: not where a block is")


def test_notes_about_blocks_are_no_blocks(shelf: Shelf, library: Library) -> None:
    noted = {**shelf, "content/wax/README.md": b"Notes.", "content/HAZARDS.md": b"Notes."}

    assert read(noted, wanted=()).blocks == library.blocks


def test_a_block_may_not_need_a_number_the_region_lacks(shelf: Shelf) -> None:
    relay = "content/contact/closed-relay-gb.md"
    told = refusal({**shelf, "shared/regions.toml": without(shelf, "urgent_advice_relay")})

    assert "GB has no number for {urgent_advice_relay}" in told
    assert f"{relay}:{line(shelf, relay, 'sms:')}: " in told
    assert f"{relay}:{line(shelf, relay, 'If we are closed')}: " in told


def line(shelf: Shelf, path: str, begins: str) -> int:
    lines = shelf[path].decode().split("\n")
    return next(n for n, text in enumerate(lines, 1) if text.startswith(begins))


def without(shelf: Shelf, key: str) -> bytes:
    lines = shelf["shared/regions.toml"].split(b"\n")
    return b"\n".join(line for line in lines if not line.startswith(key.encode()))


@pytest.mark.parametrize("key", ["urgent_advice_number", "emergency_text_number"])
def test_a_region_may_lack_a_number_that_content_asks_for_by_a_fact(shelf: Shelf, key: str) -> None:
    regions = without(shelf, key)
    if key == "urgent_advice_number":
        regions = without({"shared/regions.toml": regions}, "urgent_advice_relay")

    assert read({**shelf, "shared/regions.toml": regions}, wanted=()).blocks


@pytest.mark.parametrize("code", ["IE", "NZ", "AU"])
def test_the_shelf_serves_every_region_it_names(shelf: Shelf, code: str) -> None:
    clinic = shelf["shared/clinic.toml"].replace(b'"GB-ENG"', f'"{code}"'.encode())
    phone = {"IE": b"01 234 5678", "NZ": b"09 123 4567", "AU": b"02 5550 1234"}[code]
    clinic = clinic.replace(b"01632 960142", phone).replace(b"07700 900142", phone)

    assert read({**shelf, "shared/clinic.toml": clinic}, wanted=()).region.code == code


def test_a_region_outside_the_vocabulary_is_refused(shelf: Shelf) -> None:
    clinic = shelf["shared/clinic.toml"].replace(b'"GB-ENG"', b'"US"')
    clinic = clinic.replace(b"01632 960142", b"212 555 0123").replace(
        b"07700 900142", b"212 555 0124"
    )
    region = b'[US]\nemergency_number = "911"\nchecked = 2026-11-24\nsources = ["from memory"]\n'

    told = refusal({**shelf, "shared/clinic.toml": clinic, "shared/regions.toml": region})

    assert "shared/clinic.toml:5: shared/facts.toml has no region:US" in told


def test_a_broken_catalogue_stops_only_those_who_want_it(shelf: Shelf) -> None:
    broken = {**shelf, "locales/pl/LC_MESSAGES/aftercare.po": b"nonsense"}

    assert read(broken, wanted=("ur",)).catalogues.keys() <= {"ur"}
    with pytest.raises(BadContent, match=r"locales/pl/LC_MESSAGES/aftercare\.po:1"):
        read(broken)


def test_the_fingerprint_covers_every_file_but_the_demo_visits(shelf: Shelf) -> None:
    edition = fingerprint(shelf)

    for path in (WATER, "shared/limits.toml", "locales/pl/LC_MESSAGES/aftercare.po"):
        assert fingerprint({**shelf, path: shelf.get(path, b"") + b"\n"}) != edition
    assert fingerprint({**shelf, "shared/demo/11.toml": b""}) == edition


def test_the_fingerprint_tells_names_from_bytes() -> None:
    assert fingerprint({"a": b"b"}) != fingerprint({"ab": b""})
    assert fingerprint({"a": b"x", "b": b"y"}) != fingerprint({"a": b"y", "b": b"x"})
    # A file name that is no text, as Python hands it over.
    assert fingerprint({"content/x/\udcff.bin": b""}).startswith("sha256:")


@given(st.integers(0, 2**32))
@settings(max_examples=5, deadline=None)
def test_the_order_of_files_changes_nothing(shelf: Shelf, library: Library, seed: int) -> None:
    order = list(shelf)
    random.Random(seed).shuffle(order)  # noqa: S311 - a shuffle, not a secret

    again = read({path: shelf[path] for path in order})

    assert again.fingerprint == library.fingerprint
    assert again.blocks == library.blocks
    assert list(again.catalogues) == list(library.catalogues)

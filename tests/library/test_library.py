"""The shelf as one value: every fault at once, order without effect, nothing passed over."""

from __future__ import annotations

import random
import re
from collections.abc import Mapping

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from aftercare.errors import BadContent
from aftercare.library import block_paths, fingerprint, read, read_shelf
from aftercare.model import Library

Files = Mapping[str, bytes]
WATER = "content/wax/water.md"


def refusal(files: Files) -> str:
    with pytest.raises(BadContent) as caught:
        read(files, wanted=())
    return str(caught.value)


def test_every_block_file_becomes_a_block(shelf: Files, library: Library) -> None:
    assert len(library.shelf) == len(list(block_paths(shelf)))
    assert {block.place for block in library.shelf} == set(block_paths(shelf))


def test_two_blocks_of_one_id_are_refused_naming_both(shelf: Files) -> None:
    told = refusal({**shelf, "content/zzz/again.md": shelf[WATER]})

    assert told.startswith("content/zzz/again.md:2: the id 'water-wax' is taken by " + WATER)


BROKEN = [
    ("a header", WATER, (b"\nrank:", b"\nrank: no #")),
    ("a catalogue", "locales/pl/LC_MESSAGES/aftercare.po", (b"msgid", b"msg id")),
    ("a stray", "content/water.md", None),
    ("a word list", "shared/glossary.toml", (b"[terms]", b"terms")),
    ("an impossible fact", "shared/facts.toml", (b'["plan:soften"]', b'["plan:softer"]')),
    ("a recall", "shared/limits.toml", (b"[recall.open-cavity]", b"[recall.cavity]")),
    ("a rule", "shared/rules.toml", (b"\nbleeding = { said = [", b'\nbleeding = { said = ["@x", ')),
]


@pytest.mark.parametrize(("name", "path", "change"), BROKEN)
def test_one_fault_leaves_the_rest_for_reading_and_nothing_for_sending(
    shelf: Files, library: Library, name: str, path: str, change: tuple[bytes, bytes] | None
) -> None:
    raw = b"" if change is None else shelf[path].replace(*change, 1)
    assert raw != shelf.get(path)

    found = read_shelf({**shelf, path: raw})

    (fault,) = found.faults
    assert re.fullmatch(rf"{re.escape(path)}:\d+", fault.place)
    places = {block.place for block in library.blocks}
    assert {block.place for block in found.library.blocks} == places - {path}
    assert set(library.catalogues) - set(found.library.catalogues) <= {"pl"}
    with pytest.raises(BadContent, match=re.escape(str(fault))):
        read({**shelf, path: raw})


def test_a_whole_shelf_has_no_faults(shelf: Files, library: Library) -> None:
    found = read_shelf(shelf)

    assert found.faults == ()
    assert (found.library.fingerprint, found.library.blocks) == (
        library.fingerprint,
        library.blocks,
    )


def test_what_a_fault_leaves_out_is_only_what_is_wrong(shelf: Files, library: Library) -> None:
    facts = shelf["shared/facts.toml"].replace(b'["plan:soften"]', b'["plan:softer"]', 1)
    cycle = shelf["shared/rules.toml"].replace(b'["aspirin"]', b'["@aspirin", "aspirin"]', 1)

    found = read_shelf({**shelf, "shared/facts.toml": facts, "shared/rules.toml": cycle}).library

    assert len(found.impossible) == len(library.impossible) - 1
    assert set(found.impossible) < set(library.impossible)
    assert found.rules.words == library.rules.words
    assert found.facts == library.facts


@pytest.mark.parametrize(
    "path",
    ["shared/facts.toml", "shared/clinic.toml", "shared/regions.toml", "shared/limits.toml",
     "shared/rules.toml", "content/frame.toml"],
)  # fmt: skip
@pytest.mark.parametrize("raw", [None, b"= 1"])
def test_without_what_every_message_needs_nothing_is_read_and_all_is_told(
    shelf: Files, path: str, raw: bytes | None
) -> None:
    stray = {**shelf, "content/water.md": b""}
    files = without_file(stray, path) if raw is None else {**stray, path: raw}

    with pytest.raises(BadContent) as refused:
        read_shelf(files, wanted=())

    told = str(refused.value)
    assert "content/water.md:1: " in told
    assert f"{path}: the file is missing" in told if raw is None else f"{path}:1: not TOML" in told


def without_file(files: Files, path: str) -> Files:
    return {name: raw for name, raw in files.items() if name != path}


def test_every_fault_of_a_block_s_own_region_is_told_and_leaves_it_out(
    shelf: Files, library: Library
) -> None:
    files = {**shelf, "shared/regions.toml": without(shelf, "urgent_advice_relay")}

    found = read_shelf(files, wanted=())

    left_out = {block.place for block in library.blocks} - {
        block.place for block in found.library.blocks
    }
    assert left_out == {fault.place.rpartition(":")[0] for fault in found.faults}
    assert "content/contact/closed-relay-gb.md" in left_out
    assert found.library.region.urgent_advice_relay is None


def test_of_two_blocks_of_one_id_the_first_by_path_is_read(shelf: Files, library: Library) -> None:
    found = read_shelf({**shelf, "content/zzz/again.md": shelf[WATER]}, wanted=())

    assert found.library.blocks == library.blocks
    assert [fault.place for fault in found.faults] == ["content/zzz/again.md:2"]


def test_every_fault_is_told_at_once(shelf: Files) -> None:
    broken = {
        **shelf,
        WATER: shelf[WATER].replace(b"\nrank:", b"\nrank: no #"),
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
    ("name", "by"), [("frame", "content/frame.toml"), ("clinic", "shared/clinic.toml")]
)
def test_no_block_takes_the_name_of_the_words_in_no_block(shelf: Files, name: str, by: str) -> None:
    named = shelf[WATER].replace(b"id: water-wax", f"id: {name}".encode())

    told = refusal({**shelf, WATER: named})

    assert told.startswith(f"{WATER}:2: the id '{name}' is taken by {by}")


@pytest.mark.parametrize(
    "path",
    ["content/water.md", "content/wax/water.MD", "content/wax/water.md.txt", "content/a/b.md.bak"],
)
def test_a_block_where_no_block_is_looked_for_is_not_passed_over(shelf: Files, path: str) -> None:
    assert refusal({**shelf, path: b"Words."}).startswith(f"{path}:1: not where a block is")


def test_notes_about_blocks_are_no_blocks(shelf: Files, library: Library) -> None:
    noted = {**shelf, "content/wax/README.md": b"Notes.", "content/HAZARDS.md": b"Notes."}

    assert read(noted, wanted=()).blocks == library.blocks


def test_a_block_may_not_need_a_number_the_region_lacks(shelf: Files) -> None:
    relay = "content/contact/closed-relay-gb.md"
    told = refusal({**shelf, "shared/regions.toml": without(shelf, "urgent_advice_relay")})

    assert "GB has no number for {urgent_advice_relay}" in told
    assert f"{relay}:{line(shelf, relay, 'sms:')}: " in told
    assert f"{relay}:{line(shelf, relay, 'If we are closed')}: " in told


def line(shelf: Files, path: str, begins: str) -> int:
    lines = shelf[path].decode().split("\n")
    return next(n for n, text in enumerate(lines, 1) if text.startswith(begins))


def without(shelf: Files, key: str) -> bytes:
    lines = shelf["shared/regions.toml"].split(b"\n")
    return b"\n".join(line for line in lines if not line.startswith(key.encode()))


@pytest.mark.parametrize("key", ["urgent_advice_number", "emergency_text_number"])
def test_a_region_may_lack_a_number_that_content_asks_for_by_a_fact(shelf: Files, key: str) -> None:
    regions = without(shelf, key)
    if key == "urgent_advice_number":
        regions = without({"shared/regions.toml": regions}, "urgent_advice_relay")

    assert read({**shelf, "shared/regions.toml": regions}, wanted=()).blocks


@pytest.mark.parametrize("code", ["IE", "NZ", "AU"])
def test_the_shelf_serves_every_region_it_names(shelf: Files, code: str) -> None:
    clinic = shelf["shared/clinic.toml"].replace(b'"GB-ENG"', f'"{code}"'.encode())
    phone = {"IE": b"01 234 5678", "NZ": b"09 123 4567", "AU": b"02 5550 1234"}[code]
    clinic = clinic.replace(b"01632 960142", phone).replace(b"07700 900142", phone)

    assert read({**shelf, "shared/clinic.toml": clinic}, wanted=()).region.code == code


def test_a_region_outside_the_vocabulary_is_refused(shelf: Files) -> None:
    clinic = shelf["shared/clinic.toml"].replace(b'"GB-ENG"', b'"US"')
    clinic = clinic.replace(b"01632 960142", b"212 555 0123").replace(
        b"07700 900142", b"212 555 0124"
    )
    region = b'[US]\nemergency_number = "911"\nchecked = 2026-11-24\nsources = ["from memory"]\n'

    told = refusal({**shelf, "shared/clinic.toml": clinic, "shared/regions.toml": region})

    assert "shared/clinic.toml:5: shared/facts.toml has no region:US" in told


def test_a_broken_catalogue_stops_only_those_who_want_it(shelf: Files) -> None:
    broken = {**shelf, "locales/pl/LC_MESSAGES/aftercare.po": b"nonsense"}

    assert read(broken, wanted=("ur",)).catalogues.keys() <= {"ur"}
    with pytest.raises(BadContent, match=r"locales/pl/LC_MESSAGES/aftercare\.po:1"):
        read(broken)


def test_the_fingerprint_covers_every_file_but_the_demo_visits(shelf: Files) -> None:
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
def test_the_order_of_files_changes_nothing(shelf: Files, library: Library, seed: int) -> None:
    order = list(shelf)
    random.Random(seed).shuffle(order)  # noqa: S311 - a shuffle, not a secret

    again = read({path: shelf[path] for path in order})

    assert again.fingerprint == library.fingerprint
    assert again.blocks == library.blocks
    assert list(again.catalogues) == list(library.catalogues)

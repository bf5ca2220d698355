"""Which file is what by its path: the words last approved are kept and count for nothing else."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from aftercare.library import block_paths, fingerprint, last_approved, read
from aftercare.library.paths import kept_path
from aftercare.model import Library

WATER = "content/wax/water.md"


@pytest.mark.parametrize("name", ["water-wax.md", "frame.toml", "x/y.md", "broken.md.bak"])
def test_kept_words_are_no_block_no_stray_and_no_part_of_the_edition(
    shelf: Mapping[str, bytes], library: Library, name: str
) -> None:
    files = {**shelf, f"content/.approved/{name}": shelf[WATER]}

    assert fingerprint(files) == library.fingerprint
    assert list(block_paths(files)) == list(block_paths(shelf))
    assert read(files, wanted=()).blocks == library.blocks


def test_another_hidden_folder_would_be_read_as_content(shelf: Mapping[str, bytes]) -> None:
    files = {**shelf, "content/.approve/a.md": b"", "content/.approved": b""}

    assert "content/.approve/a.md" in set(block_paths(files))
    assert fingerprint(files) != fingerprint(shelf)


@pytest.mark.parametrize("wanted", ["water-wax", "frame"])
def test_the_words_last_approved_are_found_by_id(wanted: str) -> None:
    files = {kept_path(wanted): b"as approved", "content/.approved/other.md": b"other"}

    assert last_approved(files, wanted) == b"as approved"
    assert last_approved(files, "never-approved") is None


def test_the_frame_is_kept_as_what_it_is() -> None:
    assert kept_path("frame") == "content/.approved/frame.toml"
    assert kept_path("water-wax") == "content/.approved/water-wax.md"

"""A shelf taken over from somebody else: the same words, and none of their approvals."""

from __future__ import annotations

import re
from collections.abc import Mapping

import pytest

from aftercare.errors import BadContent
from aftercare.library import block_paths, read
from aftercare.library.fresh import as_drafts
from aftercare.model import ApprovalState, Library

PATH = "content/wax/water.md"


def test_a_shelf_of_drafts_keeps_every_byte(shelf: Mapping[str, bytes]) -> None:
    assert as_drafts(shelf) == shelf


def test_nobody_else_s_approval_comes_along(
    approved_shelf: Mapping[str, bytes], library: Library
) -> None:
    kept = {**approved_shelf, "content/.approved/water-wax.md": approved_shelf[PATH]}

    fresh = as_drafts(kept)

    again = read(fresh)
    approvals = [again.frame.approval, *(block.approval for block in again.blocks)]
    assert {one.state for one in approvals} == {ApprovalState.DRAFT}
    assert not any(
        phrase.approved for one in again.catalogues.values() for phrase in one.phrases.values()
    )
    assert [block.parts for block in again.blocks] == [block.parts for block in library.blocks]
    assert not [path for path in fresh if "approv" in path]
    texts = [*block_paths(fresh), "content/frame.toml"]
    assert not [path for path in texts if b"Dr A. Example" in fresh[path]]
    assert all(b"Dr A. Example" in approved_shelf[path] for path in texts)


def test_a_text_somebody_retired_is_a_draft_again(shelf: Mapping[str, bytes]) -> None:
    retired = shelf[PATH].replace(b"{state: draft}", b"{state: retired, approver: Dr A. Example}")

    assert as_drafts({**shelf, PATH: retired}) == shelf


@pytest.mark.parametrize(
    "change", [(b"\nrank:", b"\nrank: no #"), (b"\napproval:", b'\n"approval":')]
)
def test_an_approval_that_cannot_be_taken_off_is_refused(
    approved_shelf: Mapping[str, bytes], change: tuple[bytes, bytes]
) -> None:
    assert change[0] in approved_shelf[PATH]

    with pytest.raises(BadContent, match=re.escape(PATH)):
        as_drafts({**approved_shelf, PATH: approved_shelf[PATH].replace(*change)})

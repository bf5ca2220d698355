"""Approvals: tied to the words they were given for, undone by an edit, written without damage."""

from __future__ import annotations

import re
from datetime import date

import pytest

from aftercare.errors import BadContent, BadInput
from aftercare.library import block_paths, read
from aftercare.library.approval import (
    Signature,
    approve_block,
    approve_frame,
    latest_review,
    retire_block,
)
from aftercare.library.header import split
from aftercare.model import ApprovalState, Block

BY = Signature("Dr A. Example", "consultant", date(2026, 11, 24))
PATH = "content/open-cavity/what-it-is.md"
FRAME = "content/frame.toml"
MONTHS = 24


def approved_text(shelf: dict[str, bytes], path: str = PATH) -> str:
    return approve_block(path, shelf[path].decode(), BY, MONTHS)


def block_from(shelf: dict[str, bytes], text: str, path: str = PATH) -> Block:
    library = read({**shelf, path: text.encode()}, wanted=())
    return next(block for block in library.blocks if block.place == path)


def test_every_block_of_the_shelf_can_be_approved_and_says_by_whom(shelf: dict[str, bytes]) -> None:
    paths = list(block_paths(shelf))
    files = {**shelf, **{path: approved_text(shelf, path).encode() for path in paths}}

    approvals = [block.approval for block in read(files, wanted=()).blocks]

    assert {approval.state for approval in approvals} == {ApprovalState.APPROVED}
    assert {(one.by, one.on, one.sealed) for one in approvals} == {
        ("Dr A. Example, consultant", date(2026, 11, 24), True)
    }


def test_approving_changes_the_approval_and_nothing_else(shelf: dict[str, bytes]) -> None:
    before, after = shelf[PATH].decode().split("\n"), approved_text(shelf).split("\n")

    changed = [(old, new) for old, new in zip(before, after, strict=True) if old != new]

    assert [old for old, _ in changed] == ["approval: {state: draft}"]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("cannot clear itself", "can clear itself"),
        ("for: [condition:open-cavity]", "for: [condition:wax]"),
        ("rank: 10", "rank: 11"),
        ("review_by: 2027-11-01", "review_by: 2029-11-01"),
        ("Uluyol 2017", "Somebody 2017"),
        ('version: "1"', 'version: "2"'),
    ],
)
def test_any_edit_of_what_was_approved_makes_it_a_draft_again(
    shelf: dict[str, bytes], old: str, new: str
) -> None:
    text = approved_text(shelf)
    assert old in text

    approval = block_from(shelf, text.replace(old, new)).approval

    assert (approval.state, approval.undone, approval.by) == (ApprovalState.DRAFT, True, None)


def test_white_space_around_the_words_and_the_author_are_no_edit(shelf: dict[str, bytes]) -> None:
    text = approved_text(shelf).replace("aftercare project (draft)", "A. N. Editor") + "\n\n"

    assert block_from(shelf, text).approval.state is ApprovalState.APPROVED


def test_an_approval_by_hand_counts_and_is_known_for_what_it_is(shelf: dict[str, bytes]) -> None:
    by_hand = 'approval: {state: approved, approver: "Dr B. Example", date: 2026-11-20}'

    approval = block_from(
        shelf, shelf[PATH].decode().replace("approval: {state: draft}", by_hand)
    ).approval

    assert (approval.state, approval.sealed) == (ApprovalState.APPROVED, False)


def test_an_approval_written_over_several_lines_is_replaced_whole(shelf: dict[str, bytes]) -> None:
    spread = "approval:\n  state: approved\n  approver: Dr B. Example\n  date: 2026-11-20\n"
    text = shelf[PATH].decode().replace("approval: {state: draft}\n", spread)

    again = approve_block(PATH, text, BY, MONTHS)

    assert again == approved_text(shelf)


@pytest.mark.parametrize("name", ['O\'Neil "the" Pike', "Zdzisława Łęcka", "Dr: A {B} #c", "شبانہ"])
def test_any_name_comes_back_as_it_was_given(shelf: dict[str, bytes], name: str) -> None:
    text = approve_block(PATH, shelf[PATH].decode(), Signature(name, "nurse", BY.on), MONTHS)

    header = split(PATH, text).header

    assert (header.approval.approver, header.approval.role) == (name, "nurse")


@pytest.mark.parametrize(
    "by", [Signature("", "consultant", BY.on), Signature("Dr A", " x ", BY.on),
           Signature("Dr A\nrank: 0", "consultant", BY.on)],
)  # fmt: skip
def test_nobody_in_particular_approves_nothing(shelf: dict[str, bytes], by: Signature) -> None:
    with pytest.raises(BadInput, match="a name and a role"):
        approve_block(PATH, shelf[PATH].decode(), by, MONTHS)


def test_a_retired_block_says_so(shelf: dict[str, bytes]) -> None:
    text = retire_block(PATH, shelf[PATH].decode(), BY)

    assert block_from(shelf, text).approval.state is ApprovalState.RETIRED


def test_the_frame_is_approved_by_its_words_too(shelf: dict[str, bytes]) -> None:
    text = approve_frame(FRAME, shelf[FRAME].decode(), BY, MONTHS)
    edited = text.replace("Next visit", "Visit")

    assert read({**shelf, FRAME: text.encode()}).frame.approval.state is ApprovalState.APPROVED
    assert read({**shelf, FRAME: edited.encode()}).frame.approval.undone


def test_a_frame_whose_approval_cannot_be_found_is_left_alone() -> None:
    spread = "version = '1'\nreview_by = 2027-11-01\n[approval]\nstate = 'draft'\n[texts]\n"

    with pytest.raises(BadContent, match="not on one line"):
        approve_frame(FRAME, spread, BY, MONTHS)


@pytest.mark.parametrize("path", [PATH, FRAME])
def test_words_with_other_line_ends_are_approved_as_they_are_read(
    shelf: dict[str, bytes], path: str
) -> None:
    write = approve_frame if path == FRAME else approve_block
    text = shelf[path].decode().replace("\n", "\r\n")

    done = write(path, text, BY, MONTHS)

    library = read({**shelf, path: done.encode()}, wanted=())
    blocks = {block.place: block.approval for block in library.blocks}
    approval = {**blocks, FRAME: library.frame.approval}[path]
    assert (approval.state, approval.sealed) == (ApprovalState.APPROVED, True)
    assert done.count("\n") == done.count("\r\n") == text.count("\r\n")


@pytest.mark.parametrize("key", ['"approval"', "approval "])
def test_an_approval_that_cannot_be_found_is_refused_with_its_line(
    shelf: dict[str, bytes], key: str
) -> None:
    text = shelf[PATH].decode().replace("\napproval:", f"\n{key}:")
    line = next(n for n, one in enumerate(text.split("\n"), 1) if one.startswith(key))

    with pytest.raises(BadContent, match="no line begins with approval:") as refused:
        approve_block(PATH, text, BY, MONTHS)

    assert refused.value.place == f"{PATH}:{line}"


@pytest.mark.parametrize("path", [PATH, FRAME])
@pytest.mark.parametrize(
    ("review_by", "told"),
    [
        ("2026-11-23", "2026-11-23 is past"),
        ("2026-11-24", None),
        ("2028-11-24", None),
        ("2028-11-25", "2028-11-25 is more than 24 months away"),
    ],
)
def test_nothing_is_approved_for_longer_than_the_limit_or_after_its_review_date(
    shelf: dict[str, bytes], path: str, review_by: str, told: str | None
) -> None:
    write = approve_frame if path == FRAME else approve_block
    text = re.sub(r"(?m)^(review_by *[:=]).*$", rf"\1 {review_by}", shelf[path].decode())
    line = next(n for n, one in enumerate(text.split("\n"), 1) if one.startswith("review_by"))

    if told is None:
        assert "approved" in write(path, text, BY, MONTHS)
        return
    with pytest.raises(BadInput, match=told) as refused:
        write(path, text, BY, MONTHS)
    assert refused.value.place == f"{path}:{line}"


@pytest.mark.parametrize(
    ("start", "months", "last"),
    [
        (date(2026, 11, 24), 24, date(2028, 11, 24)),
        # A day the month does not have becomes its last one (common practice, no source).
        (date(2024, 2, 29), 24, date(2026, 2, 28)),
        (date(2026, 8, 31), 6, date(2027, 2, 28)),
    ],
)
def test_the_last_day_for_a_review_is_months_after_the_first(
    start: date, months: int, last: date
) -> None:
    assert latest_review(start, months) == last

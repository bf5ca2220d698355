"""Blocks of recall messages: what they may say, be chosen by and be filled with."""

from __future__ import annotations

import pytest
from made_up import HOME

from aftercare.edges.folder import read_home
from aftercare.errors import BadContent
from aftercare.library import read
from aftercare.library.approval import block_digest
from aftercare.library.blocks import parse_block
from aftercare.library.header import split
from aftercare.library.reminders import KNOWN
from aftercare.model import SLOTS, Block, Channel, Library, Moment

REMINDER = """\
---
id: a-reminder
version: "1"
kind: recall
moments: [invite, overdue]
channels: [sms, email]
for: []
rank: 10
subject: "A visit to {clinic_short_name}"
sms: "Due by {due_date}."
sources: ["common practice, no source"]
author: "A. Writer"
approval: {state: draft}
review_by: 2027-11-01
---
Please come by {due_date}, {first_name}.
"""


def made(library: Library, *changes: tuple[str, str]) -> Block:
    text = REMINDER
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return parse_block("content/x/y.md", text.encode(), library.facts)


def test_a_block_of_a_recall_message_is_read(library: Library) -> None:
    block = made(library)

    assert block.moments == (Moment.INVITE, Moment.OVERDUE)
    assert block.channels == (Channel.SMS, Channel.EMAIL)
    assert block.subject is not None
    assert block.subject.variants[0].phrase.slots == ("clinic_short_name",)
    assert [unit.variants[0].line for unit in block.units()] == [16, 10, 9]


@pytest.mark.parametrize(
    ("changes", "line", "problem"),
    [
        ([("kind: recall", "kind: water")], 4, "no recall message has 'water'"),
        ([("rank: 10", 'rank: 10\nsms_detail: "More."')], 9, "no detail"),
        ([("for: []", "for: [age:child]")], 7, "'age:child' chooses nothing"),
        ([("for: []", "for: []\nnot_for: [caution:diabetes]")], 8, "'caution:diabetes' chooses"),
        ([("Please", "[age:child] Please"), (".\n", ".\n\n[age:adult] Come.\n")], None, "'age:"),
        ([("[invite, overdue]", "[invite, before]")], 16, "{due_date} is not known at invite, be"),
        ([("{first_name}", "{visit_date}")], 16, "{visit_date} is not known"),
        ([("moments: [invite, overdue]\n", "")], 5, "'channels' is for recall messages"),
        (
            [("moments: [invite, overdue]\nchannels: [sms, email]\n", "")], 7,
            "'subject' is for recall messages",
        ),
        ([("[invite, overdue]", "[someday]")], 5, "moments"),
        ([("[sms, email]", "[fax]")], 6, "channels"),
        ([("[invite, overdue]", "[]")], 5, "moments"),
    ],
)  # fmt: skip
def test_what_a_recall_message_must_not_be_is_refused_with_its_line(
    changes: list[tuple[str, str]], line: int | None, problem: str, library: Library
) -> None:
    with pytest.raises(BadContent) as caught:
        made(library, *changes)

    assert problem in str(caught.value)
    if line is not None:
        assert caught.value.place == f"content/x/y.md:{line}"


def test_a_leaflet_has_no_slot_of_a_recall_message(library: Library) -> None:
    header = [(f"{key}\n", "") for key in (
        "moments: [invite, overdue]", "channels: [sms, email]",
        'subject: "A visit to {clinic_short_name}"',
    )]  # fmt: skip
    with pytest.raises(BadContent, match="is for recall messages"):
        made(library, *header)


def test_a_recall_message_may_be_a_text_or_a_subject_alone(library: Library) -> None:
    body = ("Please come by {due_date}, {first_name}.\n", "")

    assert made(library, body).parts == ()
    with pytest.raises(BadContent, match="no words"):
        made(
            library, body, ('sms: "Due by {due_date}."\n', ""),
            ('subject: "A visit to {clinic_short_name}"\n', ""),
        )  # fmt: skip


def test_every_moment_says_what_it_is_filled_with() -> None:
    assert set(KNOWN) == set(Moment)
    assert {slot for known in KNOWN.values() for slot in known} <= set(SLOTS)


def test_a_shelf_keeps_recall_messages_apart_from_leaflets() -> None:
    library = read(read_home(HOME), wanted=())

    assert library.reminders
    assert all(block.moments for block in library.reminders)
    assert not any(block.moments for block in library.blocks)
    assert library.shelf == (*library.blocks, *library.reminders)
    ranks = [(block.rank, block.id) for block in library.reminders]
    assert ranks == sorted(ranks)


def test_a_block_without_moments_keeps_the_digest_it_was_approved_with() -> None:
    """Kept from before recall messages had keys of their own: an approval must outlive them."""
    text = REMINDER.replace("moments: [invite, overdue]\nchannels: [sms, email]\n", "")
    text = text.replace('subject: "A visit to {clinic_short_name}"\n', "")
    parts = split("x", text)

    assert block_digest(parts.header, parts.body) == "aeb8810d77de15b1b0ed9b51"
    moved = parts.header.model_copy(update={"moments": ["invite"]})
    assert block_digest(moved, parts.body) != "aeb8810d77de15b1b0ed9b51"


def test_moments_channels_and_subject_are_part_of_what_is_approved() -> None:
    parts = split("x", REMINDER)
    digest = block_digest(parts.header, parts.body)
    for change in ({"moments": ["invite"]}, {"channels": ["sms"]}, {"subject": "Other"}):
        changed = parts.header.model_copy(update=change)
        assert block_digest(changed, parts.body) != digest


def test_a_taken_id_is_refused_among_recall_messages_too(library: Library) -> None:
    files = read_home(HOME)
    source = files["content/reminders/invite.md"]
    files["content/reminders/again.md"] = source

    with pytest.raises(BadContent, match="'reminder-invite' is taken"):
        read(files, wanted=())

"""Block files: what the vocabulary demands, and that nothing hostile gets past the reader."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_up import refusal_of

from aftercare.errors import BadContent
from aftercare.library.blocks import SLOT_NEEDS, decode, parse_block
from aftercare.library.reminders import KNOWN
from aftercare.model import SLOTS, ApprovalState, Block, Kind, Library

HEADER = """\
---
id: a-block
version: "1"
kind: care
for: [condition:wax]
rank: 10
sources: ["common practice, no source"]
author: "A. Writer"
approval: {state: draft}
review_by: 2027-11-01
---
"""
BODY_LINE = 12


def made(library: Library, body: str, **header: str) -> Block:
    text = HEADER
    for key, value in header.items():
        line = next(line for line in HEADER.split("\n") if line.startswith(f"{key}:"))
        text = text.replace(line, value)
    return parse_block("content/x/y.md", (text + body).encode(), library.facts)


def refusal(library: Library, body: str, **header: str) -> BadContent:
    with pytest.raises(BadContent) as caught:
        made(library, body, **header)
    return caught.value


def test_a_block_is_read(library: Library) -> None:
    block = made(library, "Wax is normal.\n")

    assert (block.id, block.kind, block.place) == ("a-block", Kind.CARE, "content/x/y.md")
    assert block.approval.state is ApprovalState.DRAFT


@pytest.mark.parametrize(
    ("kind", "body", "asked"),
    [
        ("care", "Rest.\n\nEat.\n", 2),
        ("water", "- Rest.\n- Eat.\n- Sleep.\n", 3),
        ("others", "Do this:\n\n1. Rest.\n2. Eat.\n3. Sleep.\n", 2),
        ("recall", "[side:left] L.\n\n[side:right] R.\n\n[side:both] B.\n", 1),
        ("urgent", "- Ring us.\n- Come in.\n", 0),
        ("contact", "Ring us.\n", 0),
        ("done", "We looked.\n", 0),
        ("normal", "Wax is normal.\n", 0),
    ],
)
def test_a_block_asks_one_thing_for_each_paragraph_or_item_and_steps_are_one(
    library: Library, kind: str, body: str, asked: int
) -> None:
    assert made(library, body, kind=f"kind: {kind}").actions == asked


@pytest.mark.parametrize("said", [0, 1, 9])
def test_an_editor_may_say_how_many_things_a_block_asks(library: Library, said: int) -> None:
    block = made(library, "Rest.\n\nEat.\n", rank=f"rank: 10\nactions: {said}")

    assert block.actions == said


@pytest.mark.parametrize("said", ["-1", "10", "two", "true", "1.0"])
def test_how_many_things_a_block_asks_is_a_small_number(library: Library, said: str) -> None:
    refused = refusal(library, "Rest.\n", rank=f"rank: 10\nactions: {said}")

    assert (refused.place, "'actions'" in refused.problem) == ("content/x/y.md:7", True)


def test_a_piece_for_others_comes_last_on_the_page(library: Library) -> None:
    block = made(library, "Help with the drops.\n", kind="kind: others")

    assert block.kind is Kind.OTHERS
    assert list(Kind)[-1] is Kind.OTHERS


@pytest.mark.parametrize(
    ("given_for", "word"),
    [
        ("for: [illness:wax]", "no group of facts is called 'illness'"),
        ("for: [condition:gout]", "'condition' has no value 'gout'"),
        ("for: [side:left]", "chooses words, not blocks"),
    ],
)
def test_an_unknown_fact_is_refused_with_its_line(
    library: Library, given_for: str, word: str
) -> None:
    refused = refusal(library, "Words.\n", **{"for": given_for})

    assert word in str(refused)
    assert refused.place == "content/x/y.md:5"


def test_facts_of_a_list_written_long_are_refused_on_their_own_line(library: Library) -> None:
    refused = refusal(library, "Words.\n", **{"for": "for:\n  - condition:wax\n  - a:b"})

    assert refused.place == "content/x/y.md:7"


def test_a_fact_cannot_ask_and_bar(library: Library) -> None:
    refused = refusal(
        library, "Words.\n", **{"for": "for: [condition:wax]\nnot_for: [condition:wax]"}
    )

    assert "in for and in not_for" in refused.problem
    assert refused.place == "content/x/y.md:6"


@pytest.mark.parametrize(
    "body",
    [
        "[side:left] L\n\n[side:right] R\n",
        "[side:left reader:self] L\n\n[side:right reader:parent] R\n",
        "[reader:self] Only one\n",
    ],
)
def test_words_that_do_not_cover_every_value_are_refused(library: Library, body: str) -> None:
    refused = refusal(library, body)

    assert "no words for" in refused.problem
    assert refused.place == f"content/x/y.md:{BODY_LINE}"


def test_words_may_leave_out_what_the_block_is_never_given_for(library: Library) -> None:
    block = made(library, "[recall:agreed] One.\n", **{"for": "for: [recall:agreed]"})

    assert len(block.parts[0].units) == 1


@pytest.mark.parametrize(
    "fact", ["caution:diabetes", "condition:wax", "reply:text", "length:noted"]
)
def test_a_fact_that_may_stand_beside_others_cannot_choose_words(
    library: Library, fact: str
) -> None:
    assert "cannot choose words" in refusal(library, f"[{fact}] Words.\n").problem


@pytest.mark.parametrize("slot", SLOT_NEEDS)
def test_a_slot_that_can_be_empty_needs_its_fact(library: Library, slot: str) -> None:
    need = SLOT_NEEDS[slot]
    group = need.partition(":")[0]
    others = [f"{group}:{value}" for value in library.facts[group].values]

    assert "can be empty" in refusal(library, f"See {{{slot}}}.\n").problem
    # One of several values asked for is not this one.
    either = f"for: [{', '.join(others)}]"
    assert "can be empty" in refusal(library, f"See {{{slot}}}.\n", **{"for": either}).problem
    assert made(library, f"See {{{slot}}}.\n", **{"for": f"for: [{need}]"})


def test_every_slot_is_always_filled_or_has_a_need() -> None:
    always = {
        "patient_name", "clinician", "clinic_name", "clinic_short_name", "clinic_phone",
        "clinic_email", "clinic_hours", "emergency_number", "visit_date",
    }  # fmt: skip

    of_recall = frozenset[str]().union(*KNOWN.values()) | {"first_name"}

    assert set(SLOTS) == always | set(SLOT_NEEDS) | of_recall


def test_short_forms_are_checked_like_the_body(library: Library) -> None:
    assert "no slot is called" in refusal(library, "W.\n", rank="rank: 1\nsms: 'a {b}'").problem
    assert (
        "no words for"
        in refusal(
            library, "W.\n", rank="rank: 1\nsms: ['[side:left] a', '[side:right] b']"
        ).problem
    )
    refused = refusal(library, "W.\n", rank='rank: 1\nsms_detail: "a\\0b"')
    assert (refused.place, "U+0000" in refused.problem) == ("content/x/y.md:7", True)


def test_a_block_without_words_is_refused(library: Library) -> None:
    assert "no words" in refusal(library, "").problem
    assert "no words" in refusal(library, "\n\n").problem


@pytest.mark.parametrize(
    ("raw", "word", "line"),
    [
        (HEADER.encode() + b"a\nb\xff", "not UTF-8", BODY_LINE + 1),
        (HEADER.encode() + b"a\nb\x00", "U+0000", BODY_LINE + 1),
        (HEADER.encode() + "a\nb\x85".encode(), "U+0085", BODY_LINE + 1),
        (HEADER.encode() + "a\u2029b".encode(), "U+2029", BODY_LINE),
        (HEADER.encode().replace(b"---\n", "---\n# \u2028\n".encode(), 1), "U+2028", 2),
        (HEADER.encode() + b"a" * 10_000_000, "over the limit", 1),
        (HEADER.encode("utf-16"), "not UTF-8", 1),
    ],
)
def test_bytes_that_are_no_plain_text_are_refused_with_their_line(
    library: Library, raw: bytes, word: str, line: int
) -> None:
    with pytest.raises(BadContent, match=re.escape(word)) as caught:
        parse_block("content/x/y.md", raw, library.facts)

    assert caught.value.place == f"content/x/y.md:{line}"


def test_line_ends_and_a_byte_order_mark_change_nothing(library: Library) -> None:
    plain = (HEADER + "Words.\n").encode()

    blocks = [
        parse_block("p", raw, library.facts)
        for raw in (plain, plain.replace(b"\n", b"\r\n"), b"\xef\xbb\xbf" + plain)
    ]

    assert blocks[0] == blocks[1] == blocks[2]


@given(st.binary(max_size=80), st.integers(0, len(HEADER)))
@settings(max_examples=150, deadline=None)
def test_noise_in_a_file_is_refused_or_read_never_worse(
    library: Library, noise: bytes, at: int
) -> None:
    raw = HEADER.encode() + b"Words.\n"
    noisy = raw[:at] + noise + raw[at:]

    refused = refusal_of(lambda: parse_block("content/x/y.md", noisy, library.facts))

    assert refused is None or refused.place.startswith("content/x/y.md:")


def test_decode_says_how_much_is_too_much() -> None:
    with pytest.raises(BadContent, match="11 bytes, over the limit of 10"):
        decode("p", b"a" * 11, 10)

"""The header of a block: what is refused, and that the complaint names the right line."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_up import refusal_of

from aftercare.errors import BadContent
from aftercare.library.header import split

HEADER = """\
---
id: a-block
version: "1"
kind: care
for: [condition:wax]
rank: 10
sources:
  - "common practice, no source"
  - "a paper"
author: "A. Writer"
approval: {state: draft}
review_by: 2027-11-01
---
"""
FILE = HEADER + "Words.\n"


def refusal(text: str) -> BadContent:
    with pytest.raises(BadContent) as caught:
        split("content/x/y.md", text)
    return caught.value


def changed(old: str, new: str) -> str:
    assert old in FILE
    return FILE.replace(old, new, 1)


def test_a_good_header_is_read_whole() -> None:
    header = split("p", FILE).header

    assert (header.id, header.kind, header.rank) == ("a-block", "care", 10)
    assert header.given_for == ["condition:wax"]
    assert header.review_by == date(2027, 11, 1)


@pytest.mark.parametrize("blank", ["", "\n", "\n\n\n"])
def test_lines_are_those_of_the_file_whatever_blank_lines_stand_around(blank: str) -> None:
    text = FILE.replace("---\n", f"---\n{blank}")

    found = split("p", text)

    lines = text.split("\n")
    assert lines[found.key_lines["rank"] - 1] == "rank: 10"
    assert lines[found.key_lines["sources.1"] - 1] == '  - "a paper"'
    at = found.body_line + found.body.split("\n").index("Words.")
    assert lines[at - 1] == "Words."


# (what to replace, by what, the line complained of, a word of the complaint)
MISTAKES = {
    "an alias": ('author: "A. Writer"', "author: &a Writer\nversion2: *a", 10, "alias"),
    "an alias as a key": ("rank: 10", "rank: &a 10\n*a : 1", 6, "alias"),
    "a bomb": ("rank: 10", "a: &a [x, x]\nb: &b [*a, *a]\nc: [*b, *b]", 6, "alias"),
    "a tag": ("rank: 10", "rank: !!python/object/apply:os.getcwd []", 6, "tag"),
    "a tag on a key": ("rank: 10", "!!binary rank: 10", 6, "tag"),
    "a merge": ("rank: 10", "<<: {rank: 10}", 6, "tag"),
    "a key twice": ("rank: 10", 'rank: 10\n"rank": 11', 7, "given twice"),
    "an inner key twice": (
        "{state: draft}",
        "{state: draft, state: approved}",
        11,
        "'approval.state' is given twice",
    ),
    "a number for a key": ("rank: 10", "1: x\nrank: 10", 6, "not a word"),
    "no for a key": ("rank: 10", "no: x\nrank: 10", 6, "not a word"),
    "a list for a key": ("rank: 10", "? [a, b]\n: x\nrank: 10", 6, "not a word"),
    "an unknown key": ("rank: 10", "rank: 10\nranks: 11", 7, "unknown key 'ranks'"),
    "a key called str": ("rank: 10", "rank: 10\nstr: 11", 7, "unknown key 'str'"),
    "our own name for a key": ("for: [", "given_for: [", 1, "for"),
    "a key missing": ("rank: 10\n", "", 1, "lacks 'rank'"),
    "no as a value": ("kind: care", "kind: no", 4, "kind"),
    "no as a text": ('author: "A. Writer"', "author: no", 10, "put it in quotes"),
    "no such day": ("2027-11-01", "2026-13-40", 12, "2026-13-40"),
    "a moment for a day": ("2027-11-01", "2027-11-01 10:00:00", 12, "review_by"),
    "a text for a day": ("2027-11-01", '"2027-11-01"', 12, "review_by"),
    "a text for a number": ("rank: 10", 'rank: "10"', 6, "rank"),
    "true for a number": ("rank: 10", "rank: true", 6, "rank"),
    "a rank below the range": ("rank: 10", "rank: -1", 6, "rank"),
    "a number for a text": ('version: "1"', "version: 1", 3, "put it in quotes"),
    "a number too long to read": ("rank: 10", "rank: " + "9" * 5000, 6, "is no int"),
    "sixties past a float": ("rank: 10", "rank: 1" + ":10" * 400 + ".5", 6, "is no float"),
    "nested past all sense": ("rank: 10", "rank: " + "[" * 20_000, 6, "not YAML"),
    "an open quote": ("rank: 10", 'rank: "10', 8, "not YAML"),
    "a fact that is none": ("[condition:wax]", "[wax]", 5, "for.0"),
    "no source": ('  - "a paper"', '  - ""', 9, "sources.1"),
    "a blank source": ('  - "a paper"', '  - "    "', 9, "sources.1"),
    "a blank author": ('"A. Writer"', '"   "', 10, "author"),
    "approved by nobody": ("{state: draft}", "{state: approved}", 11, "approver"),
    "approved by blanks": (
        "{state: draft}",
        '{state: approved, approver: "    ", date: 2026-01-01}',
        11,
        "approver",
    ),
    "approved on no day": (
        "{state: draft}",
        '{state: approved, approver: "Dr A. Example"}',
        11,
        "date",
    ),
    "an unknown inner key": ("{state: draft}", "{state: draft, who: me}", 11, "who"),
    "a state of its own": ("{state: draft}", "{state: checked}", 11, "approval.state"),
}


@pytest.mark.parametrize("name", MISTAKES)
def test_a_mistake_is_refused_with_its_line(name: str) -> None:
    old, new, line, word = MISTAKES[name]

    refused = refusal(changed(old, new))

    assert word in str(refused), str(refused)
    # An alias is complained of where what it repeats stands, an open quote where YAML gave up.
    assert refused.place == f"content/x/y.md:{line}", str(refused)
    assert len(str(refused)) < 400


def test_a_file_without_a_header_is_refused() -> None:
    assert "no header" in str(refusal("Words.\n"))
    assert "no end" in str(refusal(HEADER.removesuffix("---\n")))
    assert "empty or a list" in str(refusal("---\n---\nWords.\n"))
    assert "empty or a list" in str(refusal("---\n- a\n---\nWords.\n"))


@given(st.text(alphabet="a:-[]{}&*!|>'\"%@`#,?\n 1~<", max_size=60))
@settings(max_examples=150, deadline=None)
def test_no_header_ends_in_anything_but_a_value_or_a_refusal(noise: str) -> None:
    refused = refusal_of(lambda: split("p", f"---\n{noise}\n---\nWords.\n"))

    assert refused is None or refused.place.startswith("p:")

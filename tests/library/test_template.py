"""The template changes when the sentences do, and then alone."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from aftercare.library.po import read_po
from aftercare.library.template import Asked, template

ONE = Asked(file="content/a.md", line=3, context="a", msgid="Ring {clinic_phone}.", said="care")
TWO = Asked(file="content/b.md", line=4, context="b", msgid="Wax is normal.", said="normal")
THEN, NOW = date(2026, 11, 1), date(2026, 11, 25)


def created(raw: bytes) -> str | None:
    return read_po("t.pot", raw).field("POT-Creation-Date")


def test_a_sentence_used_twice_is_asked_once_with_both_places() -> None:
    again = replace(ONE, file="content/c.md", line=9, said="water")

    (entry,) = read_po("t.pot", template([ONE, again], None, NOW)).entries

    assert entry.places == ("content/a.md:3", "content/c.md:9")
    assert entry.extracted == ("care", "water")
    assert entry.flags == ("python-brace-format",)


def test_the_same_words_in_two_blocks_are_two_sentences() -> None:
    raw = template([ONE, replace(ONE, context="b")], None, NOW)

    assert [entry.context for entry in read_po("t.pot", raw).entries] == ["a", "b"]


def test_the_same_sentences_give_the_same_bytes_on_another_day() -> None:
    first = template([ONE, TWO], None, THEN)

    assert template([ONE, TWO], first, NOW) == first


def test_sentences_that_only_moved_keep_the_date() -> None:
    moved = template([replace(ONE, line=30), TWO], template([ONE, TWO], None, THEN), NOW)

    assert created(moved) == "2026-11-01 00:00+0000"
    assert b"content/a.md:30" in moved


@pytest.mark.parametrize(
    "other",
    [replace(ONE, msgid="Other."), replace(ONE, context="other"), replace(ONE, said="other")],
)
def test_another_sentence_brings_another_date(other: Asked) -> None:
    old = template([ONE, TWO], None, THEN)

    new = template([other, TWO], old, NOW)

    assert created(new) == "2026-11-25 00:00+0000"
    assert created(template([TWO], old, NOW)) == "2026-11-25 00:00+0000"


def test_another_writers_line_breaks_in_comments_are_no_change() -> None:
    first = template([replace(ONE, said="one two")], None, THEN)
    wrapped = first.replace(b"#. one two", b"#. one\n#. two")

    assert created(template([replace(ONE, said="one two")], wrapped, NOW)) == created(first)

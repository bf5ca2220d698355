"""Approvals of translations: only ever added, by a name, to words as they stand."""

from __future__ import annotations

import tomllib
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from aftercare.errors import BadContent, BadInput
from aftercare.library.approval import Signature
from aftercare.library.catalogues import digest, read_reviewers
from aftercare.library.signing import approvals_path, signed

WHO = Signature("Anna Próbna", "translator", date(2026, 11, 25))
WORDS = {("a", "One."): "Raz.", ("b", "Two."): "Dwa."}


def test_each_translation_is_approved_by_the_digest_of_its_words() -> None:
    raw = signed("a.toml", None, WHO, WORDS)

    assert read_reviewers("a.toml", raw) == {
        digest(*key, text): "Anna Próbna, translator, 2026-11-25" for key, text in WORDS.items()
    }
    assert approvals_path("pl") == "locales/pl/approvals.toml"


@given(st.text("aĄ\"\\'#]=ß ", min_size=3).filter(lambda name: len(name.strip()) >= 3))
@settings(max_examples=60, deadline=None)
def test_any_name_is_written_as_text(name: str) -> None:
    raw = signed("a.toml", None, Signature(name, "nurse", date(2026, 1, 2)), WORDS)

    assert tomllib.loads(raw.decode())["approval"][0]["by"] == name.strip()


@pytest.mark.parametrize("before", [b"", b"# kept\n", b"# kept", b"# kept\n\n"])
def test_what_was_there_stays_to_the_byte(before: bytes) -> None:
    first = signed("a.toml", before, WHO, WORDS)
    second = signed("a.toml", first, Signature("B. C", "nurse", WHO.on), {("c", "x"): "y"})

    assert first.startswith(before)
    assert second.startswith(first)
    assert len(read_reviewers("a.toml", second)) == 3


@pytest.mark.parametrize(("name", "role"), [("", "nurse"), ("  x ", "nurse"), ("Ann", "\n\n\n")])
def test_nobody_approves_without_a_name_and_a_role(name: str, role: str) -> None:
    with pytest.raises(BadInput, match="a name and a role"):
        signed("a.toml", None, Signature(name, role, WHO.on), WORDS)


@pytest.mark.parametrize("before", [b"by = 1 +", b"[[approval]]\nby = 'x'\n", b"\xff"])
def test_a_file_that_cannot_be_read_is_not_added_to(before: bytes) -> None:
    with pytest.raises(BadContent, match=r"a\.toml:"):
        signed("a.toml", before, WHO, WORDS)

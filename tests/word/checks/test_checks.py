"""The checks together: empty and header texts, unknown languages, order, and speed."""

from __future__ import annotations

import json
import time
from collections.abc import Callable
from dataclasses import replace

import pytest
from word.checks.seed import LANGUAGES, pairs, parts

from aftercare.word.checks import Finding, Pair, Severity, check_pair, check_pairs

Ask = Callable[..., tuple[Finding, ...]]
HEADER = "Project-Id-Version: aftercare\nContent-Type: text/plain; charset=utf-8\n"


@pytest.mark.parametrize(
    ("source", "target", "kind"),
    [("", HEADER, "header"), ("Keep it dry.", HEADER, "header"), ("Keep it dry.", " \n", "empty")],
)
def test_a_header_or_an_empty_text_never_passes(
    source: str, target: str, kind: str, ask: Ask
) -> None:
    (found,) = ask(source, target, "pl")

    assert (found.kind, found.severity) == (kind, Severity.BLOCK)


def test_a_language_without_word_lists_is_said_to_be_unchecked(ask: Ask) -> None:
    found = ask("Ring {clinic_phone} in 3 days.", "Wac {clinic_phone} 3 maalmood.", "so")

    assert [one.kind for one in found] == ["unchecked"]


def test_the_answer_does_not_hang_on_the_order_of_pairs() -> None:
    listed = list(pairs("tuned"))
    ask = {"parts": parts, "glossaries": {}}

    there = check_pairs(listed, **ask)  # type: ignore[arg-type]
    back = check_pairs(listed[::-1], **ask)  # type: ignore[arg-type]

    assert there == back[::-1]


@pytest.mark.parametrize(
    "target", ["{", "**", "#", "½", "\ud800", "{}" * 500, "a" * 20000, "1 " * 9999]
)
def test_no_text_is_too_odd_to_be_answered(target: str, ask: Ask) -> None:
    for language in LANGUAGES:
        assert json.dumps([one.why for one in ask("Keep it dry.", target, language)])


def test_twelve_languages_of_350_pairs_are_checked_in_20_seconds() -> None:
    """The issue's demand for `locales check`; measured 5 s on two shared cores."""
    good = [*pairs("tuned"), *pairs("held"), *pairs("last")]
    many = [replace(good[at % len(good)], id=str(at)) for at in range(12 * 350)]

    began = time.process_time()
    found = check_pairs(many, parts=parts, glossaries={})
    took = time.process_time() - began

    assert len(found) == len(many)
    assert took < 20


def test_one_pair_alone_is_answered_as_among_others() -> None:
    one = Pair(id="1", source="Keep the left ear dry.", target="Prawe ucho suche.", language="pl")

    assert check_pairs([one], parts=parts, glossaries={}) == [
        check_pair(one, parts=parts, glossaries={})
    ]

"""Emphasis and lists: kept, and no other mark has come in."""

from __future__ import annotations

from collections.abc import Callable

import pytest

Kinds = Callable[..., set[str]]


@pytest.mark.parametrize(
    ("source", "target", "found"),
    [
        ("**Call** us.", "**Dzwonić** do nas.", set()),
        ("**Call** us.", "Dzwonić do nas.", {"emphasis"}),
        ("**Call** us.", "**Dzwonić do nas.", {"emphasis"}),
        ("**Call** us.", "**Dzwonić ** do nas.", {"emphasis"}),
        ("Call us.", "**Dzwonić** do nas.", {"emphasis"}),
        ("- one\n- two", "- raz\n- dwa", set()),
        ("- one\n- two", "raz, dwa", {"list"}),
        ("1. one\n2. two", "1. raz", {"list"}),
        ("Call us.", "<b>Dzwonić</b> do nas.", {"markup"}),
        ("Call us.", "[Dzwonić](x) do nas.", {"markup"}),
        ("Call us.", "Dzwonić&nbsp;do nas.", {"markup"}),
        ("<b>Call</b> us.", "<b>Dzwonić</b> do nas.", set()),
    ],
)
def test_marks_are_those_of_the_source(
    source: str, target: str, found: set[str], kinds: Kinds
) -> None:
    assert kinds(source, target, "pl") & {"emphasis", "list", "markup"} == found

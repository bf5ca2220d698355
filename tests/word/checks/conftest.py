"""Asking the checks about one pair: what kinds of finding it has, or one kind's findings."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from word.checks.seed import parts

from aftercare.word.checks import Finding, Pair, check_pair

Ask = Callable[..., tuple[Finding, ...]]


@pytest.fixture(scope="session")
def ask() -> Ask:
    """The findings of a pair, given as source, target and language."""

    def asked(source: str, target: str, language: str, **more: object) -> tuple[Finding, ...]:
        pair = Pair(id="1", source=source, target=target, language=language, **more)  # type: ignore[arg-type]
        return check_pair(pair, parts=parts, glossaries={})

    return asked


@pytest.fixture(scope="session")
def kinds(ask: Ask) -> Callable[..., set[str]]:
    """The kinds of finding a pair has."""

    def asked(source: str, target: str, language: str, **more: object) -> set[str]:
        return {one.kind for one in ask(source, target, language, **more)}

    return asked

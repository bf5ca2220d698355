"""The proof of a shelf, run side by side: one task for who gets what, one for each language."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from datetime import date
from functools import cache
from multiprocessing import get_context
from pathlib import Path
from typing import Any

from aftercare.edges.folder import read_home
from aftercare.edges.press import TypstPress
from aftercare.errors import OutOfReach
from aftercare.library import read_shelf
from aftercare.proof.editing import Finding
from aftercare.proof.language import LanguageCheck, check_language
from aftercare.proof.reach import Reach
from aftercare.proof.reasons import Reasons, reasons
from aftercare.proof.shelf import Totals, of_any_language, totals

# The libraries of the proof have threads of their own, which a forked process would lack.
_FRESH = "spawn"

Tell = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class ShelfCheck:
    """What was found of a shelf whatever the language, and of each language."""

    totals: Totals
    reasons: Reasons
    findings: tuple[Finding, ...]
    languages: tuple[LanguageCheck, ...]


def prove(home: Path, languages: Iterable[str], today: date, tell: Tell) -> ShelfCheck:
    """Prove the shelf in ``home``; ``tell`` hears of each part as it ends.

    Raises ``OutOfReach`` when a part of the work was stopped from outside.
    """
    wanted = list(languages)
    most = min(os.cpu_count() or 1, len(wanted) + 1)
    with ProcessPoolExecutor(
        max_workers=most, mp_context=get_context(_FRESH), initializer=_hushed
    ) as pool:
        whole = pool.submit(_whole, home, today)
        parts = {pool.submit(_language, home, one, today): one for one in wanted}
        try:
            every: dict[Future[Any], str] = {**parts, whole: "who gets what"}
            for number, done in enumerate(as_completed(every), 1):
                done.result()
                tell(f"proved {number} of {len(every)}: {every[done]}")
        except BrokenProcessPool:
            remedy = "close other programs, try again"
            raise OutOfReach("content check", "part of the proof was stopped", remedy) from None
        found, why, findings = whole.result()
        return ShelfCheck(found, why, (*why.findings, *findings), tuple(_in_order(parts)))


def _in_order(parts: dict[Future[LanguageCheck], str]) -> Iterator[LanguageCheck]:
    return (part.result() for part in parts)


def _hushed() -> None:
    """The solver greets whoever starts it on standard output, which is for the answer alone."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)


@cache
def _reach(home: Path) -> Reach:
    """The shelf, compiled once in each process."""
    return Reach(read_shelf(read_home(home)).library)


def _language(home: Path, language: str, today: date) -> LanguageCheck:
    return check_language(_reach(home), language, TypstPress(), today)


def _whole(home: Path, today: date) -> tuple[Totals, Reasons, tuple[Finding, ...]]:
    reach = _reach(home)
    return totals(reach), reasons(reach), tuple(of_any_language(reach, today))

"""Slots kept: each exactly as often as in the source; slots that dial a number, above all."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator

from aftercare.model import SLOTS, Role
from aftercare.word.checks.pair import Finding, Pair, Severity
from aftercare.word.checks.words import fold

SLOT, PHONE = "slots", "phone"
_SLOT = re.compile(r"\{[^{}]*\}|%\(\w+\)[sd]|\$\{\w+\}")
# A run of three figures or more is something to dial, unless a unit makes it a quantity.
_DIALLED = re.compile(r"(?<![\d.,])\+?\d(?:[\s\u00a0().-]{0,2}\d){2,}(?![\d])")
# A range or times of day, which nobody dials: 10-14, 9.30, 8.30-17.00.
_RANGE = re.compile(r"\d{1,2}\s?-\s?\d{1,2}|\d{1,2}\.[0-5]\d(?:\s?-\s?\d{1,2}\.[0-5]\d)?")
_QUANTITY = re.compile(r"\s?(?:ml|mg|mcg|g|mm|cm|%|°)(?![a-z])")


def slots(pair: Pair) -> Iterator[Finding]:
    """Every ``{slot}`` of the source is in the translation as often, and no other is."""
    wanted, there = _slots(pair.source), _slots(pair.target)
    for name in wanted.keys() | there.keys():
        if wanted[name] != there[name]:
            yield Finding(
                PHONE if _rings(name) else SLOT,
                Severity.BLOCK,
                f"{name}: {_times(wanted[name])} in the source, "
                f"{_times(there[name])} in the translation",
            )
    rest = _SLOT.sub("", pair.target)
    if ("{" in rest or "}" in rest) and not _loose_braces(pair.source):
        yield Finding(SLOT, Severity.BLOCK, "a brace without its partner")


def phones(pair: Pair) -> Iterator[Finding]:
    """Every number to ring is kept figure by figure; the digits' script and spaces may differ."""
    wanted, there = _dialled(pair.source), _dialled(pair.target)
    for number in wanted - there:
        yield Finding(PHONE, Severity.BLOCK, f"the number {number} of the source is not kept")
    for number in there - wanted:
        yield Finding(PHONE, Severity.BLOCK, f"the number {number} is not in the source")


def _slots(text: str) -> Counter[str]:
    return Counter(_SLOT.findall(text))


def _loose_braces(text: str) -> bool:
    return bool(re.search("[{}]", _SLOT.sub("", text)))


def _rings(name: str) -> bool:
    return SLOTS.get(name.strip("{}")) is Role.PHONE


def _times(count: int) -> str:
    return {0: "never", 1: "once", 2: "twice"}.get(count, f"{count} times")


def _dialled(text: str) -> Counter[str]:
    plain = fold(_SLOT.sub(" ", text))
    return Counter(
        re.sub(r"[^\d+]", "", one[0])
        for one in _DIALLED.finditer(plain)
        if not (_RANGE.fullmatch(one[0]) or _QUANTITY.match(plain, one.end()))
    )

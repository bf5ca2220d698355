"""Ear side kept: left stays left, right stays right, both stays both."""

from __future__ import annotations

from collections.abc import Iterator

from aftercare.word.checks.pair import Finding, Read, Severity

SIDE = "side"
LEFT, RIGHT, BOTH = "left", "right", "both"
ONE = (LEFT, RIGHT)


def side(read: Read) -> Iterator[Finding]:
    """The translation names the ears the source names, in sentences that pair up in each."""
    for source, target in read.aligned():
        said = read.english.sides.values(source)
        told = read.tongue.sides.values(target)
        why = _why([one for one in said if one in ONE], [one for one in told if one in ONE])
        if why is None and BOTH in said and not told:
            yield Finding(SIDE, Severity.WARN, "the source speaks of both ears, plainly")
        if why is not None and not _both_for_two(said, told):
            yield Finding(SIDE, Severity.BLOCK, why)


def _why(said: list[str], told: list[str]) -> str | None:
    lost, gained = set(said) - set(told), set(told) - set(said)
    if lost:
        return f"the source says {_named(lost)}; the translation says {_named(set(told))}"
    if gained:
        return f"the translation says {_named(gained)}; the source does not"
    if list(dict.fromkeys(said)) != list(dict.fromkeys(told)):
        return "the sides come in another order: check which ear is which"
    return None


def _both_for_two(said: list[str], told: list[str]) -> bool:
    """Both ears may be told as the left and the right one, and the other way round."""
    return (BOTH in said and set(ONE) <= set(told)) or (BOTH in told and set(ONE) <= set(said))


def _named(sides: set[str]) -> str:
    return " and ".join(sorted(sides)) or "no side"

"""How soon to get help is kept: at once stays at once, the same day stays the same day."""

from __future__ import annotations

from collections.abc import Iterator

from aftercare.word.checks.pair import Finding, Read, Severity

URGENCY = "urgency"
_SAID = {"now": "at once", "today": "the same day"}


def urgency(read: Read) -> Iterator[Finding]:
    """Where the source asks to get in touch at once or the same day, the translation does."""
    said = [
        soon
        for one in read.source
        if read.english.urgent_with.values((one,))
        for soon in read.english.urgent.values((one,))
        if soon in _SAID
    ]
    told = set(read.tongue.urgent.values(read.target))
    for soon in dict.fromkeys(said):
        if soon not in told:
            yield Finding(
                URGENCY,
                Severity.BLOCK,
                f"the source asks to act {_SAID[soon]}; the translation does not",
            )

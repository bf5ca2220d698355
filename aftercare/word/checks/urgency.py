"""Getting help is kept, and how soon: at once stays at once, the same day the same day."""

from __future__ import annotations

from collections.abc import Iterator

from aftercare.word.checks.pair import Finding, Read, Severity

URGENCY, CONTACT = "urgency", "contact"
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


def contact(read: Read) -> Iterator[Finding]:
    """Where the source asks the reader to get in touch, the translation does somewhere."""
    asked = "must" in read.english.reach.values(read.source)
    if asked and not read.tongue.reach.values(read.target):
        why = "the source asks to call, contact or tell you; the translation seems not to"
        yield Finding(CONTACT, Severity.WARN, why)

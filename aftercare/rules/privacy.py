"""What others may read on a screen: row 22."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from aftercare.model import Channel
from aftercare.rules.rule import Act, Rule
from aftercare.rules.sayings import words
from aftercare.rules.seen import Seen, Unlisted


def _in_view(seen: Seen) -> Iterator[str]:
    shown = _shown(seen)
    if shown is None:
        return
    language = seen.message.language
    listed = seen.asked.library.limits.lock_screen.get(language)
    if listed is None and seen.message.channel is Channel.EMAIL:
        raise Unlisted("lock_screen", "shared/limits.toml")
    if listed is None:
        yield f"shared/limits.toml lists no lock-screen words for {language}"
        return
    said = set(words(shown))
    found = sorted(word for word in listed if _apart(word) <= said)
    if found:
        yield f"not safe on a locked screen: {', '.join(found)}"


def _shown(seen: Seen) -> str | None:
    """What stands on a locked screen or in an inbox; None where nothing does."""
    if seen.message.channel is Channel.SMS and "texts:detail" not in seen.facts:
        return " ".join(line.text for line in seen.message.lines)
    subject = seen.asked.worded.frame.get("subject")
    if seen.message.channel is Channel.EMAIL and subject is not None:
        return subject.text
    return None


@lru_cache(maxsize=4096)
def _apart(word: str) -> frozenset[str]:
    return frozenset(words(word))


RULES = (
    Rule(
        name="diagnosis in view", row=22, act=Act.BLOCK, check=_in_view, wording="{why}",
        source="common practice, no source",
    ),
)  # fmt: skip

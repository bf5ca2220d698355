"""What others may read on a screen: row 22."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from aftercare.model import Channel
from aftercare.rules.rule import Act, Rule
from aftercare.rules.sayings import words
from aftercare.rules.seen import Seen, Told, Unlisted


def _text_in_view(seen: Seen, told: Told) -> Iterator[str]:
    """A line of a text message, as it stands on a locked screen."""
    if seen.message.channel is not Channel.SMS or "texts:detail" in seen.facts:
        return
    language = told.line.language or seen.message.language
    listed = seen.asked.library.limits.lock_screen.get(language)
    if listed is None:
        yield f"shared/limits.toml lists no lock-screen words for {language}"
    else:
        yield from in_view(told.line.text, listed)


def _subject_in_view(seen: Seen) -> Iterator[str]:
    """The subject of an e-mail, as it stands in an inbox."""
    subject = seen.frame.get("subject")
    if seen.message.channel is not Channel.EMAIL or subject is None:
        return
    listed = seen.asked.library.limits.lock_screen.get(seen.message.language)
    if listed is None:
        raise Unlisted("lock_screen", "shared/limits.toml")
    yield from in_view(subject.text, listed)


def in_view(shown: str, listed: frozenset[str]) -> Iterator[str]:
    """Which of the listed words a text shows; nothing when it is safe on a locked screen."""
    said = _in_a_row(shown)
    found = sorted(word for word in listed if _of_listed(word) in said)
    if found:
        yield f"not safe on a locked screen: {', '.join(found)}"


def _in_a_row(text: str) -> str:
    """The words with a space around each: a Chinese word is several, and they stand together."""
    return f" {' '.join(words(text))} "


# What is shown may hold a patient's name: only what the shelf lists is kept.
@lru_cache(maxsize=4096)
def _of_listed(word: str) -> str:
    return _in_a_row(word)


RULES = (
    Rule(
        name="diagnosis in view", row=22, act=Act.BLOCK, line=_text_in_view, check=_subject_in_view,
        wording="{why}",
        source="common practice, no source",
    ),
)  # fmt: skip

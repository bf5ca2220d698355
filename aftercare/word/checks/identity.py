"""The right language: not left in English, not another language, not another script."""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Iterator
from functools import lru_cache

from aftercare.word.checks.pair import Finding, Read, Severity
from aftercare.word.checks.tongues import Looks, looks
from aftercare.word.checks.words import NUMBER, SLOT, Sentence

UNTRANSLATED, WRONG = "untranslated", "language"
# Short headings and names are the same in many languages: Page, SMS, E-mail.
SHORT = 2
# English words in a row that no borrowed name explains.
RUN = 4
FEW_LETTERS = 6
# How many more of another language's commonest words it takes to be sure.
AHEAD = 2
_SLOTS = re.compile(r"\{[^{}]*\}|[\w.+-]{1,64}@\S+|https?://\S+")


def untranslated(read: Read) -> Iterator[Finding]:
    """The translation is not the source again, whole or in part."""
    mine, theirs = _words(read.source), _words(read.target)
    if not theirs:
        return
    if mine == theirs and len(mine) > SHORT:
        yield Finding(UNTRANSLATED, Severity.BLOCK, "the translation is the source again")
    elif (length := _longest_run(mine, theirs)) >= RUN:
        why = f"{length} words in a row are still those of the source"
        yield Finding(UNTRANSLATED, Severity.BLOCK, why)
    elif read.tongue.looks.script != "Latin" and _mostly(read.pair.target, "Latin"):
        yield Finding(
            UNTRANSLATED, Severity.BLOCK, f"hardly a letter is {read.tongue.looks.script}"
        )


def wrong_language(read: Read) -> Iterator[Finding]:
    """The script and the commonest words are those of the language, not of another."""
    script = read.tongue.looks.script
    other = _script(read.pair.target)
    if other not in (None, script, "Latin"):
        yield Finding(WRONG, Severity.BLOCK, f"the letters are {other}, not {script}")
    elif (likely := _likely(read)) is not None:
        why = f"the words look like {likely.name}, not {read.tongue.looks.name}"
        yield Finding(WRONG, Severity.BLOCK, why)
    elif letters := read.tongue.foreign & set(read.pair.target):
        why = f"{read.tongue.looks.name} does not use {' '.join(sorted(letters))}"
        yield Finding(WRONG, Severity.WARN, why)


def _likely(read: Read) -> Looks | None:
    """Another language of the same script that has far more for it, if there is one.

    English is left to the other check: its words are in many good translations.
    """
    own = read.tongue.looks
    words = set(_words(read.target))
    letters = set(_SLOTS.sub("", read.pair.target).lower())
    mine = _evidence(own, words, letters)
    best, most = None, max(mine + AHEAD, 2 * mine) - 1
    for one in looks():
        if one.script == own.script and one.name not in (own.name, read.english.looks.name):
            found = _evidence(one, words, letters - own.letters)
            if found > most:
                best, most = one, found
    return best


def _evidence(one: Looks, words: set[str], letters: set[str]) -> int:
    """How many commonest words of a language there are, and letters that give it away."""
    return len(one.common & words) + len(one.letters & letters)


def _words(sentences: tuple[Sentence, ...]) -> list[str]:
    return [word for one in sentences for word in one if not word.startswith((NUMBER, SLOT))]


def _longest_run(mine: list[str], theirs: list[str]) -> int:
    """The most words in a row that both have, one letter alone not counting."""
    best, before = 0, [0] * (len(mine) + 1)
    for word in theirs:
        now = [0] * (len(mine) + 1)
        for at, other in enumerate(mine):
            if word == other:
                now[at + 1] = before[at] + 1
        best, before = max(best, *now), now
    return best


# --- scripts ----------------------------------------------------------------------------

_NAMES = {
    "LATIN": "Latin", "ARABIC": "Arabic", "BENGALI": "Bengali", "GURMUKHI": "Gurmukhi",
    "CJK": "Han", "DEVANAGARI": "Devanagari", "CYRILLIC": "Cyrillic", "GREEK": "Greek",
}  # fmt: skip


@lru_cache(maxsize=4096)
def script_of(char: str) -> str | None:
    """The script of a letter by its name in Unicode; None for what is no letter."""
    if not char.isalpha():
        return None
    first = unicodedata.name(char, "?").partition(" ")[0]
    return _NAMES.get(first, first.title())


def _scripts(text: str) -> Counter[str]:
    found = (script_of(char) for char in _SLOTS.sub(" ", text))
    return Counter(script for script in found if script is not None)


def _script(text: str) -> str | None:
    """The script of more than half of the letters, where there are enough to tell."""
    counted = _scripts(text)
    total = sum(counted.values())
    if total < FEW_LETTERS:
        return None
    script, most = counted.most_common(1)[0]
    return script if 2 * most > total else None


def _mostly(text: str, script: str) -> bool:
    return _script(text) == script

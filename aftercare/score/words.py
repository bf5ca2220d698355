"""What one English word adds to each count, as a packed number.

Letters, numbers and symbols between blanks are one word (Flesch 1948); hyphens and
apostrophes join (SMOG guides). Numerals and symbols have one syllable in the syllable count
(Flesch 1948) and are read aloud for the polysyllables (SMOG guides); neither is a complex
or an unfamiliar word.
"""

from __future__ import annotations

import re
from functools import cache

from aftercare.score.dictionary import Dictionary, word_lists
from aftercare.score.familiar import dale_list, familiar_1948, familiar_1995
from aftercare.score.numerals import spoken
from aftercare.score.syllables import is_initialism, plain, syllable_counter
from aftercare.score.tally import packed

LONG = 6  # letters; LIX and RIX count the words that have more (Björnsson 1968)
MANY = 3  # syllables of a polysyllable (McLaughlin 1969)

_LATIN = re.compile(r"[a-z'\-&.0-9ßæœøđðþł]+")
_NOT_SPELLING = re.compile(r"[^\w'’.&-]|_")  # an emoji or a soft hyphen inside a word
_SYLLABIC_ENDING = re.compile(r"(?:[td]ed|(?:[sxzcg]|ch|sh)es|ing)$")


def word_tally(word: str, dictionary: Dictionary) -> int:
    """The counts of one word as it is written inside a sentence."""
    if word[0].isdigit() or not any(letter.isalpha() for letter in word):
        return _numeral(word)
    lower = plain(word)
    if not _LATIN.fullmatch(lower):
        bare = _NOT_SPELLING.sub("", word)
        return word_tally(bare, dictionary) if bare != word else _other_script(word)
    syllables = syllable_counter(dictionary)(word)
    name = is_name(word)
    letters = sum(map(str.isalpha, lower))
    return packed(
        words=1,
        syllables=syllables,
        polysyllables=int(syllables >= MANY),
        four_syllables=int(syllables > MANY),
        monosyllables=int(syllables == 1),
        letters=letters,
        strokes=sum(map(str.isalnum, lower)),
        long_words=int(letters > LONG),
        complex_words=int(syllables >= MANY and not name and is_complex(word, dictionary)),
        unfamiliar_1948=int(not name and not familiar_1948(lower)),
        unfamiliar_1995=int(not name and not familiar_1995(lower)),
        everyday=int(lower in word_lists()["everyday"]),
    )


def is_name(word: str) -> bool:
    """Whether a word inside a sentence has only its first letter in capitals."""
    return word[:1].isupper() and word[1:2].islower() and not word.startswith(("I'", "I’"))


def is_complex(word: str, dictionary: Dictionary = Dictionary.USED) -> bool:
    """Whether a word of three syllables is hard in Gunning's sense.

    Not hard: initialisms, compounds of easy words (hyphenated or of two listed words), and
    words that reach three syllables by -ed, -es or -ing alone.
    """
    if is_initialism(word):
        return False
    count = syllable_counter(dictionary)
    parts = [part for part in word.split("-") if part]
    if len(parts) > 1:
        return any(count(part) >= MANY for part in parts)
    lower = plain(word)
    if _SYLLABIC_ENDING.search(lower):
        return count(lower) > MANY
    return not _joins_easy_words(lower)


def _joins_easy_words(lower: str) -> bool:
    listed = dale_list()
    return any(lower[:cut] in listed and lower[cut:] in listed for cut in range(3, len(lower) - 2))


def _numeral(word: str) -> int:
    aloud = spoken(word)
    strokes = sum(map(str.isalnum, word))
    return packed(
        words=1,
        syllables=1,
        polysyllables=int(aloud >= MANY),
        four_syllables=int(aloud > MANY),
        monosyllables=1,
        letters=sum(map(str.isalpha, word)),
        strokes=strokes,
    )


def _other_script(word: str) -> int:
    """A word English cannot count: it is one word, and the check of the language sees it."""
    letters = sum(map(str.isalpha, word))
    return packed(
        words=1,
        syllables=1,
        letters=letters,
        strokes=sum(map(str.isalnum, word)),
        long_words=int(letters > LONG),
        unfamiliar_1948=1,
        unfamiliar_1995=1,
        other_script=1,
    )


@cache
def one_symbol() -> int:
    """The counts of ``&``, ``%``, ``+`` or ``=`` alone: a word of one syllable."""
    return packed(words=1, syllables=1, monosyllables=1)

"""How many syllables an English word has: the tables first, the rules for what they lack.

A numeral has one (Flesch 1948); an initialism and a.m. one a letter, three for W; a
hyphenated word the sum of its parts; a contraction what its ending adds to its base.
Where several pronunciations stand, the fewest.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from functools import cache

from aftercare.score.dictionary import Dictionary, known, word_lists
from aftercare.score.rules import syllables_by_rule

LookUp = Callable[[str], int | None]
Syllables = Callable[[str], int]

_VOWELS = re.compile(r"[aeiouy]")
_HISSING = ("s", "x", "z", "ch", "sh", "ce", "ge", "se", "ze")
_LONGEST_INITIALISM = 4
_DOTTED = re.compile(r"[A-Za-z](?:\.[A-Za-z])+")  # a.m., e.g., U.K.


@cache
def syllable_counter(dictionary: Dictionary = Dictionary.USED) -> Syllables:
    """The function from one English word, as written, to its syllables, at least one."""
    look_up = known if dictionary is Dictionary.USED else _not_looked_up

    def count(word: str) -> int:
        return sum(_part(part, look_up) for part in word.split("-") if part) or 1

    return count


def plain(word: str) -> str:
    """Lower case, straight apostrophes, no accents."""
    lower = word.lower()
    if lower.isascii():
        return lower
    apart = unicodedata.normalize("NFKD", lower.replace("’", "'"))
    return "".join(letter for letter in apart if not unicodedata.combining(letter))


def is_initialism(word: str, look_up: LookUp = known) -> bool:
    """Whether capitals are read letter by letter: NHS, ENT, A&E, GPs; not EARS, not I."""
    capitals = word[:-1] if word[-1:] == "s" else word
    lower = capitals.lower()
    if len(lower) < 2 or not capitals.isupper():
        return False
    if lower in word_lists()["spelled"] or "&" in lower or not _VOWELS.search(lower):
        return True
    return look_up is known and len(lower) <= _LONGEST_INITIALISM and look_up(lower) is None


def _not_looked_up(word: str) -> int | None:
    return None


def _part(part: str, look_up: LookUp) -> int:
    if part[0].isdigit():
        return 1
    if _DOTTED.fullmatch(part):
        return _by_letter(part)
    if is_initialism(part, look_up):
        return _by_letter(part)
    return _whole(plain(part), look_up)


def _by_letter(part: str) -> int:
    """Letters read by their names, each one syllable but w; the s of a plural adds none."""
    return sum(3 if letter in "wW" else 1 for letter in part if letter not in "s.")


def _whole(lower: str, look_up: LookUp) -> int:
    count = look_up(lower)
    if count is not None:
        return count
    base, apostrophe, ending = lower.rpartition("'")
    if apostrophe and base:
        return _whole(base, look_up) + _added(base, ending)
    return syllables_by_rule(lower)


def _added(base: str, ending: str) -> int:
    """What the part after an apostrophe adds to the word before it."""
    if ending == "s":
        return int(base.endswith(_HISSING))
    if ending == "d":
        return int(base.endswith(("t", "d")))
    if ending == "t":  # didn't, wouldn't; not can't, don't, weren't
        return int(len(base) > 2 and base[-1] == "n" and base[-2] in "dst")
    return int(ending in ("ll", "ve", "re") and base[-1] not in "aeiouyw")

"""What a run of characters between blanks is: a word, several words, or no word at all.

Phone numbers, e-mail and web addresses, emoji and bare punctuation are no words: no published
rule was found for them, so they are left out and that is said here. A dash or a slash between
words parts them. Everything about a token follows from the token alone, so it is worked out
once and remembered as one packed number: its counts above, its marks in the lowest bits.
"""

from __future__ import annotations

import re
from functools import cache

from aftercare.score.dictionary import Dictionary, word_lists
from aftercare.score.words import is_name, one_symbol, word_tally

# Marks of a token, in the low bits of its packed number.
ENDS = 1  # a sentence ends here
MAY_END = 2  # it ends here if a new sentence begins after it: "a.m.", "etc."
UNLESS_NUMBER = 4  # it ends here unless a numeral follows: "No. 5"
UNLESS_SMALL = 8  # it ends here unless a small letter follows: "Why?" she asked
NUMBER = 16  # may be part of a phone number, or the number of a list item
SPLITS = 32  # a sentence ends inside it: "dry.Then"
MARKS = 63
NAME = 64  # capitalised: counted in another way at the start of a sentence

HOLE = "\ufffc"  # stands where a name, a number, an address or a link was
KEPT = 32_768  # tokens remembered, about 10 MB when full
LONGEST_KEPT = 40  # letters; what is longer comes once
LONGEST_WORD = 100  # characters; what is longer is no English word, and counts as one symbol
LONGEST_ADDRESS = 2000  # characters

_CLOSERS = "\"'”’»)]}*_`"
_PUNCTUATION = _CLOSERS + "“‘«([{¿¡.,;:!?…-‐‑–—~•·/\\|<>^#@°©®™\u00ad\u200b\ufeff"
_SYMBOLS = frozenset("&%+=")
_ADDRESS = re.compile(
    r"https?://\S+|www\.\S+|(?:mailto|tel):\S+|[^\s@]+@[^\s@]+\.\w+"
    r"|[a-z0-9-]+(?:\.[a-z0-9-]+)*\."
    r"(?:com|org|net|edu|gov|nhs|info|example|test|uk|ie|us|eu|wales|scot)(?:/\S*)?",
    re.IGNORECASE,
)
_HOLE = re.compile(HOLE + r"|\{[a-z_]+\}")  # or a slot that is still to be filled
_INNER_END = re.compile(r"(?<=[a-z][a-z])([.!?]+)(?=[A-Z][a-z])")
_DIALLED = re.compile(r"\+?\(?\d[\d().-]*")
_DAY = re.compile(r"\d{1,4}[.-]\d{1,2}[.-]\d{1,4}|\d+\.\d+")
_DOTTED = re.compile(r"(?:[A-Za-z]\.)+[A-Za-z]")
_PARTING = re.compile(r"[/—–…]|--+|\.\.+|[,;:!?()\[\]](?=[^\W\d])")
_NUMERAL = re.compile(r"[£$€+-]?\.?\d")


class TokenTable(dict[str, int]):
    """Token -> packed number, worked out when first met and kept up to a bound."""

    def __init__(self, dictionary: Dictionary) -> None:
        self.dictionary = dictionary

    def __missing__(self, token: str) -> int:
        packed = token_tally(token, self.dictionary)
        if len(token) <= LONGEST_KEPT:
            if len(self) >= KEPT:
                self.clear()
            self[token] = packed
        return packed


@cache
def token_table(dictionary: Dictionary) -> TokenTable:
    """The one table of each kind; what it remembers never changes an answer."""
    return TokenTable(dictionary)


def token_tally(token: str, dictionary: Dictionary) -> int:
    """The counts and marks of one token."""
    core = token.strip(_PUNCTUATION)
    end = _end(token, core)
    if not core or _HOLE.search(token) or _is_address(core):
        return end
    if len(core) > LONGEST_WORD:
        return end | one_symbol()
    if _DIALLED.fullmatch(core.lstrip("(")) and not _DAY.fullmatch(core):
        return end | NUMBER | word_tally(core, dictionary)
    if _INNER_END.search(core):
        return SPLITS
    if core in _SYMBOLS:
        return end | one_symbol()
    return end | (NAME if is_name(core) else 0) | _words(core, dictionary)


def parted(token: str) -> str:
    """A token that SPLITS, with a blank where its inner sentence ends."""
    return _INNER_END.sub(r"\1 ", token)


def is_word(token: str) -> bool:
    """Whether a token of any language has a letter or a digit and is no address and no hole."""
    core = token.strip(_PUNCTUATION)
    return any(map(str.isalnum, core)) and not _HOLE.search(token) and not _is_address(core)


def _is_address(core: str) -> bool:
    return len(core) <= LONGEST_ADDRESS and _ADDRESS.fullmatch(core) is not None


def _words(core: str, dictionary: Dictionary) -> int:
    pieces = [core] if _NUMERAL.match(core) else _PARTING.split(core)
    words = [piece for piece in pieces if any(map(str.isalnum, piece))]
    return sum(word_tally(word.strip(_PUNCTUATION), dictionary) for word in words)


def _end(token: str, core: str) -> int:
    """Whether a sentence ends with this token, as marks."""
    inside = token[token.rfind(core) + len(core) :] if core else token
    tail = inside.rstrip(_CLOSERS)
    if not tail or tail[-1] not in ".!?":
        return 0
    closed = UNLESS_SMALL if len(tail) < len(inside) else ENDS
    if "!" in tail or "?" in tail:
        return closed
    if ".." in tail or "…" in tail:
        return 0
    return _full_stop(core, closed)


def _full_stop(core: str, closed: int) -> int:
    lower = core.lower()
    lists = word_lists()
    if lower in lists["never-ends"] or (len(core) == 1 and core.isupper() and core != "I"):
        return 0
    if lower in lists["before-number"]:
        return UNLESS_NUMBER
    if lower in lists["may-end"] or _DOTTED.fullmatch(core):
        return MAY_END
    return closed

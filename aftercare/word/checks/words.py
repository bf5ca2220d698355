"""A text as sentences of words: letters folded, digits of every script as one, marks left out."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

Sentence = tuple[str, ...]
NUMBER = "#"  # what a token that is a figure begins with: #48, #0.5, #17:00
SLOT = "{"

# Vowel signs of Arabic script, the tatweel and invisible marks: the word is the same without.
_SILENT = re.compile("[\u00ad\u0640\u064b-\u065f\u0670\u200b-\u200f\u2060\u2066-\u2069\ufeff]")
# Letters that Arabic and Urdu keyboards write apart and readers take for one another.
_ALIKE = str.maketrans("أإآٱىيئكهةۂؤ", "اااایییکہہہو")
# Arabic "that not" has "not" in it; without its hamza it would be the word for "except".
_THAT_NOT = re.compile(r"(?<!\w)([وفب]?)ألا(?!\w)")
_QUARTERS = {"½": ".5", "¼": ".25", "¾": ".75"}
_FRACTION = re.compile(r"(\d*)\s?([½¼¾])")
# Marks that belong to letters in Latin, Devanagari, Bengali and Gurmukhi script (Unicode M).
_MARKS = (
    "\u0300-\u036f\u0900-\u0903\u093a-\u094f\u0981-\u0983\u09bc-\u09cd\u09d7\u09e2\u09e3"
    "\u0a01-\u0a03\u0a3c-\u0a51\u0a70\u0a71\u0a75"
)
_TOKEN = re.compile(
    r"(?P<slot>\{[^{}\s]*\})"
    r"|(?P<clock>\d{1,2}(?::|\s?h\s?)\d\d(?!\d))"
    r"|(?P<number>\d+(?:[.,٫]\d+)?)"
    "|(?P<char>[\u3400-\u9fff])"
    rf"|(?P<word>(?:[^\W\d_\u3400-\u9fff]|[{_MARKS}])+)"
    r"|(?P<end>[!?؟।॥。！？\n۔]|[.…](?=[\s*\"')»”]|$))"
    r"|(?P<pause>[,;:،؛，；：、()（）–—])"
)


def fold(text: str) -> str:
    """The text with letter case, invisible marks and the digits' script taken out."""
    plain = _SILENT.sub("", unicodedata.normalize("NFC", text)).casefold()
    plain = _THAT_NOT.sub(r"\1ان لا", plain).translate(_ALIKE)
    if plain.isascii():
        return plain
    plain = _FRACTION.sub(lambda one: f"{one[1] or 0}{_QUARTERS[one[2]]} ", plain)
    return "".join(str(unicodedata.digit(c)) if c.isdecimal() else c for c in plain)


@lru_cache(maxsize=4096)
def sentences(text: str) -> tuple[Sentence, ...]:
    """The sentences of a text; a slot and a figure are one token each."""
    return tuple(tuple(word for part in parts for word in part) for parts in clauses(text))


@lru_cache(maxsize=4096)
def clauses(text: str) -> tuple[tuple[Sentence, ...], ...]:
    """The sentences of a text, each as what stands between its commas, colons and brackets."""
    found: list[list[list[str]]] = [[[]]]
    for one in _TOKEN.finditer(fold(text)):
        if one.lastgroup == "end":
            found.append([[]])
        elif one.lastgroup == "pause":
            found[-1].append([])
        else:
            found[-1][-1].append(_token(one))
    parted = (tuple(tuple(part) for part in parts if part) for parts in found)
    return tuple(parts for parts in parted if parts)


def _token(one: re.Match[str]) -> str:
    if one.lastgroup == "clock":
        return NUMBER + re.sub(r"\s?h\s?", ":", one[0])
    if one.lastgroup == "number":
        return NUMBER + re.sub("[,٫]", ".", one[0])
    return one[0]


def written(text: str) -> Sentence:
    """Words as a language file lists them, folded like a text; a star stays on its word.

    A star by itself is any one word.
    """
    found: list[str] = []
    for piece in text.split():
        inside = [token for one in sentences(piece.strip("*")) for token in one] or [""]
        if piece.startswith("*") and len(piece) > 1:
            inside[0] = f"*{inside[0]}"
        if piece.endswith("*"):
            inside[-1] = f"{inside[-1]}*"
        found += inside
    return tuple(found)

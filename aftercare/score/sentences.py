"""English sentences of one paragraph or list item, each as one packed number.

One pass: split at blanks, look every token up, then look again only at the few tokens that
carry a mark. Abbreviations, decimals, times, initials, ellipses, phone numbers and addresses
neither end nor split a sentence; the end of the paragraph always ends one.
"""

from __future__ import annotations

import re

from aftercare.score.dictionary import word_lists
from aftercare.score.tally import MASK, ONE_SENTENCE, ONE_STEM, WORDS
from aftercare.score.tokens import (
    ENDS,
    MARKS,
    MAY_END,
    NAME,
    NUMBER,
    SPLITS,
    UNLESS_NUMBER,
    UNLESS_SMALL,
    TokenTable,
    parted,
)

_LIST_NUMBER = re.compile(r"\(?\d{1,3}[.)]")
_OPENERS = "\"'“‘«([{*_`¿¡"
_LEAST_DIGITS, _MOST_DIGITS = 7, 15  # of a phone number; 15 is the most E.164 allows
_SURELY_DIALLED = 9  # more digits than this are no figure of a leaflet, whatever they begin with


def sentence_tallies(line: str, table: TokenTable) -> list[int]:
    """The packed counts of each sentence that has a word, in order."""
    tokens, packed, cuts = _read(line, table)
    sentences = [
        _sum(tokens, packed, start, end, table)
        for start, end in zip([0, *cuts], cuts, strict=False)
    ]
    found = [one + ONE_SENTENCE for one in sentences if one >> WORDS & MASK]
    if found and line.rstrip().endswith(":"):
        found[-1] += ONE_STEM
    return found


def sentence_texts(line: str, table: TokenTable) -> list[list[str]]:
    """The tokens of each sentence that has a word, in the order of ``sentence_tallies``."""
    tokens, packed, cuts = _read(line, table)
    return [
        tokens[start:end]
        for start, end in zip([0, *cuts], cuts, strict=False)
        if any(one >> WORDS & MASK for one in packed[start:end])
    ]


def _read(line: str, table: TokenTable) -> tuple[list[str], list[int], list[int]]:
    """The tokens, their packed numbers, and where each sentence ends."""
    tokens = line.split()
    packed = list(map(table.__getitem__, tokens))
    marked = [place for place, one in enumerate(packed) if one & MARKS]
    if any(packed[place] & (NUMBER | SPLITS) for place in marked):
        tokens, packed = _looked_at_again(tokens, packed, table)
        marked = [place for place, one in enumerate(packed) if one & MARKS & ~NUMBER]
    return tokens, packed, _cuts(tokens, packed, marked)


def _looked_at_again(
    tokens: list[str], packed: list[int], table: TokenTable
) -> tuple[list[str], list[int]]:
    """The slower way for lines with figures or a missing blank after a full stop."""
    if any(one & SPLITS for one in packed):
        tokens = " ".join(map(parted, tokens)).split()
        packed = [table[token] & ~SPLITS for token in tokens]
    if _LIST_NUMBER.fullmatch(tokens[0]) and len(tokens) > 1:
        packed[0] = 0
    for start, end in _phone_numbers(tokens, packed):
        packed[start:end] = [one & MARKS for one in packed[start:end]]
    return tokens, packed


def _phone_numbers(tokens: list[str], packed: list[int]) -> list[tuple[int, int]]:
    """Runs of figures that are dialled, as (first token, one past the last)."""
    found = []
    start = 0
    while start < len(tokens):
        end = start
        while end < len(tokens) and packed[end] & NUMBER:
            end += 1
            if packed[end - 1] & ENDS:
                break
        if _is_dialled(tokens[start:end]):
            found.append((start, end))
        start = max(end, start + 1)
    return found


def _is_dialled(run: list[str]) -> bool:
    digits = sum(map(str.isdigit, "".join(run)))
    if not _LEAST_DIGITS <= digits <= _MOST_DIGITS:
        return False
    opening = run[0].lstrip(_OPENERS)
    # "07 08 2026" is a day; no dialling code has two digits
    return digits > _SURELY_DIALLED or (opening[0] in "0+" and len(opening) > 2)


def _cuts(tokens: list[str], packed: list[int], marked: list[int]) -> list[int]:
    """One past the last token of each sentence."""
    last = len(tokens) - 1
    cuts = [
        place + 1
        for place in marked
        if packed[place] & ENDS or (place < last and _begins(tokens[place + 1], packed[place]))
    ]
    if tokens and (not cuts or cuts[-1] <= last):
        cuts.append(last + 1)
    return cuts


def _begins(following: str, mark: int) -> bool:
    """Whether the next token can begin a sentence after this mark."""
    word = following.lstrip(_OPENERS)
    if mark & MAY_END:
        return word[:1].isupper() and word.strip(".,;:!?").lower() not in word_lists()["calendar"]
    if mark & UNLESS_NUMBER:
        return not word[:1].isdigit()
    return bool(mark & UNLESS_SMALL) and not word[:1].islower()


def _sum(tokens: list[str], packed: list[int], start: int, end: int, table: TokenTable) -> int:
    """The counts of one sentence; a capital at its start does not make a word a name."""
    total = sum(packed[start:end])
    first = packed[start]
    if first & NAME:
        total += table[tokens[start].lower()] - first
    return total >> WORDS << WORDS

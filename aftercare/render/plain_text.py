"""Safe replacement before an SMS is counted: the same words in characters GSM-7 can spell.

One curly apostrophe makes a text of one part into a text of three, so marks that have a plain
twin are replaced. What a patient would read must not change, so:

* A mark is replaced only where the plain one reads the same. A dash that could be a minus, a
  bullet that would become one, dots that would become a decimal point, and a fraction that
  would run into a number are left alone.
* No letter is replaced, in any script, and no accent is taken off: that is another word or
  another person. ``≈``, ``≤``, ``°`` and the rest have no safe twin and are left alone.
* Words stand in for a sign only in a language they are known in (`WORDS`).
* When a text needs UCS-2 whatever is replaced, nothing is gained, so its marks stay as they
  were approved: in a right-to-left text a hyphen for a dash would turn "9–5" round (the two
  are ES and ON in Unicode Standard Annex 9). Only invisible characters are dropped.

The joiners U+200C and U+200D are never dropped: several scripts need them.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from aftercare.render import gsm

Replaced = tuple[str, str, int]

MARKS: Mapping[str, str] = MappingProxyType(
    dict.fromkeys("‘’‚′ʼ", "'")
    | dict.fromkeys("“”„″«»", '"')
    | dict.fromkeys("‐‑‒–—−•", "-")
    | dict.fromkeys("\u00a0\u202f\u2009", " ")
    | {"…": "..."}
)

FRACTIONS: Mapping[str, str] = MappingProxyType(
    {"¼": "1/4", "½": "1/2", "¾": "3/4", "⅓": "1/3", "⅔": "2/3", "⅕": "1/5", "⅖": "2/5"}
    | {"⅗": "3/5", "⅘": "4/5", "⅙": "1/6", "⅚": "5/6"}
    | {"⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
)

# Micrograms are written out so that they are never read as milligrams; the second key is
# spelt with the Greek letter instead of the micro sign.
WORDS: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {"en": {"≥": "at least", "µg": "micrograms", "μg": "micrograms"}}
)

# Zero width space, byte order mark, soft hyphen: they show nothing.
INVISIBLE = "\u200b\ufeff\u00ad"

_VULGAR = "".join(FRACTIONS)
_NUMBER = rf"[.,£$¥€]?[\d{_VULGAR}]"
_OPENING = "([{\"'“‘„«/‐‑‒–—-"
_TYPOGRAPHY = (
    # Read the same wherever they stand; U+2212 is a minus before and after.
    r"[‘’′ʼ“”„″«»−\u00a0\u202f\u2009]",
    # The last of three full stops would be a decimal point.
    r"…(?!\d)",
    # A low quotation mark between digits is a decimal comma mistyped.
    r"(?<!\d)‚|‚(?!\d)",
    # Joins two things, or opens no number: cannot be taken for a minus.
    rf"(?<=[\w%°′″)\]])[‐‑‒–—]|[‐‑‒–—](?!{_NUMBER})",
    rf"•(?!{_NUMBER})",
    rf"(?:^|(?<=[\s0-9(\[\"'“‘]))[{_VULGAR}](?![\d{_VULGAR}/⁄])",
)
_SIGNS = (
    r"(?<!\d)(?<!\d\s)≥(?=\s?[0-9])",
    rf"(?<![^\W\d_{_VULGAR}])[µμ]g(?!\w)",
)
_MARKED = re.compile("|".join(_TYPOGRAPHY))
_MARKED_OR_SIGNED = re.compile("|".join(_TYPOGRAPHY + _SIGNS))
# Looking around is slow, so it is done only where one of the characters stands.
_CANDIDATES = re.compile(f"[{''.join(MARKS)}{_VULGAR}≥µμ]")
_HIDDEN = re.compile(f"[{INVISIBLE}]")


@dataclass(frozen=True, slots=True)
class Safe:
    """A text ready to be counted, and what was done to it.

    ``replaced`` holds (characters, replacement, position in the composed form of the text
    given); ``offenders`` holds (character, position in ``text``) for each character that
    forces UCS-2 and has no safe replacement. Positions are code points from 0.
    """

    text: str
    replaced: tuple[Replaced, ...] = ()
    offenders: tuple[tuple[str, int], ...] = ()


def make_safe(text: str, *, language: str = "en") -> Safe:
    """Compose the text (NFC) and put plain marks for typographic ones where that is safe.

    If the text can travel in GSM-7, ``offenders`` is empty; if not, only invisible characters
    are dropped. Making a safe text safe changes nothing. Unicode Standard Annex 15 for NFC.
    """
    if gsm.is_gsm7(text):
        return Safe(text)
    composed = unicodedata.normalize("NFC", text)
    visible, kept = _without_invisible(composed)
    gone = sorted(set(range(len(composed))).difference(kept))
    dropped = tuple((composed[at], "", at) for at in gone)
    marks = tuple(_plain_marks(visible, language))
    plain = _put(visible, marks)
    if not gsm.is_gsm7(plain):
        return Safe(visible, dropped, _stubborn(visible, marks))
    moved = tuple((char, words, kept[at]) for char, words, at in marks)
    return Safe(plain, tuple(sorted(dropped + moved, key=lambda change: change[2])))


def safe_text(text: str, *, language: str = "en") -> str:
    """The text of `make_safe` alone, some times as fast: nothing is said of what was done."""
    if gsm.is_gsm7(text):
        return text
    visible, _ = _without_invisible(unicodedata.normalize("NFC", text))
    plain = _put(visible, tuple(_plain_marks(visible, language)))
    return plain if gsm.is_gsm7(plain) else visible


def _without_invisible(composed: str) -> tuple[str, Sequence[int]]:
    """The text a reader sees, and where each of its characters stood."""
    everywhere = range(len(composed))
    visible = _HIDDEN.sub("", composed)
    # Two characters that would fuse were kept apart on purpose: then everything stays.
    if len(visible) == len(composed) or not unicodedata.is_normalized("NFC", visible):
        return composed, everywhere
    return visible, [at for at in everywhere if composed[at] not in INVISIBLE]


def _plain_marks(text: str, language: str) -> Iterator[Replaced]:
    words = WORDS.get(re.split("[-_]", language)[0], {})
    safe_here = _MARKED_OR_SIGNED if words else _MARKED
    for candidate in _CANDIDATES.finditer(text):
        if found := safe_here.match(text, candidate.start()):
            yield found[0], _plain(found, words), found.start()


def _plain(found: re.Match[str], words: Mapping[str, str]) -> str:
    char, start, end = found[0], found.start(), found.end()
    before, after = found.string[max(start - 1, 0) : start], found.string[end : end + 1]
    if char in MARKS:
        return MARKS[char]
    if char in FRACTIONS:
        return f" {FRACTIONS[char]}" if before.isdigit() else FRACTIONS[char]
    opens = not before or before.isspace() or before in _OPENING
    return ("" if opens else " ") + words[char] + (" " if after.isdigit() else "")


def _put(text: str, marks: Sequence[Replaced]) -> str:
    pieces, done = [], 0
    for char, words, at in marks:
        pieces += [text[done:at], words]
        done = at + len(char)
    return "".join([*pieces, text[done:]])


def _stubborn(text: str, marks: Sequence[Replaced]) -> tuple[tuple[str, int], ...]:
    """What would still force UCS-2 if every mark were replaced."""
    easy = {at for _, _, at in marks}
    return tuple((char, at) for char, at in gsm.offenders(text) if at not in easy)

"""The sentences of a paragraph in a language other than English, each as Counts.

A word is what stands between blanks and has a letter or a digit. Chinese puts no blanks
between words: there every character counts as one, so its sentence lengths are in characters.
Phone numbers, e-mail and web addresses are no words, and end no sentence inside.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from aftercare.model import Counts
from aftercare.score.languages.punctuation import (
    ALWAYS_END,
    Abbreviations,
    abbreviations,
    sentence_enders,
)

LONG = 6  # letters; long words have more (Björnsson 1968; Bamberger & Vanecek 1984)
KEPT = 32_768  # words remembered
LONGEST_KEPT = 40  # letters; what is longer comes once
HOLE = "\ufffc"  # stands where a name, a number, an address or a link was

_CLOSERS = "\"'”’»“)]}*_›」』"
_OPENERS = "\"'“‘«„‚([{*_¿¡‹「『"
_EDGES = _CLOSERS + _OPENERS + ".,;:!?…-‐‑–—~•·/\\|<>^#،؛。！？；，、：؟۔।॥\u200b\ufeff"
_HAN = re.compile("([\u3400-\u4dbf\u4e00-\u9fff\uf900-\ufaff\U00020000-\U0003ffff])")
_GLUED_END = re.compile(f"([{ALWAYS_END}][{re.escape(_CLOSERS)}]*)")
_DIALLED = re.compile(r"(?<![\w.,/+])\+?\(?\d[\d ().-]{5,22}\d(?!\w)")
_DAY = re.compile(r"(?<!\d)\d{1,4}[./-]\d{1,2}[./-]\d{2,4}(?!\d)")
_ADDRESS = re.compile(
    r"(?:[Hh]ttps?://|www\.|mailto:)\S+|[^\s@]+@[^\s@]+|[a-z0-9-]{2,}(?:\.[a-z0-9-]+)*\."
    r"(?:com|org|net|info|edu|gov|example|test|eu|uk|ie|wales|es|it|fr|de|at|ch|nl|be|pl|pt|br|ru"
    r"|tr|mx|ro|pk|bd|cn)(?:/\S*)?"
)
_DOTTED = re.compile(r"(?:[^\W\d_]\.)+[^\W\d_]{1,3}")  # z.B, p.ej
_LIST_NUMBER = re.compile(r"\(?\d{1,3}[.)]")
_PARTING = re.compile(r"[/—–…]|\.\.+")
_LONGEST_ADDRESS = 2000  # characters
_LEAST_DIGITS, _MOST_DIGITS = 7, 15  # of a phone number; 15 is the most E.164 allows
_Row = tuple[int, int, int, int, int, int, int]


class _Words(dict[str, _Row]):
    """Word -> its counts, worked out when first met and kept up to a bound."""

    def __init__(self, syllables: Callable[[str], int] | None) -> None:
        self.syllables = syllables

    def __missing__(self, word: str) -> _Row:
        row = self._row(word)
        if len(word) <= LONGEST_KEPT:
            if len(self) >= KEPT:
                self.clear()
            self[word] = row
        return row

    def _row(self, word: str) -> _Row:
        letters = sum(map(str.isalpha, word))
        count = self.syllables(word) if self.syllables else 0
        return (
            count,
            int(count >= 3),
            int(count == 1),
            int(count >= 4),
            letters,
            sum(map(str.isalnum, word)),
            int(letters > LONG),
        )


@dataclass(frozen=True, slots=True)
class SentenceCounter:
    """Counts the sentences of a line by the rules of one language."""

    language: str
    syllables: Callable[[str], int] | None
    enders: str
    short_forms: Abbreviations
    words: _Words = field(repr=False, compare=False)

    def __call__(self, line: str) -> tuple[Counts, ...]:
        """The counts of each sentence that has a word, in order."""
        stem = line.rstrip().endswith((":", "："))
        sentences = list(self._sentences(line))
        last = len(sentences) - 1
        return tuple(
            self._counts(words, stems=int(stem and place == last))
            for place, words in enumerate(sentences)
        )

    def _sentences(self, line: str) -> Iterator[list[str]]:
        tokens = self._tokens(line)
        words: list[str] = []
        for place, token in enumerate(tokens):
            core = token.strip(_EDGES)
            words += _words(core)
            following = tokens[place + 1] if place + 1 < len(tokens) else ""
            if words and self._ends(token, core, following):
                yield words
                words = []
        if words:
            yield words

    def _tokens(self, line: str) -> list[str]:
        tokens = _GLUED_END.sub(r"\1 ", _DIALLED.sub(_without_number, line))
        if self.language == "zh":
            tokens = _HAN.sub(r" \1 ", tokens)
        found = tokens.split()
        if len(found) > 1 and _LIST_NUMBER.fullmatch(found[0]):
            return found[1:]
        return found

    def _ends(self, token: str, core: str, following: str) -> bool:
        tail = token[token.rfind(core) + len(core) :] if core else token
        mark = tail.rstrip(_CLOSERS)[-1:]
        if not mark or mark not in self.enders:
            return False
        begins = following.lstrip(_OPENERS)[:1]
        if mark in ALWAYS_END:
            return True
        if begins.islower():
            return False
        if mark == "…" or ".." in tail:
            return begins.isupper()
        return mark != "." or self._full_stop(core, begins)

    def _full_stop(self, core: str, begins: str) -> bool:
        """Whether a full stop after this word ends a sentence; no small letter follows."""
        lower = core.lower()
        if lower in self.short_forms.may_end:
            return begins.isupper()
        if lower in self.short_forms.never_end:
            return False
        if _DOTTED.fullmatch(core):
            return self.language != "de" and begins.isupper()  # German nouns have capitals
        if len(core) == 1 and (core.isupper() or core.islower()):
            return False
        return not (self.language == "de" and core.isdigit() and len(core) <= 2)  # am 3. Mai

    def _counts(self, words: list[str], *, stems: int) -> Counts:
        columns = zip(*map(self.words.__getitem__, words), strict=True)
        syllables, poly, mono, four, letters, strokes, long = map(sum, columns)
        told = self.syllables is not None
        return Counts(
            words=len(words),
            sentences=1,
            syllables=syllables if told else None,
            polysyllables=poly if told else None,
            longest_sentence=len(words),
            monosyllables=mono if told else None,
            four_syllables=four if told else None,
            letters=letters,
            strokes=strokes,
            long_words=long,
            complex_words=None,
            unfamiliar_1948=None,
            unfamiliar_1995=None,
            stems=stems,
        )


def sentence_counter(
    language: str, syllables: Callable[[str], int] | None = None
) -> SentenceCounter:
    """The counter of one language by its ISO 639 code; without syllables those are None."""
    return SentenceCounter(
        language=language,
        syllables=syllables,
        enders=sentence_enders(language),
        short_forms=abbreviations(language),
        words=_Words(syllables),
    )


def _without_number(found: re.Match[str]) -> str:
    """A hole where a phone number was: seven to fifteen digits, from 0 or + or above nine."""
    run = found.group()
    digits = sum(map(str.isdigit, run))
    if not _LEAST_DIGITS <= digits <= _MOST_DIGITS or _DAY.search(run):
        return run
    return HOLE if run.lstrip("(")[0] in "0+" or digits > 9 else run


def _words(core: str) -> list[str]:
    """The words of a token without its outer punctuation: one as a rule, none for an address."""
    if not core or HOLE in core:
        return []
    if core.isalpha():
        return [core]
    if len(core) <= _LONGEST_ADDRESS and _ADDRESS.fullmatch(core):
        return []
    pieces = [core] if core[0].isdigit() else _PARTING.split(core)
    return [piece for piece in pieces if any(map(str.isalnum, piece))]

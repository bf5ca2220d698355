"""Whether a sentence says something, by the patterns of ``shared/rules.toml``."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache

from aftercare.model import SLOTS, Phrase, Role, RuleBook, Saying, Span

# Arabic vowel signs, the tatweel and invisible marks: "ear" is the same word with or without.
_SILENT = re.compile("[\u00ad\u0640\u064b-\u065f\u0670\u200b-\u200f\u2060\u2066-\u2069\ufeff]")
_ASCII_WORD = re.compile(r"\w+")
# Chinese puts no blanks between words: each of its characters is looked for as a word.
_HAN = re.compile("([\u3400-\u4dbf\u4e00-\u9fff\uf900-\ufaff\U00020000-\U0003ffff])")
# A danda and the full-width marks of Chinese end a sentence whatever follows.
_END = re.compile(r"[.!?:;۔؟؛](?=\s|$)|[।॥。！？：；\n]")
# A phone number and any other filled slot: what a patient is called is not advice.
PHONE, FILLED = "\ue000", "\ue001"
_MARKS = PHONE + FILLED


def words(text: str) -> list[str]:
    """The words of a text, however they were typed; a letter keeps its accents and vowel signs.

    A Chinese character is a word of its own.
    """
    if text.isascii():
        return _ASCII_WORD.findall(text.casefold())
    plain = unicodedata.normalize("NFC", _SILENT.sub("", text)).casefold()
    apart = (c if unicodedata.category(c)[0] in "LMN" or c in _MARKS else " " for c in plain)
    return _HAN.sub(r" \1 ", "".join(apart)).split()


def text_of(spans: Iterable[Span]) -> str:
    """The words somebody wrote, with a mark in place of everything that was filled in."""
    return "".join(map(_written, spans))


def _written(span: Span) -> str:
    if span.role is Role.WORDS:
        return span.text
    return PHONE if span.role is Role.PHONE else FILLED


def text_of_source(phrase: Phrase) -> str:
    """The same of words that are not filled in yet."""
    spans = (Span(one.text, SLOTS[one.text] if one.slot else Role.WORDS) for one in phrase.pieces)
    return text_of(spans)


@lru_cache(maxsize=16384)
def sentences(text: str) -> tuple[str, ...]:
    """Each sentence as its words with a space before, between and after them."""
    parted = (words(part) for part in _END.split(text))
    return tuple(f" {' '.join(found)} " for found in parted if found)


@dataclass(frozen=True, slots=True, eq=False)
class _Phrase:
    """Words in a row; ``tokens`` is set when one before the last is a beginning only."""

    absent: bool
    needle: str
    tokens: tuple[str, ...] = ()

    def fits(self, sentence: str) -> bool:
        found = self._scan(sentence.split()) if self.tokens else self.needle in sentence
        return found is not self.absent

    def _scan(self, said: list[str]) -> bool:
        size = len(self.tokens)
        return any(
            all(map(_begins, said[at : at + size], self.tokens))
            for at in range(len(said) - size + 1)
        )


def _begins(word: str, token: str) -> bool:
    return word.startswith(token[:-1]) if token.endswith("*") else word == token


@dataclass(frozen=True, slots=True, eq=False)
class Known:
    """A saying made ready: any pattern of ``said``, none of ``unless``."""

    said: tuple[tuple[_Phrase, ...], ...]
    unless: tuple[tuple[_Phrase, ...], ...]


@lru_cache(maxsize=131072)
def says(sentence: str, known: Known) -> bool:
    """Whether the sentence says it."""
    return _any(sentence, known.said) and not _any(sentence, known.unless)


def _any(sentence: str, patterns: tuple[tuple[_Phrase, ...], ...]) -> bool:
    return any(all(phrase.fits(sentence) for phrase in pattern) for pattern in patterns)


@lru_cache(maxsize=32)
def vocabulary(book: RuleBook, language: str) -> dict[str, Known]:
    """What can be looked for in this language; a variety such as ``pt_BR`` may use ``pt``."""
    listed = book.words.get(language) or book.words.get(language.partition("_")[0], {})
    return {name: _known(saying) for name, saying in listed.items()}


def _known(saying: Saying) -> Known:
    return Known(tuple(map(_pattern, saying.said)), tuple(map(_pattern, saying.unless)))


def _pattern(written: str) -> tuple[_Phrase, ...]:
    return tuple(_phrases(written))


def _phrases(written: str) -> Iterator[_Phrase]:
    for part in written.split("&"):
        absent = part.strip().startswith("!")
        tokens = _tokens(part.replace("!", " "))
        joined = " ".join(tokens)
        if any(token.endswith("*") for token in tokens[:-1]):
            yield _Phrase(absent, joined, tuple(tokens))
        elif joined.endswith("*"):
            yield _Phrase(absent, f" {joined[:-1]}")
        else:
            yield _Phrase(absent, f" {joined} ")


def _tokens(part: str) -> list[str]:
    """The words of a pattern as ``words`` would find them in a text, stars kept."""
    found: list[str] = []
    for piece in part.split():
        found += words(piece.rstrip("*"))
        if piece.endswith("*"):
            found[-1] += "*"
    return found

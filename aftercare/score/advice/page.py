"""A text as the rules of advice read it: sentences of words, each with its place."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from aftercare.score.advice.kinds import SOURCES, Advice, Kind
from aftercare.score.advice.place import Placed, Shape, Stretch, placed
from aftercare.score.dictionary import Dictionary
from aftercare.score.sentences import sentence_tallies, sentence_texts
from aftercare.score.tally import MASK, SHIFT
from aftercare.score.tokens import token_table

# A slot, a number, or letters and figures joined by hyphens and apostrophes.
_WORD = re.compile(r"\{[a-z_]+\}|\d+(?:[.,:]\d+)*(?:[^\W_]*)|[^\W_]+(?:[-'’][^\W_]+)*")
_BLANKS = re.compile(r"\s+")


class Word(NamedTuple):
    """One word in lower case, with its place in the words of its stretch."""

    text: str
    start: int
    end: int


@dataclass(frozen=True, eq=False)
class Sentence:
    """One sentence; ``start`` and ``end`` are its place in the words of its stretch."""

    stretch: Stretch
    start: int
    end: int
    tally: int

    @cached_property
    def words(self) -> tuple[Word, ...]:
        """Its words, slots and figures among them."""
        found = _WORD.finditer(self.stretch.words, self.start, self.end)
        return tuple(
            Word(one[0].lower().replace("’", "'"), one.start(), one.end()) for one in found
        )

    @cached_property
    def text(self) -> str:
        """Its words as written, without marks."""
        return one_line(self.stretch.words[self.start : self.end])

    def word(self, place: int) -> str:
        """The word at a place, or nothing beyond either end."""
        return self.words[place].text if 0 <= place < len(self.words) else ""

    def gap(self, place: int) -> str:
        """What stands between the word at a place and the next one, or the end."""
        after = self.words[place + 1].start if place + 1 < len(self.words) else self.end
        return self.stretch.words[self.words[place].end : after]

    def said(self, first: int, last: int) -> str:
        """The words from one place to another, both included, as written."""
        return one_line(self.stretch.words[self.words[first].start : self.words[last].end])

    @property
    def source_start(self) -> int:
        """Where in the source it begins."""
        return self.stretch.source_start(self.start)

    @property
    def source_end(self) -> int:
        """Where in the source it ends."""
        return self.stretch.source_end(self.end)

    def count(self, field: str) -> int:
        """One of the counts of ``tally.FIELDS``."""
        return self.tally >> SHIFT[field] & MASK


class Found(NamedTuple):
    """What a rule found in a sentence: from word ``first`` to word ``last``, both included."""

    kind: Kind
    first: int
    last: int
    reason: str
    help: str


@dataclass(frozen=True)
class Page:
    """A text that has been read once for every rule."""

    text: str
    placed: Placed
    sentences: tuple[Sentence, ...]

    @cached_property
    def word_count(self) -> int:
        """Words as the scores count them."""
        return sum(sentence.count("words") for sentence in self.sentences)

    @cached_property
    def starts(self) -> tuple[int, ...]:
        """Where in the source each sentence begins."""
        return tuple(sentence.source_start for sentence in self.sentences)

    def sentence_at(self, offset: int) -> int:
        """The number, from 0, of the sentence at an offset of the source."""
        return max(0, bisect_right(self.starts, offset) - 1)

    def advice(self, found: Found, sentence: Sentence) -> Advice:
        """What was found, with its place in the source."""
        stretch = sentence.stretch
        start = stretch.source_start(sentence.words[found.first].start)
        end = stretch.source_end(sentence.words[found.last].end)
        return Advice(
            kind=found.kind,
            line=self.placed.line_of(start),
            start=start,
            end=end,
            words=self.text[start:end],
            reason=found.reason,
            help=found.help,
            source=SOURCES[found.kind],
        )


def read(text: str) -> Page:
    """The sentences of an English Markdown or plain text; headings are none."""
    page = placed(text)
    sentences = tuple(
        sentence
        for stretch in page.stretches
        if stretch.shape is not Shape.HEADING
        for sentence in _sentences(stretch)
    )
    return Page(text, page, sentences)


def one_line(text: str) -> str:
    """The same words with single blanks between them."""
    return _BLANKS.sub(" ", text).strip()


def _sentences(stretch: Stretch) -> Iterator[Sentence]:
    table = token_table(Dictionary.USED)
    tallies = sentence_tallies(stretch.words, table)
    reached = 0
    for tokens, tally in zip(sentence_texts(stretch.words, table), tallies, strict=True):
        start = stretch.words.find(tokens[0], reached)
        reached = start
        for token in tokens:
            reached = stretch.words.find(token, reached) + len(token)
        yield Sentence(stretch, start, reached, tally)

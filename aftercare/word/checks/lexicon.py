"""Words and phrases of a language with what each means, looked for longest first."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from typing import Generic, NamedTuple, TypeVar

from aftercare.word.checks.words import Sentence, written

V = TypeVar("V")


class Found(NamedTuple, Generic[V]):
    """A phrase of a lexicon at the words ``start`` to ``end`` of a sentence."""

    start: int
    end: int
    value: V


class Lexicon(Generic[V]):
    """Finds phrases in sentences; ``word*`` is any word that begins so, ``*word`` ends so.

    ``clitics`` are letters that may be written before a word as part of it.
    """

    def __init__(self, entries: Iterable[tuple[str, V]], clitics: Sequence[str] = ()) -> None:
        self._clitics = tuple(clitics)
        self._phrases: dict[str, list[tuple[Sentence, V]]] = {}
        for phrase, value in entries:
            tokens = written(phrase)
            self._phrases.setdefault(tokens[0], []).append((tokens, value))
        for listed in self._phrases.values():
            listed.sort(key=lambda one: -len(one[0]))
        # No word is looked up by more of its letters than the longest stem has.
        self._stem = max((len(key) - 1 for key in self._phrases if key.endswith("*")), default=0)
        self._tail = max((len(key) - 1 for key in self._phrases if key.startswith("*")), default=0)

        # A sentence is asked about by several checks, and an English one in every language.
        self._remembered = lru_cache(maxsize=2048)(lambda words: tuple(self._find(words)))

    def find(self, words: Sentence) -> tuple[Found[V], ...]:
        """The phrases of a sentence from left to right; none overlaps another."""
        return self._remembered(words)

    def __bool__(self) -> bool:
        return bool(self._phrases)

    def _find(self, words: Sentence) -> Iterator[Found[V]]:
        at = 0
        while at < len(words):
            found = self._at(words, at)
            if found is None:
                at += 1
            else:
                yield found
                at = found.end

    def values(self, sentences: Iterable[Sentence]) -> list[V]:
        """What the phrases of some sentences mean, in order."""
        return [found.value for one in sentences for found in self.find(one)]

    def _at(self, words: Sentence, at: int) -> Found[V] | None:
        best: Found[V] | None = None
        for key in self._keys(words[at]):
            for tokens, value in self._phrases.get(key, ()):
                end = at + len(tokens)
                if best is not None and end <= best.end:
                    break
                if end <= len(words) and all(map(_fits, words[at + 1 : end], tokens[1:])):
                    best = Found(at, end, value)
                    break
        return best

    def _keys(self, word: str) -> Iterator[str]:
        """What a phrase that holds this word may begin with, the surest first."""
        forms = [word, *self._stripped(word)]
        yield from forms
        for form in forms:
            for length in range(min(len(form), self._stem), 0, -1):
                yield f"{form[:length]}*"
        for start in range(max(0, len(word) - self._tail), len(word)):
            yield f"*{word[start:]}"

    def _stripped(self, word: str) -> Iterator[str]:
        for clitic in self._clitics:
            if word.startswith(clitic) and len(word) > len(clitic) + 1:
                yield word[len(clitic) :]


def _fits(word: str, token: str) -> bool:
    if token.endswith("*"):
        return word.startswith(token[:-1])
    return word.endswith(token[1:]) if token.startswith("*") else word == token

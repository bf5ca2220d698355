"""How a text of a language is read: the way to its sentences, and its formulas.

English is read here; every other language lives in ``languages/``; a language nobody has
taught us is read for its words and sentence lengths alone.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, partial

from aftercare.errors import BadInput
from aftercare.model import Counts
from aftercare.score.dictionary import Dictionary
from aftercare.score.english import ENGLISH_FORMULAS
from aftercare.score.formula import Formula, Language
from aftercare.score.sentences import sentence_tallies
from aftercare.score.tally import FIELDS, ONE_STEM, pack
from aftercare.score.tokens import is_word, token_table
from aftercare.score.words import LONG

_TAG = re.compile(r"[A-Za-z]{2,3}(?:[-_][A-Za-z0-9]{2,8})*")
_END = re.compile(r"(?<![.!?…؟।॥۔])[.!?…؟।॥۔]+(?=[\s\"'”’»)]|$)|[。！？।॥]")
_DIALLED = re.compile(r"(?<!\w)[+(]{0,2}\d[\d() .-]{5,20}\d(?!\w)")
_PLAIN_COUNTS = frozenset({"words", "sentences", "letters", "strokes", "long_words", "stems"})


@dataclass(frozen=True, slots=True)
class Reading:
    """One language's way from a paragraph to packed sentences.

    ``formulas`` are its own by name, and None for those that were made for English only.
    ``uncounted`` are the fields of Counts this language has no count of.
    """

    formulas: Mapping[str, Formula | None]
    sentences: Callable[[str], Sequence[int]]
    uncounted: frozenset[str] = frozenset()

    @property
    def scores(self) -> bool:
        """Whether any formula was made for this language."""
        return any(self.formulas.values())


@cache
def reading(language: str, dictionary: Dictionary = Dictionary.USED) -> Reading:
    """The way to read a language, named by its BCP 47 tag.

    Raises BadInput for what is no tag.
    """
    if not _TAG.fullmatch(language):
        raise BadInput(
            "language", f"{language[:40]!r} is not a language tag", "write it like en, cy or pt-BR"
        )
    if is_english(language):
        table = token_table(dictionary)
        return Reading(_named(ENGLISH_FORMULAS), partial(sentence_tallies, table=table))
    found = _taught(language) or _taught(re.split("[-_]", language)[0].lower())
    return _reading_of(found) if found else _PLAIN


def own_formulas(language: str) -> tuple[Formula, ...]:
    """The formulas that were made for a language; none where none was."""
    return tuple(one for one in reading(language).formulas.values() if one is not None)


def is_english(language: str) -> bool:
    """Whether a BCP 47 tag names English."""
    return language[:2].lower() == "en" and language[2:3] in {"", "-", "_"}


def _named(formulas: tuple[Formula, ...]) -> Mapping[str, Formula | None]:
    own = {formula.name: formula for formula in formulas}
    others = {formula.name: None for formula in ENGLISH_FORMULAS if formula.name not in own}
    return own | others


def _taught(language: str) -> Language | None:
    from aftercare.score import languages

    # The room offers ``find`` from the day it teaches its first language.
    find = getattr(languages, "find", None)
    return find(language) if find else None


def _reading_of(language: Language) -> Reading:
    def sentences(line: str) -> list[int]:
        return [pack(counts) for counts in language.sentences(line)]

    probe = language.sentences("a")[0]
    uncounted = frozenset(field for field in FIELDS if getattr(probe, field) is None)
    return Reading(_named(language.formulas), sentences, uncounted)


def plain_sentences(line: str) -> list[int]:
    """Words and sentences by blanks and end marks, for a language with no rules of its own.

    Phone numbers, e-mail and web addresses are left out, as in English.
    """
    found = []
    for sentence in _END.split(_DIALLED.sub(" ", line)):
        words = [token for token in sentence.split() if is_word(token)]
        if words:
            found.append(pack(_plain_counts(words)))
    if found and line.rstrip().endswith(":"):
        found[-1] += ONE_STEM
    return found


def _plain_counts(words: list[str]) -> Counts:
    letters = [sum(map(str.isalpha, word)) for word in words]
    return Counts(
        words=len(words),
        sentences=1,
        longest_sentence=len(words),
        letters=sum(letters),
        strokes=sum(sum(map(str.isalnum, word)) for word in words),
        long_words=sum(count > LONG for count in letters),
    )


_PLAIN = Reading(_named(()), plain_sentences, frozenset(FIELDS) - _PLAIN_COUNTS)

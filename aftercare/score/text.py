"""Scores of any text: its counts, what each formula makes of them, and how surely.

No state belongs to a language: the language is an argument, and what is remembered about a
token never changes an answer.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import chain

from aftercare.errors import BadInput
from aftercare.model import Counts
from aftercare.score.dictionary import Dictionary
from aftercare.score.findings import (
    MOST_NAMED,
    Finding,
    english_findings,
    foreign_findings,
    hard_words,
    length_findings,
    longest_sentence,
    other_script,
    unlike_english,
)
from aftercare.score.formula import Formula, FormulaScore, Status
from aftercare.score.languages import why_not_scored, word_unit
from aftercare.score.precision import Sample
from aftercare.score.reading import Reading, is_english, reading
from aftercare.score.sentences import sentence_texts
from aftercare.score.structure import paragraphs
from aftercare.score.tally import Tally, tally
from aftercare.score.tokens import token_table

LARGEST = 16_000_000  # characters, far above any leaflet; more is the wrong file
_LINES_CHECKED, _ENOUGH_TO_CHECK = 50, 2000  # lines, and characters of each

_NOT_SCORED = FormulaScore(
    value=None, status=Status.NOT_SCORED, source="no validated formula for this language"
)


def score_text(
    text: str,
    *,
    language: str = "en",
    formulas: Iterable[str] | None = None,
    dictionary: Dictionary = Dictionary.USED,
) -> TextScore:
    """The score of a markdown or plain text in one language.

    ``formulas`` names the wanted ones, all by default. Raises BadInput for what is no text,
    no language tag or no formula.
    """
    checked = _checked(text)
    read = reading(language, dictionary)
    wanted = _chosen(read.formulas, formulas)
    lines = paragraphs(checked)
    sentences = list(chain.from_iterable(map(read.sentences, lines)))
    return TextScore(
        language=language,
        reading=read,
        dictionary=dictionary,
        wanted=wanted,
        lines=lines,
        sample=Sample(sentences, read.uncounted),
        tally=tally(sentences, read.uncounted),
    )


@dataclass(frozen=True, kw_only=True)
class TextScore:
    """What a text costs its reader; everything below the counts is worked out when asked for.

    ``lines`` are its paragraphs and list items; ``wanted`` the formulas by name, None for one
    that was not made for this language.
    """

    language: str
    reading: Reading
    dictionary: Dictionary
    wanted: Mapping[str, Formula | None]
    lines: list[str]
    sample: Sample
    tally: Tally

    @cached_property
    def counts(self) -> Counts:
        """The counts of the whole text."""
        return self.tally.counts()

    @cached_property
    def values(self) -> Mapping[str, float | None]:
        """Each formula's value, None where it gives no single one."""
        if self._other_script:
            return dict.fromkeys(self.wanted)
        counts = self.counts
        return {
            name: formula.value(counts) if formula else None
            for name, formula in self.wanted.items()
        }

    @cached_property
    def formulas(self) -> Mapping[str, FormulaScore]:
        """What each formula says, with its interval, band and source."""
        return {
            name: self._assessed(formula) if formula else _NOT_SCORED
            for name, formula in self.wanted.items()
        }

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """What the numbers alone do not say."""
        return tuple(self._findings())

    def as_dict(self) -> dict[str, object]:
        """The score as the ``score`` command answers it."""
        counts = self.counts
        return {
            "language": self.language,
            "words": counts.words,
            "sentences": counts.sentences,
            "syllables": counts.syllables,
            "polysyllables": counts.polysyllables,
            "longest_sentence": counts.longest_sentence,
            "formulas": {name: _as_dict(score) for name, score in self.formulas.items()},
            "findings": [{"about": one.about, "text": one.text} for one in self.findings],
        }

    @property
    def _is_english(self) -> bool:
        return is_english(self.language)

    @property
    def _other_script(self) -> bool:
        return self._is_english and other_script(self.tally, self.counts)

    def _assessed(self, formula: Formula) -> FormulaScore:
        """The value where the text is long enough for one, and the interval beside it."""
        status = formula.status(self.counts)
        if status is Status.NOT_SCORED or status is Status.NOT_VALID:
            return _answer(formula, status)
        if self._other_script:
            return _answer(formula, Status.NOT_VALID)
        computed = formula.compute(self.counts)
        value = computed if self.counts.words >= formula.least_words else None
        interval = self.sample.interval(formula, computed)
        if interval is None and value is None:
            return _answer(formula, Status.NOT_VALID)
        doubtful = self._is_english and unlike_english(self.tally, self.counts)
        return _answer(formula, Status.ESTIMATED if doubtful else status, value, interval)

    def _findings(self) -> Iterable[Finding]:
        counts = self.counts
        if word_unit(self.language) == "word":
            yield from length_findings(counts)
        else:
            yield Finding("length", "no blanks part words here: the words counted are characters")
        if not self.reading.scores:
            why = why_not_scored(self.language)
            yield Finding("language", f"{why} Plain counts and lengths only.")
        if not counts.words:
            return
        if not self._is_english:
            yield from self._unlike_declared()
            yield Finding("longest sentence", f"{counts.longest_sentence} words")
            return
        yield from english_findings(self.tally, counts)
        table = token_table(self.dictionary)
        sentences = [tokens for line in self.lines for tokens in sentence_texts(line, table)]
        text = longest_sentence(sentences, self.sample.sentences, counts.longest_sentence)
        yield Finding("longest sentence", f"{counts.longest_sentence} words: {text}")
        hard = hard_words(sentences, table)
        if hard:
            more = f" and {len(hard) - MOST_NAMED} more" if len(hard) > MOST_NAMED else ""
            yield Finding("hard words", ", ".join(hard[:MOST_NAMED]) + more)

    def _unlike_declared(self) -> Iterable[Finding]:
        """A light check of the declared language, by the first lines of the text."""
        english = reading("en", self.dictionary)
        begin = [line[:_ENOUGH_TO_CHECK] for line in self.lines[:_LINES_CHECKED]]
        as_english = tally(list(chain.from_iterable(map(english.sentences, begin))))
        return foreign_findings(as_english, as_english.counts())


def _checked(text: str) -> str:
    if not isinstance(text, str):
        raise BadInput("text", f"is {type(text).__name__}, not text", "decode it as UTF-8 first")
    if len(text) > LARGEST:
        raise BadInput("text", f"has {len(text):,} characters", f"send at most {LARGEST:,}")
    if "\0" in text:
        raise BadInput(
            "text",
            f"has a NUL character (U+0000) at position {text.index(chr(0))}",
            "this is a binary file or a damaged one: give plain text",
        )
    if not text.isascii():
        _refuse_surrogates(text)
    return text


def _refuse_surrogates(text: str) -> None:
    try:
        text.encode("utf-8")
    except UnicodeEncodeError as error:
        code_point = ord(text[error.start])
        raise BadInput(
            "text",
            f"has half a character (U+{code_point:04X}) at position {error.start}",
            "decode the file as UTF-8",
        ) from None


def _chosen(
    known: Mapping[str, Formula | None], names: Iterable[str] | None
) -> Mapping[str, Formula | None]:
    if names is None:
        return known
    try:
        return {name: known[name] for name in names}
    except KeyError as error:
        raise BadInput(
            "formulas", f"{error.args[0]!r} is not known", "choose from " + ", ".join(known)
        ) from None


def _answer(
    formula: Formula,
    status: Status,
    value: float | None = None,
    interval: tuple[float, float] | None = None,
) -> FormulaScore:
    low, high = interval or (None, None)
    return FormulaScore(
        value=value,
        status=status,
        source=formula.source,
        low=low,
        high=high,
        band="" if value is None else formula.band(value),
        error=formula.error,
        conflict=formula.conflict,
    )


def _as_dict(score: FormulaScore) -> dict[str, object]:
    answer: dict[str, object] = {
        "value": score.value,
        "status": score.status.value,
        "low": score.low,
        "high": score.high,
        "source": score.source,
    }
    if score.band:
        answer["band"] = score.band
    if score.error is not None:
        answer["error"] = score.error
    if score.conflict:
        answer["conflict"] = score.conflict
    return answer

"""``aftercare score``: what a text costs its reader, and what an editor could do about it."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from aftercare.cli import BAD, DONE, FOUND, say_json, tell
from aftercare.cli.lines import Questions, answer_lines
from aftercare.edges.words_in import TEXT_BYTES, words_in
from aftercare.errors import AftercareError, BadInput
from aftercare.model import Library
from aftercare.proof import over_limit, review_text
from aftercare.score import Dictionary, TextScore, score_text
from aftercare.score.advice import Advice, Item, Review, Standing
from aftercare.score.formula import Status
from aftercare.score.reading import is_english

QUESTIONS = Questions(TEXT_BYTES, '{"id": "1", "text": "...", "language": "en"}')
STANDARD_INPUT = "standard input"
MOST_WORDS = 12


@dataclass(frozen=True, slots=True)
class Asked:
    """How texts are to be scored: the language if none is named, the dictionary, the clinic."""

    language: str
    dictionary: Dictionary
    library: Library


@dataclass(frozen=True, slots=True, kw_only=True)
class Scored:
    """One text with its score, and what an editor is told if it is English."""

    name: str
    score: TextScore
    review: Review | None
    over: Mapping[str, float]


def read_words(named: str) -> str:
    """The words of a file, or of standard input for ``-``. Raises ``BadInput``."""
    if named == "-":
        return words_in(STANDARD_INPUT, sys.stdin.buffer.read(TEXT_BYTES + 1))
    try:
        with Path(named).open("rb") as stream:
            raw = stream.read(TEXT_BYTES + 1)
    except OSError as error:
        raise BadInput(named, error.strerror or "unreadable", "check the name") from None
    return words_in(named, raw)


def scored(name: str, text: str, asked: Asked) -> Scored:
    """A text's score, its advice, and which of the clinic's limits it breaks."""
    library = asked.library
    score = score_text(text, language=asked.language, dictionary=asked.dictionary)
    over = {}
    for formula_name, formula in score.wanted.items():
        value = score.formulas[formula_name].value
        if formula is not None and value is not None:
            limit = over_limit(formula, value, library)
            if limit is not None:
                over[formula_name] = limit
    review = review_text(text, library) if is_english(asked.language) else None
    return Scored(name=name, score=score, review=review, over=over)


def score_files(names: Sequence[str], asked: Asked, *, as_json: bool, instruments: bool) -> int:
    """Score each file; one that cannot be read is told of and the others are scored."""
    refused = found = 0
    for named in names:
        try:
            one = scored(named, read_words(named), asked)
        except AftercareError as refusal:
            tell(str(refusal))
            refused += 1
            continue
        if as_json:
            say_json({"file": named, **as_dict(one)})
        else:
            print("\n".join([*_page(one, asked.library), *(items(one) if instruments else ())]))
        found += bool(_broken(one, asked.library))
    if refused == len(names):
        return BAD
    return FOUND if refused or found else DONE


def score_lines_of_json(named: str, asked: Asked) -> int:
    """Score each line ``{"id", "text", "language"}``; the language may be left out."""

    def answer(question: Mapping[str, Any]) -> Mapping[str, Any]:
        language = question.get("language", asked.language)
        if not isinstance(language, str):
            raise BadInput("language", "not a text", "write it like en or pt-BR")
        return as_dict(scored("", question["text"], replace(asked, language=language)))

    return answer_lines(named, QUESTIONS, answer, troubling=lambda told: False)


def as_dict(one: Scored) -> dict[str, Any]:
    """The score as other programs read it: the engine's answer, the advice among its findings."""
    told = one.score.as_dict()
    findings: list[Any] = list(told["findings"])  # type: ignore[call-overload]
    findings += [
        {"about": f"over the limit of {limit:g}", "text": name} for name, limit in one.over.items()
    ]
    if one.review is not None:
        findings += [_advice(advice) for advice in one.review.advice]
        told["instruments"] = [_item(item) for item in one.review.items]
    return {**told, "findings": findings}


def _item(item: Item) -> dict[str, str]:
    return {
        "instrument": item.instrument.value,
        "number": item.number,
        "says": item.says,
        "answer": item.answer.value,
        "because": item.because,
    }


def _advice(advice: Advice) -> dict[str, Any]:
    return {
        "about": advice.kind.value,
        "text": advice.words,
        "line": advice.line,
        "start": advice.start,
        "end": advice.end,
        "reason": advice.reason,
        "help": advice.help,
        "source": advice.source,
        "standing": advice.standing.value,
    }


def _broken(one: Scored, library: Library) -> list[str]:
    """The limits of the clinic that a text breaks, in words."""
    broken = [f"{name} is over the limit of {limit:g}" for name, limit in one.over.items()]
    longest, most = one.score.counts.longest_sentence, library.limits.sentence_words
    if longest > most:
        broken.append(f"the longest sentence has {longest} words, over the limit of {most}")
    return broken


# --- for people -------------------------------------------------------------------------


def _page(one: Scored, library: Library) -> Iterator[str]:
    counts = one.score.counts
    yield f"{one.name}  ({one.score.language})"
    yield (
        f"  {counts.words} words, {counts.sentences} sentences, "
        f"the longest {counts.longest_sentence} words"
    )
    if counts.syllables is not None and counts.words:
        yield (
            f"  {counts.syllables} syllables, {counts.syllables / counts.words:.2f} a word; "
            f"{counts.polysyllables} words of three or more"
        )
    yield from _grades(one, library)
    for line in _broken(one, library):
        yield f"  ! {line}"
    for finding in one.score.findings:
        if finding.about in ("length", "sentences", "language"):
            yield f"  ! {finding.text}"
    if one.review is not None:
        yield from _for_the_editor(one.review)
    yield ""


def _grades(one: Scored, library: Library) -> Iterator[str]:
    """Each formula that says something of this text; the unscored are named in one line."""
    silent = []
    for name, formula in one.score.wanted.items():
        said = one.score.formulas[name]
        if formula is None or said.low is None:
            silent.append(name)
            continue
        value = "     " if said.value is None else f"{said.value:5.1f}"
        between = f"{said.low:.1f} to {said.high:.1f}"
        notes = [said.band, *([str(said.status)] if said.status is not Status.VALID else [])]
        limit = library.limits.formulas.get(name)
        notes += [f"limit {limit:g}"] if limit is not None else []
        notes += [f"note: {said.conflict}"] if said.conflict else []
        told = "; ".join(filter(None, notes))
        yield f"  {formula.title:<28} {value}  {between:<14} {told}".rstrip()
    if silent:
        yield f"  no answer for this text: {', '.join(silent)}"


def _for_the_editor(review: Review) -> Iterator[str]:
    if review.hardest:
        yield "  Hardest sentences"
    for hard in review.hardest:
        yield f"    line {hard.line}: {' '.join(hard.words.split())}"
        yield f"      {'; '.join(hard.reasons)}"
        yield from (f"      try: {help_}" for help_ in hard.helps)
    words = [
        f"{word.words} ({word.plainer})" if word.plainer else word.words
        for word in review.hard_words[:MOST_WORDS]
    ]
    if words:
        more = len(review.hard_words) - len(words)
        yield f"  Hard words: {', '.join(words)}{f', and {more} more' if more else ''}"
    for advice in review.advice:
        if advice.standing is Standing.OPEN:
            yield f"  line {advice.line}, {advice.kind}: {' '.join(advice.words.split())}"
            yield f"      {advice.reason}; {advice.help} [{advice.source}]"


def items(one: Scored) -> Iterator[str]:
    """The measurable items of published instruments, one a line, without a total."""
    if one.review is None:
        yield "  the instruments are made for English texts"
        return
    for item in one.review.items:
        yield f"  {item.instrument} {item.number}, {item.says}: {item.answer} ({item.because})"

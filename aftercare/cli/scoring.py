"""``aftercare score``: what a text costs its reader, and what an editor could do about it."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from aftercare.cli import BAD, DONE, FOUND, say_json, tell
from aftercare.cli.lines import Questions, answer_lines, folded, steady
from aftercare.edges.words_in import TEXT_BYTES, words_in
from aftercare.errors import AftercareError, BadInput
from aftercare.model import Library
from aftercare.proof import held_to, over_limit, review_text
from aftercare.proof.stand_ins import stand_ins
from aftercare.score import Dictionary, TextScore, score_text
from aftercare.score.advice import Advice, Item, Review, Standing
from aftercare.score.formula import Formula, FormulaScore, Scale, Status
from aftercare.score.languages import sentence_limit, word_unit
from aftercare.score.reading import is_english

QUESTIONS = Questions(TEXT_BYTES, '{"id": "1", "text": "...", "language": "en"}')
STANDARD_INPUT = "standard input"
# Of what would fill the screen the first are shown: hard words, lines, reasons; of a sentence,
# words and characters.
MOST_WORDS, MOST_LINES, MOST_REASONS, MOST_SHOWN, MOST_LETTERS = 12, 5, 6, 40, 400
MEANING = 54  # the column where it begins
OVER_A_LIMIT = "over a limit"


@dataclass(frozen=True, slots=True)
class Asked:
    """How texts are to be scored: the language if none is named, the dictionary, the clinic."""

    language: str
    dictionary: Dictionary
    library: Library


@dataclass(frozen=True, slots=True, kw_only=True)
class Scored:
    """One text with its score, what an editor is told if it is English, and limits it breaks."""

    name: str
    score: TextScore
    review: Review | None
    broken: tuple[str, ...]


def read_words(named: str, library: Library) -> str:
    """The words of a file, or of standard input for ``-``. Raises ``BadInput``.

    A block's slots are filled as ``content check`` fills them, so that both count the same.
    """
    source = library.source_language
    slots = stand_ins(library, source, held_to(source, library))[0]
    if named == "-":
        return words_in(STANDARD_INPUT, sys.stdin.buffer.read(TEXT_BYTES + 1), slots)
    try:
        with Path(named).open("rb") as stream:
            raw = stream.read(TEXT_BYTES + 1)
    except OSError as error:
        raise BadInput(named, error.strerror or "unreadable", "check the name") from None
    return words_in(named, raw, slots)


def scored(name: str, text: str, asked: Asked) -> Scored:
    """A text's score, its advice, and which of the clinic's limits it breaks."""
    score = score_text(text, language=asked.language, dictionary=asked.dictionary)
    review = review_text(text, asked.library) if is_english(asked.language) else None
    broken = tuple(_broken(score, asked.library))
    return Scored(name=name, score=score, review=review, broken=broken)


def _broken(score: TextScore, library: Library) -> Iterator[str]:
    """The limits of the clinic that a text breaks, in words."""
    for name, formula in score.wanted.items():
        value = score.formulas[name].value
        limit = None
        if formula is not None and value is not None:
            limit = over_limit(formula, value, library)
        if formula is not None and limit is not None:
            side = "under" if formula.scale is Scale.EASE else "over"
            yield f"{formula.title} {value:.1f} is {side} the limit of {limit:g}"
    longest, most = score.counts.longest_sentence, sentence_limit(score.language, library.limits)
    if longest > most:
        unit = word_unit(score.language)
        yield f"the longest sentence has {longest} {unit}s, over the limit of {most}"


def score_files(names: Sequence[str], asked: Asked, *, as_json: bool, instruments: bool) -> int:
    """Score each file; one that cannot be read is told of and the others are scored."""
    refused = found = 0
    for named in names:
        shown = STANDARD_INPUT if named == "-" else named
        try:
            one = scored(shown, read_words(named, asked.library), asked)
        except AftercareError as refusal:
            tell(str(refusal))
            refused += 1
            continue
        if as_json:
            say_json({"file": named, **as_dict(one)})
        else:
            print("\n".join([*_page(one, asked.library), *(items(one) if instruments else ()), ""]))
        found += bool(one.broken)
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

    return answer_lines(named, QUESTIONS, answer, troubling=_breaks_a_limit)


def _breaks_a_limit(told: Mapping[str, Any]) -> bool:
    return any(finding["about"] == OVER_A_LIMIT for finding in told["findings"])


def as_dict(one: Scored) -> dict[str, Any]:
    """The score as other programs read it: the engine's answer, the advice among its findings."""
    told = one.score.as_dict()
    findings: list[Any] = list(told["findings"])  # type: ignore[call-overload]  # JSON values
    findings += [{"about": OVER_A_LIMIT, "text": line} for line in one.broken]
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


# --- for people -------------------------------------------------------------------------


def _page(one: Scored, library: Library) -> Iterator[str]:
    yield f"{steady(one.name)} ({one.score.language})"
    yield from _counts(one.score)
    for finding in one.score.findings:
        if finding.about in ("length", "sentences", "language"):
            yield from folded(f"! {finding.text}", "  ")
    for line in one.broken:
        yield from folded(f"! {line}", "  ")
    yield from _grades(one.score, library)
    if one.review is not None:
        yield from _for_the_editor(one.review)


def _counts(score: TextScore) -> Iterator[str]:
    counts = score.counts
    unit = word_unit(score.language)
    longest = f", the longest of {_many(counts.longest_sentence, unit)}" if counts.words else ""
    yield f"  {_many(counts.words, unit)}, {_many(counts.sentences, 'sentence')}{longest}"
    if counts.syllables is not None and counts.words:
        yield (
            f"  {_many(counts.syllables, 'syllable')}, {counts.syllables / counts.words:.2f} a "
            f"word; {_many(counts.polysyllables or 0, 'word')} of three or more"
        )


def _many(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"


def _grades(score: TextScore, library: Library) -> Iterator[str]:
    """Each formula that says something of this text; those it is too short for in one line."""
    made = [
        (formula, score.formulas[name])
        for name, formula in score.wanted.items()
        if formula is not None
    ]
    told = [(formula, said) for formula, said in made if _speaks(said)]
    if told:
        yield ""
        yield f"  {'Formula':<27} {'Value':>6}  95% interval    Meaning"
    for formula, said in told:
        yield from _grade(formula, said, library.limits.formulas.get(formula.name))
    silent = [formula.title for formula, said in made if not _speaks(said)]
    if silent and score.counts.words:
        named = ", ".join(silent) if told else "from any formula"
        yield from folded(f"No answer for a text like this: {named}", "  ")


def _speaks(said: FormulaScore) -> bool:
    return said.value is not None or said.low is not None


def _grade(formula: Formula, said: FormulaScore, limit: float | None) -> Iterator[str]:
    value = "-" if said.value is None else f"{said.value:.1f}"
    between = "-" if said.low is None else f"{said.low:.1f} to {said.high:.1f}"
    held = "at least" if formula.scale is Scale.EASE else "at most"
    notes = [
        said.band,
        "" if said.status is Status.VALID else str(said.status),
        "" if limit is None else f"limit: {held} {limit:g}",
    ]
    meaning = folded("; ".join(filter(None, notes)), " " * MEANING) or [""]
    numbers = f"  {formula.title:<27} {value:>6}  {between}"
    yield f"{numbers:<{MEANING}}{meaning[0][MEANING:]}".rstrip()
    yield from meaning[1:]
    if said.conflict:
        yield from folded(f"note: {said.conflict}", "      ")


def _for_the_editor(review: Review) -> Iterator[str]:
    if review.hardest:
        yield ""
        yield "  Hardest sentences"
    for hard in review.hardest:
        yield from folded(f"line {hard.line}: {_shortened(hard.words)}", "    ")
        helps = [f"try: {help_}" for help_ in hard.helps]
        for told in (*_a_few(hard.reasons), *_a_few(helps)):
            yield from folded(_shortened(told), "      ")
    yield from _hard_words(review)
    yield from _advice_lines(review)


def _advice_lines(review: Review) -> Iterator[str]:
    """The open advice in text order; what is said of the same words again is told once."""
    places: dict[tuple[str, ...], list[int]] = {}
    for one in review.advice:
        if one.standing is Standing.OPEN:
            told = one.kind.value, _shortened(one.words), one.reason, one.help, one.source
            places.setdefault(told, []).append(one.line)
    if places:
        yield ""
        yield "  Advice"
    for (kind, words, reason, help_, source), lines in places.items():
        yield from folded(f"{_on_lines(lines)}, {kind}: {words}", "    ")
        yield from folded(f"{reason}; {help_} [{source}]", "      ")


def _a_few(told: Sequence[str]) -> Sequence[str]:
    """Each once, and of very many the first."""
    return list(dict.fromkeys(told))[:MOST_REASONS]


def _on_lines(lines: Sequence[int]) -> str:
    each = list(dict.fromkeys(lines))
    shown = ", ".join(map(str, each[:MOST_LINES]))
    more = f" and {len(each) - MOST_LINES} more" if len(each) > MOST_LINES else ""
    return f"line{'' if len(each) == 1 else 's'} {shown}{more}"


def _shortened(words: str) -> str:
    """Words on one line; of very many, the first."""
    whole = " ".join(words.split(maxsplit=MOST_SHOWN)[:MOST_SHOWN])
    shown = whole[:MOST_LETTERS]
    return shown if shown == " ".join(words.split()) else f"{shown} ..."


def _hard_words(review: Review) -> Iterator[str]:
    """The hard words with a plainer choice where there is one, then how many were left out."""
    words = [
        f"{_shortened(word.words)} (plainer: {word.plainer})"
        if word.plainer
        else _shortened(word.words)
        for word in sorted(review.hard_words, key=lambda word: word.plainer is None)[:MOST_WORDS]
    ]
    if words:
        more = len(review.hard_words) - len(words)
        yield ""
        yield "  Hard words"
        yield from folded(f"{', '.join(words)}{f', and {more} more' if more else ''}", "    ")


def items(one: Scored) -> Iterator[str]:
    """The measurable items of published instruments, one a line, without a total."""
    yield ""
    if one.review is None:
        yield "  The instruments are made for English texts."
        return
    yield "  Items of published instruments"
    for item in one.review.items:
        yield from folded(f"{item.instrument} {item.number}, {item.says}: {item.answer}", "    ")
        yield from folded(item.because, "      ")

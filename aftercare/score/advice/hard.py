"""The hardest sentences and the hard words of a text, each with what would help."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from aftercare.score.advice.kinds import Advice, AdviceLimits, Standing
from aftercare.score.advice.page import Page, Sentence, read
from aftercare.score.advice.rules import advice_on
from aftercare.score.dictionary import Dictionary
from aftercare.score.tally import MASK, SHIFT
from aftercare.score.tokens import token_table

# A word of three syllables weighs as much as this many more words (proposed by this project;
# it orders sentences and is no grade).
_POLYSYLLABLE = 3
_MOST_NAMED = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class HardWord:
    """A hard word where it first stands, how often it comes, and a plainer choice if known.

    Offsets are code points of the source text; ``words`` is what stands between them.
    """

    words: str
    plainer: str | None
    line: int
    start: int
    end: int
    times: int


@dataclass(frozen=True, slots=True, kw_only=True)
class HardSentence:
    """One of the hardest sentences of a text, why it is hard, and what would help."""

    line: int
    start: int
    end: int
    words: str
    count: int
    polysyllables: int
    reasons: tuple[str, ...]
    helps: tuple[str, ...]


def hardest(
    text: str,
    *,
    glossary: Mapping[str, str],
    plain_words: Mapping[str, str],
    limits: AdviceLimits,
    n: int = 5,
) -> tuple[HardSentence, ...]:
    """The ``n`` hardest sentences of an English text, the hardest first, each told once.

    Hard is many words, and words of three syllables or more. The order is this project's own:
    one sentence is too short for any published formula.
    """
    page = read(text)
    advice = advice_on(page, glossary=glossary, plain_words=plain_words, limits=limits)
    return hardest_on(page, advice, plain_words, n)


def hardest_on(
    page: Page, advice: Iterable[Advice], plain_words: Mapping[str, str], n: int
) -> tuple[HardSentence, ...]:
    """The same for a text that has been read and its advice."""
    forms = _forms(plain_words)
    told = tuple(advice)
    once: dict[str, Sentence] = {}
    for sentence in page.sentences:
        once.setdefault(sentence.text, sentence)
    ordered = sorted(once.values(), key=_cost, reverse=True)[: max(0, n)]
    return tuple(_hard_sentence(page, one, told, forms) for one in ordered)


def hard_words(text: str, plain_words: Mapping[str, str]) -> tuple[HardWord, ...]:
    """The hard words of an English text as first met, each once.

    Hard is every word or phrase of ``plain_words`` in any regular form, and every word of
    three syllables or more that fourth-graders do not know (Chall & Dale 1995).
    """
    return hard_words_on(read(text), plain_words)


def hard_words_on(page: Page, plain_words: Mapping[str, str]) -> tuple[HardWord, ...]:
    """The same for a text that has been read."""
    forms = _forms(plain_words)
    found: dict[str, HardWord] = {}
    for sentence in page.sentences:
        for first, last, plainer in _in_sentence(sentence, forms):
            key = plainer[0] if plainer else sentence.word(first)
            if key in found:
                found[key] = replace(found[key], times=found[key].times + 1)
            else:
                found[key] = _hard_word(page, sentence, first, last, plainer)
    return tuple(found.values())


_Plainer = tuple[str, str]  # the entry of plain_words, and what it says
_Forms = Mapping[str, list[tuple[tuple[str, ...], _Plainer]]]


def _cost(sentence: Sentence) -> int:
    return sentence.count("words") + _POLYSYLLABLE * sentence.count("polysyllables")


def _hard_sentence(
    page: Page, sentence: Sentence, advice: Iterable[Advice], forms: _Forms
) -> HardSentence:
    start, end = sentence.source_start, sentence.source_end
    inside = [
        one
        for one in advice
        if start <= one.start and one.end <= end and one.standing is Standing.OPEN
    ]
    words, many = sentence.count("words"), sentence.count("polysyllables")
    hard = list(_in_sentence(sentence, forms))
    counted = f"{words} words, {many} of them of three syllables or more"
    named = ", ".join(dict.fromkeys(sentence.said(first, last) for first, last, _ in hard))
    plainer = dict.fromkeys(f"“{known[0]}”: {known[1]}" for _, _, known in hard if known)
    return HardSentence(
        line=page.placed.line_of(start),
        start=start,
        end=end,
        words=page.text[start:end],
        count=words,
        polysyllables=many,
        reasons=(
            counted,
            *([f"hard words: {named}"] if hard else []),
            *(f"{one.kind.value}: {one.reason}" for one in inside),
        ),
        helps=(*(one.help for one in inside), *list(plainer)[:_MOST_NAMED]),
    )


def _hard_word(
    page: Page, sentence: Sentence, first: int, last: int, plainer: _Plainer | None
) -> HardWord:
    start = sentence.stretch.source_start(sentence.words[first].start)
    end = sentence.stretch.source_end(sentence.words[last].end)
    return HardWord(
        words=page.text[start:end],
        plainer=plainer[1] if plainer else None,
        line=page.placed.line_of(start),
        start=start,
        end=end,
        times=1,
    )


def _in_sentence(sentence: Sentence, forms: _Forms) -> Iterator[tuple[int, int, _Plainer | None]]:
    """The hard words of a sentence by their first and last place."""
    place = 0
    while place < len(sentence.words):
        last = place
        for form, plainer in forms.get(sentence.word(place), ()):
            if all(sentence.word(place + ahead) == word for ahead, word in enumerate(form)):
                last = place + len(form) - 1
                yield place, last, plainer
                break
        else:
            if _is_hard(sentence, place):
                yield place, place, None
        place = last + 1


def _is_hard(sentence: Sentence, place: int) -> bool:
    said = sentence.said(place, place)
    packed = token_table(Dictionary.USED)[said if place else said.lower()]
    return bool(
        packed >> SHIFT["polysyllables"] & MASK and packed >> SHIFT["unfamiliar_1995"] & MASK
    )


def _forms(plain_words: Mapping[str, str]) -> _Forms:
    """First word -> (the words of an entry in one of its forms, the entry), longest first."""
    forms: dict[str, list[tuple[tuple[str, ...], _Plainer]]] = {}
    for entry in sorted(plain_words, key=lambda one: -len(one.split())):
        first, *others = entry.lower().split()
        for form in _inflected(first) if not others else {first}:
            forms.setdefault(form, []).append(((form, *others), (entry, plain_words[entry])))
    return forms


def _inflected(word: str) -> set[str]:
    """A word with the regular endings of nouns and verbs."""
    forms = {word, word + "s", word + "ing", word + "ed"}
    if word.endswith("e"):
        return forms | {word + "d", word[:-1] + "ing"}
    if word.endswith("y"):
        return forms | {word[:-1] + "ies", word[:-1] + "ied"}
    if word.endswith(("s", "x", "ch", "sh")):
        return forms | {word + "es"}
    return forms | {word + word[-1] + "ing", word + word[-1] + "ed"}

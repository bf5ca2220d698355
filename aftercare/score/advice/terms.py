"""Clinical terms of the glossary: explained once in the text, or not at all."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from aftercare.score.advice.kinds import Kind, Standing
from aftercare.score.advice.lists import words
from aftercare.score.advice.page import Found, Sentence
from aftercare.score.familiar import familiar_1995

_AFTER = 12  # words after a term in which its explanation begins
_NAMING = frozenset({"called", "termed", "named", "known", "means", "meaning", "as"})
_LEAST_SHARED = 2
_SHARE = 0.5  # of the glossary's own words, in the same place, are an explanation


class Use(NamedTuple):
    """One place where a term stands."""

    term: str
    number: int  # of the sentence
    first: int
    last: int


def clinical_terms(
    sentences: Sequence[Sentence], glossary: Mapping[str, str]
) -> Iterator[tuple[Sentence, Found, Standing]]:
    """Each term of the glossary once: where it is explained, else where it first stands.

    A term made only of words fourth-graders know is left alone (Chall & Dale 1995).
    """
    uses: dict[str, list[Use]] = {}
    for use in _uses(sentences, glossary):
        uses.setdefault(use.term, []).append(use)
    beside = _Stems(sentences)
    for term, found in uses.items():
        meaning = _stems(glossary[term].split())
        explained = next((use for use in found if _explained(beside, use, meaning)), None)
        use = explained or found[0]
        told = _found(use, glossary[term], explained)
        yield sentences[use.number], told, Standing.SHOWN if explained else Standing.OPEN


class _Stems(dict[int, frozenset[str]]):
    """The stems of each sentence by its number, worked out when first asked for."""

    def __init__(self, sentences: Sequence[Sentence]) -> None:
        self.sentences = sentences

    def __missing__(self, number: int) -> frozenset[str]:
        sentence = self.sentences[number]
        self[number] = found = _stems_between(sentence, 0, len(sentence.words))
        return found


def _found(use: Use, meaning: str, explained: Use | None) -> Found:
    if explained:
        reason, advice = f"“{use.term}” is explained here", "nothing to do"
    else:
        reason = f"“{use.term}” is a term of the glossary and is not explained in this text"
        advice = f"say “{meaning}” instead, or once beside “{use.term}”"
    return Found(Kind.UNEXPLAINED_TERM, use.first, use.last, reason, advice)


def _uses(sentences: Sequence[Sentence], glossary: Mapping[str, str]) -> Iterator[Use]:
    """Where terms stand; inside a longer term a shorter one does not count."""
    forms = _forms(glossary)
    for number, sentence in enumerate(sentences):
        place = 0
        while place < len(sentence.words):
            for form, term in forms.get(sentence.word(place), ()):
                if _stands(sentence, place, form):
                    if not all(map(familiar_1995, form)):
                        yield Use(term, number, place, place + len(form) - 1)
                    place += len(form) - 1
                    break
            place += 1


def _stands(sentence: Sentence, place: int, form: tuple[str, ...]) -> bool:
    return all(sentence.word(place + ahead) == word for ahead, word in enumerate(form)) and not any(
        sentence.gap(place + ahead).strip() for ahead in range(len(form) - 1)
    )


def _forms(glossary: Mapping[str, str]) -> dict[str, list[tuple[tuple[str, ...], str]]]:
    """First word -> (the words of a term in one or many, the term), longest first."""
    forms: dict[str, list[tuple[tuple[str, ...], str]]] = {}
    for term in sorted(glossary, key=lambda one: -len(one.split())):
        *first, last = term.lower().replace("’", "'").split()
        for form in {
            (*first, last),
            (*first, last + "s"),
            (*first, last.removesuffix("y") + "ies"),
        }:
            forms.setdefault(form[0], []).append((form, term))
    return forms


def _explained(beside: _Stems, use: Use, meaning: frozenset[str]) -> bool:
    sentence = beside.sentences[use.number]
    return (
        _named(sentence, use)
        or _in_brackets(sentence, use)
        or _beside(sentence, use, meaning)
        or _in_other_words(beside, use, meaning)
    )


def _named(sentence: Sentence, use: Use) -> bool:
    """ "A hole, called a perforation", "this is known as discharge"."""
    place = use.first - 1
    if sentence.word(place) in {"a", "an", "the"}:
        place -= 1
    word = sentence.word(place)
    return word in _NAMING and (word != "as" or sentence.word(place - 1) == "known")


def _in_brackets(sentence: Sentence, use: Use) -> bool:
    """ "Perforation (a hole)", or "a hole (perforation)"."""
    after = sentence.gap(use.last).strip()
    before = sentence.gap(use.first - 1).strip() if use.first else ""
    return after.startswith("(") or (before.endswith("(") and after.startswith(")"))


def _beside(sentence: Sentence, use: Use, meaning: frozenset[str]) -> bool:
    """ "A grommet, a tiny tube", "a cavity is a wide space": a word of the meaning must follow."""
    gap = sentence.gap(use.last).strip()
    following = sentence.word(use.last + 1)
    if gap not in {",", "–", "—", "-", ":"} and (
        gap or following not in {"is", "are", "means", "or"}
    ):
        return False
    return bool(_stems_between(sentence, use.last + 1, use.last + _AFTER) & meaning)


def _in_other_words(beside: _Stems, use: Use, meaning: frozenset[str]) -> bool:
    """Half the words of the glossary's meaning stand in this sentence or one next to it.

    Two are enough where one stands against the term: "a thin suction tube".
    """
    sentence = beside.sentences[use.number]
    touching = _stems(sentence.word(place) for place in (use.first - 1, use.last + 1))
    share = 0 if touching & meaning else _SHARE
    enough = max(_LEAST_SHARED, share * len(meaning))
    numbers = range(max(0, use.number - 1), min(len(beside.sentences), use.number + 2))
    return any(len(meaning & beside[number]) >= enough for number in numbers)


def _stems_between(sentence: Sentence, first: int, end: int) -> frozenset[str]:
    return _stems(word.text for word in sentence.words[first:end])


def _stems(said: Iterable[str]) -> frozenset[str]:
    """Words without their commonest endings, the function words left out."""
    bare = {_bare(word.lower()) for word in said}
    return frozenset(_stem(word) for word in bare - words("function") if word)


def _bare(word: str) -> str:
    return word.strip(".,;:()“”\"'")


def _stem(word: str) -> str:
    for ending in ("ing", "es", "ed", "s"):
        if word.endswith(ending) and len(word) > len(ending) + 2:
            return word.removesuffix(ending)
    return word

"""Verbs that hide: passive voice, and nouns that were verbs."""

from __future__ import annotations

from collections.abc import Iterator

from aftercare.score.advice.kinds import Kind
from aftercare.score.advice.lists import nominals, words
from aftercare.score.advice.page import Found, Sentence

_SHORTEST = 4  # letters of a participle in -ed: "used"
_INSIDE = 3  # most words between the light verb and its noun
_OUT = "out"  # of "carry out"


def passive(sentence: Sentence) -> Iterator[Found]:
    """A form of "be", perhaps an adverb, and a participle that is no state and names nothing.

    Left out: states ("is blocked"), naming ("is called"), "you are advised to", which is a
    buried action, and "get" ("may get wet").
    """
    skip = -1
    for place in range(len(sentence.words)):
        if place <= skip or sentence.word(place) not in words("be"):
            continue
        last = place + 1
        while _between(sentence, last):
            last += 1
        skip = last - 1
        if _participle(sentence, last) and not _advised(sentence, place, last):
            skip = last
            yield _passive(sentence, place, last)


def _between(sentence: Sentence, place: int) -> bool:
    word = sentence.word(place)
    if not word or sentence.gap(place - 1).strip():
        return False
    return word in words("between") or (word.endswith("ly") and len(word) > _SHORTEST)


def _participle(sentence: Sentence, place: int) -> bool:
    word = sentence.word(place)
    if not word or sentence.gap(place - 1).strip() or word in words("naming"):
        return False
    if word == "used":
        return sentence.word(place + 1) != "to" or _is_purpose(sentence.word(place + 2))
    if word in words("states") or word in words("not_participles"):
        return word in {"left", "lost", "done", "felt"} and sentence.word(place + 1) == "by"
    regular = word.endswith("ed") and len(word) > _SHORTEST
    return word in words("participles") or (regular and "-" not in word)


def _is_purpose(word: str) -> bool:
    """Whether "used to" says what for ("used to clean"), and no habit ("used to it")."""
    return bool(word) and not word.endswith("ing") and word not in words("objects")


def _advised(sentence: Sentence, place: int, last: int) -> bool:
    """Whether it is "you are advised to" or "it is advised that", which hide an action."""
    return (
        sentence.word(last) in words("advised")
        and sentence.word(last + 1) in {"to", "that"}
        and (sentence.word(place - 1) in words("readers") or sentence.word(place - 1) == "it")
    )


def _passive(sentence: Sentence, place: int, last: int) -> Found:
    said = sentence.said(place, last)
    if sentence.word(last + 1) == "by":
        advice = "begin with who or what comes after “by”"
    else:
        advice = "say who does it: we, you, the clinic"
    return Found(Kind.PASSIVE, place, last, f"“{said}” does not say first who acts", advice)


def nominalisation(sentence: Sentence) -> Iterator[Found]:
    """A noun that hides a verb, after a light verb or before "of".

    Only nouns of a list that names the verb: "make a decision", "the removal of wax".
    """
    for place, word in enumerate(sentence.words):
        verb = nominals().get(word.text)
        if verb is None:
            continue
        first = _light(sentence, place)
        if first is not None:
            yield _noun(sentence, first, place, verb)
        elif _of(sentence, place):
            begin = place - 1 if sentence.word(place - 1) == "the" else place
            yield _noun(sentence, begin, place + 1, verb)


def _light(sentence: Sentence, place: int) -> int | None:
    """The place of the light verb whose object the noun is, if it has one."""
    if sentence.word(place) in words("things"):
        return None
    first = place - 1
    while first >= max(0, place - _INSIDE) and sentence.word(first) in words("inside_noun_phrase"):
        first -= 1
    if first < 0 or sentence.word(first) not in words("light"):
        return None
    if any(sentence.gap(between).strip() for between in range(first, place)):
        return None
    if sentence.word(first) == _OUT:
        return first - 1 if sentence.word(first - 1).startswith("carr") else None
    return first


def _of(sentence: Sentence, place: int) -> bool:
    return (
        sentence.word(place) not in words("no_verb_before_of")
        and sentence.word(place + 1) == "of"
        and not sentence.gap(place).strip()
    )


def _noun(sentence: Sentence, first: int, last: int, verb: str) -> Found:
    said = sentence.said(first, last)
    return Found(
        Kind.NOMINALISATION,
        first,
        last,
        f"“{said}” hides a verb in a noun",
        f"use the verb: {verb}",
    )

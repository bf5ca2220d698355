"""Words that leave the reader guessing: two negatives, bare numbers, vague times."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache

from aftercare.score.advice.kinds import Kind
from aftercare.score.advice.lists import phrases, words
from aftercare.score.advice.orders import order
from aftercare.score.advice.page import Found, Sentence

_NEAR = 3  # words between "not" and "unusual"
_DIALLED = 5  # digits in a row that are no quantity
_YEARS = range(1900, 2100)


def double_negative(sentence: Sentence) -> Iterator[Found]:
    """Two negatives in one clause: "not unusual", "do not ... without", "no ... unless"."""
    first = None
    for place in range(len(sentence.words)):
        if first is not None and _answers(sentence, first, place):
            said = sentence.said(first, place)
            yield Found(
                Kind.DOUBLE_NEGATIVE,
                first,
                place,
                f"“{said}” says no twice, and the reader has to turn it round",
                "say what to do, or when it is allowed: “only … if …”, “always … with …”",
            )
            first = None
        elif _denies(sentence, place):
            first = place
        elif first is not None and _new_clause(sentence, place):
            first = None


def _denies(sentence: Sentence, place: int) -> bool:
    word = sentence.word(place)
    if word == "not" and sentence.word(place + 1) in {"only", "just"}:
        return False
    return word in words("negatives") or word.endswith("n't")


def _answers(sentence: Sentence, first: int, place: int) -> bool:
    """Whether the word at a place is the second negative."""
    word = sentence.word(place)
    if word in {"unless", "without"}:  # across any comma, but not beyond the clause
        return True
    if word in {"no", "not", "nothing", "never"} or word.endswith("n't"):
        return place - first <= _NEAR and sentence.word(first) not in {"neither", "nor", "no"}
    if word in words("failing"):
        return place - first == 1 and sentence.word(first) not in {"no", "none"}
    return word in words("negative_words") and place - first <= _NEAR


def _new_clause(sentence: Sentence, place: int) -> bool:
    return "," in sentence.gap(place - 1) or sentence.word(place) in words("clause")


def bare_number(sentence: Sentence) -> Iterator[Found]:
    """A figure, or a number in words before "twice a day" and the like, with nothing counted.

    Left out: what is dialled, years, dates, ages, ratios, money, percentages, and a number
    that names something ("page 3"). Of a range the last number needs the unit.
    """
    for place, word in enumerate(sentence.words):
        if word.text[0].isdecimal():
            bare = word.text.replace(".", "").replace(",", "").isdecimal() and _is_bare(
                sentence, place
            )
        else:
            bare = word.text in words("number_words") and _is_dose(sentence, place)
        if bare:
            yield Found(
                Kind.BARE_NUMBER,
                place,
                place,
                f"“{sentence.said(place, place)}” of what?",
                "write the unit after the number: drops, days, ml, °C",
            )


def _is_bare(sentence: Sentence, place: int) -> bool:
    return not (
        _is_name(sentence, place)
        or _has_unit(sentence, place)
        or _goes_on(sentence, place)
        or _is_age(sentence, place)
    )


def _is_name(sentence: Sentence, place: int) -> bool:
    """Whether the figure is dialled, a year, a date, money, or the name of something."""
    digits = sentence.word(place)
    if len(digits) >= _DIALLED:
        return True
    if digits.isdecimal() and (int(digits) in _YEARS or (digits[0] == "0" and len(digits) > 1)):
        return True
    before = sentence.word(place - 1)
    mark = sentence.gap(place - 1)[-1:] if place else ""
    if mark in {"£", "$", "€", "#", "+", "/"}:
        return True
    dialled = {sentence.word(place - back) for back in (1, 2, 3)} & words("dialling")
    named = before in words("before_name") or before in words("months")
    return named or bool(dialled) or before[:1].isdecimal()


def _has_unit(sentence: Sentence, place: int) -> bool:
    gap = sentence.gap(place)
    if gap[:1] and gap[0] in "%°£$€/":
        return True
    following = sentence.word(place + 1)
    if not following or gap.strip() not in {"", "-"}:
        return False
    return following not in words("not_units") and not following[0].isdecimal()


def _goes_on(sentence: Sentence, place: int) -> bool:
    """Whether it is the first number of a range, or either number of "1 in 10"."""
    following, after = sentence.word(place + 1), sentence.word(place + 2)
    counted = after[:1].isdecimal() or after in words("number_words")
    if following in {"to", "or", "and"} and counted:
        return True
    if following == "in" and counted:  # "8 in 24 hours" is no ratio
        return sentence.word(place + 3) not in words("spans")
    if following == "out" and after == "of":
        return True
    if sentence.gap(place).strip() in {"-", "–", "/"} and following[:1].isdecimal():
        return True
    before = sentence.word(place - 2)
    ratio = before[:1].isdecimal() or before in {"one", "two", "out"}
    return ratio and sentence.word(place - 1) in {"in", "of"}


def _is_age(sentence: Sentence, place: int) -> bool:
    if sentence.word(place - 1) not in words("age_limits"):
        return False
    return not any(word.text in words("heat") for word in sentence.words[max(0, place - 8) : place])


def _is_dose(sentence: Sentence, place: int) -> bool:
    """Whether a number in words is followed by how often: "two twice a day"."""
    following, after = sentence.word(place + 1), sentence.word(place + 2)
    if sentence.gap(place).strip():
        return False
    if following == "a":
        return after in {"day", "week", "night"}
    return following in {"twice", "daily", "every", "per"}


def vague_time(sentence: Sentence, plain_words: Mapping[str, str]) -> Iterator[Found]:
    """A time nobody can put in a diary: "soon", "from time to time".

    "As soon as" with an event after it is a time. How often ("regularly") counts only in what
    the reader or the clinic is to do.
    """
    place = 0
    asks = None
    while place < len(sentence.words):
        if asks is None and sentence.word(place) in words("vague_frequency"):
            asks = _is_promise(sentence) or order(sentence) is not None
        length = _vague_at(sentence, place) or int(
            bool(asks) and sentence.word(place) in words("vague_frequency")
        )
        if length:
            said = sentence.said(place, place + length - 1)
            plainer = plain_words.get(said.lower())
            yield Found(
                Kind.VAGUE_TIME,
                place,
                place + length - 1,
                f"“{said}” is another time for every reader",
                f"say when: {plainer}" if plainer else "say the day, the hour, or how often",
            )
        place += length or 1


def _is_promise(sentence: Sentence) -> bool:
    return sentence.word(0) == "we" or (sentence.word(0), sentence.word(1)) == ("you", "will")


def _vague_at(sentence: Sentence, place: int) -> int:
    """How many words from a place on are a vague time, 0 for none."""
    word = sentence.word(place)
    for phrase in _phrases_by_first_word().get(word, ()):
        if all(sentence.word(place + ahead) == said for ahead, said in enumerate(phrase)):
            return len(phrase)
    if word not in words("vague_always"):
        return 0
    return 0 if word == "soon" and sentence.word(place - 1) in {"as", "too"} else 1


@cache
def _phrases_by_first_word() -> dict[str, list[tuple[str, ...]]]:
    found: dict[str, list[tuple[str, ...]]] = {}
    for phrase in phrases("vague_phrases"):
        found.setdefault(phrase[0], []).append(phrase)
    return found

"""What the reader is told to do: the verb of each instruction, and whether it comes in time."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from aftercare.score.advice.kinds import AdviceLimits, Kind
from aftercare.score.advice.lists import Pattern, words, wrappers
from aftercare.score.advice.page import Found, Sentence

_NOT = frozenset({"don't", "never"})
_WHETHER_WITHIN = 3  # words between "ask" and "if": "ask the nurse if"
_NAMED = 6  # words of each action named in a list of them
_MOST_NAMED = 15  # actions in that list
_BEGUN = 3  # words of an instruction that are shown after its verb
_MOST_LEADS = 3  # words before the verb: "and then please call"


def order(sentence: Sentence) -> int | None:
    """The place of the verb that tells the reader to do something, or None.

    At the head ("Keep", "Do not use", "Please call"), after a part that comes first ("If it
    hurts, call"), or after "you must" and "you should".
    """
    found = _order_at(sentence, 0)
    if found is None and sentence.word(0) in words("fronted"):
        for place in range(1, len(sentence.words)):
            if "," in sentence.gap(place - 1) or ":" in sentence.gap(place - 1):
                found = _order_at(sentence, place)
                if found is not None:
                    break
    return found if found is not None else _obligation(sentence)


def _order_at(sentence: Sentence, place: int) -> int | None:
    """The verb of an instruction that begins at a place."""
    for _ in range(_MOST_LEADS):
        place += sentence.word(place) in words("leads")
    word = sentence.word(place)
    if word == "do" and sentence.word(place + 1) == "not":
        return place + 2 if sentence.word(place + 2) else None
    if word in _NOT and _is_verb(sentence.word(place + 1)):
        return place + 1
    if word == "no" and sentence.word(place + 1).endswith("ing"):
        return place + 1
    if word in words("verbs"):
        return None if _is_noun_here(sentence, place) else place
    return place if word in words("doubtful_verbs") and _has_object(sentence, place) else None


def _is_verb(word: str) -> bool:
    return word in words("verbs") or word in words("doubtful_verbs")


def _is_noun_here(sentence: Sentence, place: int) -> bool:
    """Whether a verb of the list is a question or a noun after all: "Have you", "Use of"."""
    following = sentence.word(place + 1)
    if sentence.word(place) in {"have", "do", "be"}:
        return following in {"you", "we", "they", "i"}
    return following in {"of", "is", "are", "was", "were", "can", "may", "will", "has"}


def _has_object(sentence: Sentence, place: int) -> bool:
    following = sentence.word(place + 1)
    if len(sentence.words) == 1 or following in words("objects"):
        return True
    return following.startswith("{") or following[:1].isdecimal()


def _obligation(sentence: Sentence) -> int | None:
    """The verb after "you must", "you should", "you need to" or "you have to"."""
    last = len(sentence.words) - 1
    for place in range(last - 1):
        if sentence.word(place) != "you" or sentence.word(place - 1) in {"if", "when"}:
            continue
        following, after = sentence.word(place + 1), sentence.word(place + 2)
        if following in words("must"):
            return min(place + 2 + (after in {"not", "never", "always"}), last)
        if following in {"need", "have", "ought"} and after == "to":
            return min(place + 3, last)
    return None


def buried_action(sentence: Sentence, limits: AdviceLimits) -> Iterator[Found]:
    """The reader's verb wrapped in a phrase, or reached after too many words."""
    wrapped = _wrapper(sentence)
    if wrapped is not None:
        said = sentence.said(*wrapped)
        yield Found(
            Kind.BURIED_ACTION,
            *wrapped,
            f"“{said}” stands before what the reader has to do",
            _begin_with(sentence, wrapped[1] + 1),
        )
        return
    verb = order(sentence)
    if verb is None or verb <= limits.words_before_action:
        return
    yield Found(
        Kind.BURIED_ACTION,
        0,
        verb,
        f"what to do comes after {verb} words; the limit is {limits.words_before_action}",
        f"give what comes before “{sentence.word(verb)}” a sentence of its own, or fewer words",
    )


def _begin_with(sentence: Sentence, place: int) -> str:
    """The first words of the instruction inside its wrapping."""
    while sentence.word(place) in words("around_verb"):
        place += 1
    if not sentence.word(place):
        return "tell the reader directly what to do"
    told = sentence.said(place, min(place + _BEGUN, len(sentence.words) - 1))
    told = f"Do {told}" if sentence.word(place) == "not" else _capital(told)
    return f"tell the reader directly: “{told} …”"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _wrapper(sentence: Sentence) -> tuple[int, int] | None:
    """From where to where words stand around an instruction."""
    for place, word in enumerate(sentence.words):
        for steps in wrappers().get(word.text, ()):
            last = _fits(sentence, place, steps)
            if last is not None:
                return place, last
    return None


def _fits(sentence: Sentence, place: int, steps: Pattern) -> int | None:
    """The last place of a pattern that begins at a place; a step may be passed over."""
    for step in steps:
        if sentence.word(place) in step.words:
            place += 1
        elif not step.optional:
            return None
    return place - 1


def late_condition(sentence: Sentence) -> Iterator[Found]:
    """An "if" after the instruction: the reader has acted before it is read.

    Left out: "if" that asks whether ("check if"), "even if", and tags such as "if needed".
    """
    verb = order(sentence)
    if verb is None:
        return
    for place in range(verb + 1, len(sentence.words)):
        if sentence.word(place) == "if" and _is_condition(sentence, place):
            condition = _capital(sentence.said(place, len(sentence.words) - 1))
            told = sentence.said(0, place - 1)
            yield Found(
                Kind.LATE_CONDITION,
                place,
                len(sentence.words) - 1,
                "the reader meets the instruction before the condition",
                f"turn it round: “{condition}, {_begun_small(told)}.”",
            )
            return


def _begun_small(words: str) -> str:
    """A clause that no longer begins its sentence; words in capitals alone stay as they are."""
    first = words.split(" ", 1)[0]
    return words if first.isupper() and len(first) > 1 else words[:1].lower() + words[1:]


def _is_condition(sentence: Sentence, place: int) -> bool:
    before = [sentence.word(back) for back in range(max(0, place - _WHETHER_WITHIN), place)]
    following = sentence.word(place + 1)
    if not following or following in words("after_if"):
        return False
    if before and before[-1] in words("before_if"):
        return False
    return not any(word in words("asking") for word in before)


def many_actions(
    sentences: Iterable[Sentence], limits: AdviceLimits
) -> Iterator[tuple[Sentence, Found]]:
    """The first action above the limit, with all of them named."""
    told = [(one, verb) for one in sentences if (verb := order(one)) is not None]
    if len(told) > limits.actions:
        sentence, verb = told[limits.actions]
        named = "; ".join(
            f"{number} {_named(*one)}" for number, one in enumerate(told[:_MOST_NAMED], 1)
        )
        if len(told) > _MOST_NAMED:
            named += f"; and {len(told) - _MOST_NAMED} more"
        yield (
            sentence,
            Found(
                Kind.MANY_ACTIONS,
                verb,
                verb,
                f"the text asks for {len(told)} things; the limit is {limits.actions}",
                f"drop, join or move some: {named}",
            ),
        )


def _named(sentence: Sentence, verb: int) -> str:
    last = min(verb + _NAMED, len(sentence.words)) - 1
    begin = verb - 2 if sentence.word(verb - 1) == "not" and verb >= 2 else verb
    return sentence.said(begin, last)

"""What the reader is told to do: the verb of each instruction, and whether it comes in time."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from aftercare.score.advice.kinds import AdviceLimits, Kind
from aftercare.score.advice.lists import words
from aftercare.score.advice.page import Found, Sentence

_NOT = frozenset({"don't", "never"})
_WHETHER_WITHIN = 3  # words between "ask" and "if": "ask the nurse if"
_NAMED = 6  # words of each action named in a list of them
_MOST_NAMED = 15  # actions in that list
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
    for place in range(len(sentence.words) - 2):
        if sentence.word(place) != "you" or sentence.word(place - 1) in {"if", "when"}:
            continue
        following = sentence.word(place + 1)
        if following in words("must"):
            return place + (3 if sentence.word(place + 2) in {"not", "never", "always"} else 2)
        if following in {"need", "have", "ought"} and sentence.word(place + 2) == "to":
            return min(place + 3, len(sentence.words) - 1)
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
    while sentence.word(place) in {"you", "patients", "patient", "the", "should", "must"}:
        place += 1
    rest = (
        sentence.said(place, min(place + 3, len(sentence.words) - 1))
        if sentence.word(place)
        else ""
    )
    return f"tell the reader directly: “{_capital(rest)} …”"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _wrapper(sentence: Sentence) -> tuple[int, int] | None:
    """From where to where words stand around an instruction."""
    for place in range(len(sentence.words)):
        last = (
            _worth_doing(sentence, place)
            or _we_advise(sentence, place)
            or _you_are_advised(sentence, place)
            or _care_is_taken(sentence, place)
        )
        if last is not None:
            return place, last
    return None


def _worth_doing(sentence: Sentence, place: int) -> int | None:
    """ "It is very important that", "it is best for you to", "it is a good idea to"."""
    here = place + 1
    if sentence.word(place) == "it" and sentence.word(here) in {
        "is",
        "may",
        "would",
        "will",
        "might",
    }:
        here += 1 if sentence.word(here) == "is" else 2
        if sentence.word(here - 1) not in {"is", "be"}:
            return None
    elif sentence.word(place) == "it's":
        pass
    else:
        return None
    if (sentence.word(here), sentence.word(here + 1), sentence.word(here + 2)) == (
        "a",
        "good",
        "idea",
    ):
        here += 2
    else:
        while sentence.word(here) in {
            "very",
            "also",
            "therefore",
            "strongly",
            "most",
            "usually",
            "always",
        }:
            here += 1
        if sentence.word(here) not in words("worth_doing"):
            return None
    here += 3 if sentence.word(here + 1) == "for" else 1
    return here if sentence.word(here) in {"that", "to"} else None


def _we_advise(sentence: Sentence, place: int) -> int | None:
    """ "We recommend that you", "we would advise patients to"."""
    if sentence.word(place) not in {"we", "i"}:
        return None
    here = place + 1
    while sentence.word(here) in {"would", "strongly", "always", "usually", "also", "therefore"}:
        here += 1
    if sentence.word(here) not in words("advising"):
        return None
    here += 1
    if sentence.word(here) == "that":
        here += 1
    return here if sentence.word(here) in words("readers") or sentence.word(here) == "all" else None


def _you_are_advised(sentence: Sentence, place: int) -> int | None:
    """ "You are advised to", "patients should", "you may wish to"."""
    word, following = sentence.word(place), sentence.word(place + 1)
    if word not in words("readers"):
        return None
    if following in {"are", "is"}:
        here = place + (3 if sentence.word(place + 2) in {"strongly", "also", "therefore"} else 2)
        if sentence.word(here) in words("advised") and sentence.word(here + 1) == "to":
            return here + 1
    if following in {"may", "might"} and sentence.word(place + 2) in {"wish", "want", "like"}:
        return place + 3 if sentence.word(place + 3) == "to" else None
    if word in {"patients", "patient", "individuals"} and following in words("must"):
        return place + 1
    return None


def _care_is_taken(sentence: Sentence, place: int) -> int | None:
    """ "Care should be taken to"."""
    if sentence.word(place) not in {"care", "precautions"}:
        return None
    said = tuple(sentence.word(place + ahead) for ahead in (1, 2, 3))
    return place + 3 if said in {("should", "be", "taken"), ("must", "be", "taken")} else None


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
                f"turn it round: “{condition}, {told[:1].lower()}{told[1:]}.”",
            )
            return


def _is_condition(sentence: Sentence, place: int) -> bool:
    before = [sentence.word(back) for back in range(max(0, place - _WHETHER_WITHIN), place)]
    if sentence.word(place + 1) in words("after_if"):
        return False
    if before and before[-1] in words("before_if"):
        return False
    if sentence.word(0) in {"if", "when"} or not sentence.word(place + 1):
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

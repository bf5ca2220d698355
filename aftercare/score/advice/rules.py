"""All advice on one text: the rules in the order they are tried."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from aftercare.errors import BadInput
from aftercare.score.advice.kinds import SOURCES, Accepted, Advice, AdviceLimits, Kind, Standing
from aftercare.score.advice.length import long_sentence
from aftercare.score.advice.orders import buried_action, late_condition, many_actions
from aftercare.score.advice.page import Found, Page, Sentence, one_line, read
from aftercare.score.advice.terms import clinical_terms
from aftercare.score.advice.verbs import nominalisation, passive
from aftercare.score.advice.wording import bare_number, double_negative, vague_time


def advise(
    text: str,
    *,
    glossary: Mapping[str, str],
    plain_words: Mapping[str, str],
    limits: AdviceLimits,
    accepted: Iterable[Accepted] = (),
) -> tuple[Advice, ...]:
    """What an editor of an English Markdown or plain text may want to change, in text order.

    ``glossary`` is term -> plain meaning, ``plain_words`` hard word -> plainer choice. Advice
    that ``accepted`` covers is kept and marked; an acceptance that fits nothing any more is
    advice itself. Raises BadInput for an acceptance without a reason.
    """
    return advice_on(
        read(text), glossary=glossary, plain_words=plain_words, limits=limits, accepted=accepted
    )


def advice_on(
    page: Page,
    *,
    glossary: Mapping[str, str],
    plain_words: Mapping[str, str],
    limits: AdviceLimits,
    accepted: Iterable[Accepted] = (),
) -> tuple[Advice, ...]:
    """The same for a text that has been read."""
    found = [
        page.advice(one, sentence)
        for sentence in page.sentences
        for one in _in_sentence(sentence, plain_words, limits)
    ]
    for sentence, one, standing in clinical_terms(page.sentences, glossary):
        found.append(replace(page.advice(one, sentence), standing=standing))
    for sentence, one in many_actions(page.sentences, limits):
        found.append(page.advice(one, sentence))
    return tuple(sorted(_weighed(found, tuple(accepted)), key=_place))


def _in_sentence(
    sentence: Sentence, plain_words: Mapping[str, str], limits: AdviceLimits
) -> Iterator[Found]:
    if not sentence.words:
        return
    yield from long_sentence(sentence, limits)
    yield from buried_action(sentence, limits)
    yield from late_condition(sentence)
    yield from passive(sentence)
    yield from double_negative(sentence)
    yield from nominalisation(sentence)
    yield from bare_number(sentence)
    yield from vague_time(sentence, plain_words)


def _weighed(found: Iterable[Advice], accepted: tuple[Accepted, ...]) -> Iterator[Advice]:
    """Each piece of advice, marked where an editor accepted it, then what was accepted in vain."""
    reasons = {(one.kind, _key(one.words)): _reason(one) for one in accepted}
    fitted = set()
    for advice in found:
        key = advice.kind, _key(advice.words)
        if key in reasons and advice.standing is Standing.OPEN:
            fitted.add(key)
            yield replace(advice, standing=Standing.ACCEPTED, accepted_because=reasons[key])
        else:
            yield advice
    for one in accepted:
        if (one.kind, _key(one.words)) not in fitted:
            yield _in_vain(one)


def _reason(one: Accepted) -> str:
    if not one.reason.strip():
        raise BadInput(
            "accepted",
            f"{one.kind.value} “{one.words[:40]}” has no reason",
            "say why the words stay",
        )
    return one.reason.strip()


def _in_vain(one: Accepted) -> Advice:
    return Advice(
        kind=Kind.STALE_ACCEPTANCE,
        line=1,
        start=0,
        end=0,
        words="",
        reason=f"{one.kind.value} “{one.words}” was accepted, and no such advice is given any more",
        help="take the acceptance out of the header",
        source=SOURCES[Kind.STALE_ACCEPTANCE],
    )


def _key(words: str) -> str:
    """Words as an editor may have copied them: marks, blanks and case do not count."""
    return one_line(words.replace("*", "").replace("_", " ")).casefold()


def _place(advice: Advice) -> tuple[int, int]:
    return advice.start, -advice.end

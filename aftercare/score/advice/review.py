"""Everything this room has to say to an editor about one text, from one reading."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from aftercare.score.advice.hard import HardSentence, HardWord, hard_words_on, hardest_on
from aftercare.score.advice.instruments import Item, report_on
from aftercare.score.advice.judges import Facts
from aftercare.score.advice.kinds import Accepted, Advice, AdviceLimits
from aftercare.score.advice.page import read
from aftercare.score.advice.rules import advice_on


@dataclass(frozen=True, slots=True, kw_only=True)
class Review:
    """The advice on a text, its hardest sentences and words, and the instruments' items."""

    advice: tuple[Advice, ...]
    hardest: tuple[HardSentence, ...]
    hard_words: tuple[HardWord, ...]
    items: tuple[Item, ...]


def review(
    text: str,
    *,
    glossary: Mapping[str, str],
    plain_words: Mapping[str, str],
    limits: AdviceLimits,
    accepted: Iterable[Accepted] = (),
    n: int = 5,
    point: float | None = None,
    leading_mm: float | None = None,
) -> Review:
    """What ``advise``, ``hardest``, ``hard_words`` and ``report`` say of an English text.

    The arguments are theirs. Advice that is accepted still counts for the
    instruments: the reader meets the same words.
    """
    page = read(text)
    advice = advice_on(
        page, glossary=glossary, plain_words=plain_words, limits=limits, accepted=accepted
    )
    hard = hard_words_on(page, plain_words)
    return Review(
        advice=advice,
        hardest=hardest_on(page, advice, plain_words, n),
        hard_words=hard,
        items=report_on(Facts(page, advice, hard, limits, point, leading_mm)),
    )

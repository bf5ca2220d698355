"""The measurable items of published instruments, as a report without a total.

PEMAT-P (Shoemaker 2014), the CDC Clear Communication Index and the EU leaflet guideline
(12.1.2009); the paraphrases are this project's own. A total would hide the items that need a
person, so there is none.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from aftercare.score.advice import judges
from aftercare.score.advice.hard import hard_words_on
from aftercare.score.advice.judges import Answer, Facts, Judge
from aftercare.score.advice.kinds import AdviceLimits
from aftercare.score.advice.page import read
from aftercare.score.advice.rules import advice_on


class Instrument(StrEnum):
    """A published way to judge patient material."""

    PEMAT = "PEMAT-P"
    CDC = "CDC Clear Communication Index"
    EU = "EU leaflet guideline 2009"


@dataclass(frozen=True, slots=True)
class Item:
    """One item: what it asks in our words, the answer, and why."""

    instrument: Instrument
    number: str
    says: str
    answer: Answer
    because: str


def report(
    text: str,
    *,
    glossary: Mapping[str, str],
    plain_words: Mapping[str, str],
    limits: AdviceLimits,
    point: float | None = None,
    leading_mm: float | None = None,
) -> tuple[Item, ...]:
    """Every item of the three instruments for an English text, in their own order; no total.

    ``point`` is the type size and ``leading_mm`` the distance from line to line, if known.
    """
    page = read(text)
    advice = advice_on(page, glossary=glossary, plain_words=plain_words, limits=limits)
    hard = hard_words_on(page, plain_words)
    return report_on(Facts(page, advice, hard, limits, point, leading_mm))


def report_on(facts: Facts) -> tuple[Item, ...]:
    """The same from the facts of a text that has been read."""
    return tuple(
        Item(instrument, number, says, *judge(facts))
        for instrument, items in _INSTRUMENTS.items()
        for number, says, judge in items
    )


_INSTRUMENTS: Mapping[Instrument, tuple[tuple[str, str, Judge], ...]] = {
    Instrument.PEMAT: (
        ("1", "its purpose is plain at once", judges.person("only a reader can say")),
        ("2", "nothing leads away from the purpose", judges.person("only a reader can say")),
        ("3", "everyday words", judges.everyday_words),
        ("4", "medical terms are few and explained", judges.terms_defined),
        ("5", "active voice", judges.active_voice),
        ("6", "numbers are clear", judges.clear_numbers),
        ("7", "the reader has nothing to calculate", judges.no_sums),
        ("8", "short sections", judges.chunks),
        ("9", "each section has a heading that informs", judges.headings),
        ("10", "a logical order", judges.person("only a reader can say")),
        ("11", "a summary", judges.summary),
        ("12", "cues point to what matters", judges.cues),
        ("15", "pictures where they would help", judges.person("only a reader can say")),
        (
            "16",
            "pictures say what the words say",
            judges.unless_visual("whether they agree is not known"),
        ),
        (
            "17",
            "pictures have captions",
            judges.unless_visual("whether they explain is not known"),
        ),
        (
            "18",
            "pictures are uncluttered",
            judges.unless_visual("whether they are is not known"),
        ),
        ("19", "tables are simple and headed", judges.tables),
        ("20", "at least one action", judges.action),
        ("21", "actions are told to the reader", judges.addresses),
        ("22", "actions are in clear steps", judges.steps),
        ("23", "a tool to act with, such as a checklist", judges.tool),
        ("24", "calculations are explained", judges.calculations),
        ("25", "charts and tables are explained for use", judges.charts),
        ("26", "pictures help the reader act", judges.person("only a reader can say")),
    ),
    Instrument.CDC: (
        (
            "1",
            "one main message",
            judges.person("no words are marked as the message"),
        ),
        ("2", "the main message comes first", judges.person("as item 1")),
        ("3", "the main message stands out", judges.person("as item 1")),
        ("4", "a picture carries the main message", judges.person("only a reader can say")),
        ("5", "a call to act", judges.action),
        ("6", "active voice", judges.active_voice),
        ("7", "the words of its audience", judges.person("only its audience can say")),
        ("8", "lists", judges.lists),
        ("9", "short headed sections", judges.headed_chunks),
        ("10", "the most important comes first", judges.person("no part of the text is marked so")),
        ("11", "what experts know and do not know", judges.person("a clinician has to say")),
        ("12", "something to do", judges.action),
        ("13", "why to do it", judges.person("no part of the text is marked as a reason")),
        ("14", "how to do it", judges.person("no part of the text is marked as a way to do it")),
        ("15", "numbers its audience uses", judges.figures("only its audience can say")),
        ("16", "what the numbers mean", judges.figures("a clinician has to say")),
        ("17", "nothing to calculate", judges.no_sums),
        ("18", "what the risk is", judges.person("a clinician has to say")),
        ("19", "risks and benefits", judges.person("a clinician has to say")),
        ("20", "how likely, in words or a picture", judges.person("a clinician has to say")),
    ),
    Instrument.EU: (
        ("type", "type of at least 9 point Times New Roman", judges.point),
        ("lines", "at least 3 mm from line to line", judges.leading),
        ("sentences", "sentences of about 20 words at most", judges.sentence_length),
        ("bullets", "lists of five or six items", judges.bullets),
        (
            "user test",
            "16 of 20 users can answer each question",
            judges.person("test it with users"),
        ),
    ),
}

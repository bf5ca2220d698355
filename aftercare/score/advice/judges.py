"""How each measurable item of an instrument is judged from the facts of a text.

A machine can often find a fault but not its absence: such an item is not met when the fault
is found, and needs a person otherwise.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from itertools import groupby

from aftercare.score.advice.hard import HardWord
from aftercare.score.advice.kinds import Advice, AdviceLimits, Kind, Standing
from aftercare.score.advice.lists import phrases, words
from aftercare.score.advice.orders import order
from aftercare.score.advice.page import Page, Sentence
from aftercare.score.advice.place import Shape, Stretch

_MOSTLY = 0.8  # PEMAT-P: "agree" when it is so at least 80% of the time
_SHORT = 100  # words; below it a text has no need of sections and a summary (proposed)
_LEAST_POINT = 9.0  # EU leaflet guideline 2009
_LEAST_LEADING = 3.0  # mm from line to line, EU leaflet guideline 2009
_TICK_BOXES = ("☐", "[ ]", "□")
_NAMED = 5


class Answer(StrEnum):
    """What can be said of an item without a person, or that it takes one."""

    MET = "met"
    NOT_MET = "not met"
    NEEDS_A_PERSON = "needs a person"
    NOT_APPLICABLE = "not applicable"


@dataclass(frozen=True)
class Facts:
    """What the items look at. ``point`` and ``leading_mm`` are None where nobody knows."""

    page: Page
    advice: tuple[Advice, ...]
    hard_words: tuple[HardWord, ...]
    limits: AdviceLimits
    point: float | None
    leading_mm: float | None

    @cached_property
    def actions(self) -> int:
        """Sentences that tell the reader to do something."""
        return sum(order(sentence) is not None for sentence in self.page.sentences)

    @cached_property
    def headings(self) -> list[str]:
        """The headings as written."""
        return [one.words.strip() for one in self._stretches if one.shape is Shape.HEADING]

    @cached_property
    def lists(self) -> list[int]:
        """How many items each list has."""
        listed = [one for one in self._stretches if one.items]
        return [len(list(group)) for _, group in groupby(listed, key=_list_of)]

    @cached_property
    def numerals(self) -> int:
        """Words that are figures."""
        return sum(
            word.text[0].isdigit() for sentence in self.page.sentences for word in sentence.words
        )

    @property
    def is_short(self) -> bool:
        """Whether the text is too short to need sections."""
        return self.page.word_count < _SHORT

    def has(self, shape: Shape) -> bool:
        """Whether any stretch of the text has this shape."""
        return any(one.shape is shape for one in self._stretches)

    def found(self, kind: Kind) -> list[Advice]:
        """The faults of a kind; one that an editor accepted is still there for the reader."""
        return [
            one for one in self.advice if one.kind is kind and one.standing is not Standing.SHOWN
        ]

    def said(self, *names: str) -> list[str]:
        """The words of the text that are in one of these lists."""
        wanted = frozenset().union(*map(words, names))
        return [
            word.text
            for sentence in self.page.sentences
            for word in sentence.words
            if word.text in wanted
        ]

    @property
    def _stretches(self) -> Sequence[Stretch]:
        return self.page.placed.stretches


Verdict = tuple[Answer, str]
Judge = Callable[[Facts], Verdict]


def _list_of(stretch: Stretch) -> int:
    return stretch.items


def person(why: str) -> Judge:
    """An item that no program can answer."""
    return lambda facts: (Answer.NEEDS_A_PERSON, why)


def unless_visual(why: str) -> Judge:
    """An item about pictures: not applicable without any."""

    def judge(facts: Facts) -> Verdict:
        if not facts.page.placed.images:
            return Answer.NOT_APPLICABLE, "there is no picture in the text"
        return Answer.NEEDS_A_PERSON, why

    return judge


def everyday_words(facts: Facts) -> Verdict:
    """PEMAT-P 3: not met when plainer words are known."""
    plainer = [word for word in facts.hard_words if word.plainer]
    if plainer:
        named = ", ".join(word.words for word in plainer[:_NAMED])
        return Answer.NOT_MET, f"plainer words are known for {len(plainer)} of its words: {named}"
    return Answer.NEEDS_A_PERSON, "no word of the plain-words list was found; others may be hard"


def terms_defined(facts: Facts) -> Verdict:
    """PEMAT-P 4: not met when a glossary term is not explained."""
    found = facts.found(Kind.UNEXPLAINED_TERM)
    if found:
        return Answer.NOT_MET, "not explained: " + ", ".join(one.words for one in found[:_NAMED])
    return Answer.NEEDS_A_PERSON, "no glossary term is unexplained; others may stand in the text"


def active_voice(facts: Facts) -> Verdict:
    """PEMAT-P 5, CDC 6: met when at least 80% of the sentences have no passive."""
    whole = len(facts.page.sentences)
    if not whole:
        return Answer.NOT_APPLICABLE, "there is no sentence"
    passive = len({facts.page.sentence_at(one.start) for one in facts.found(Kind.PASSIVE)})
    answer = Answer.MET if whole - passive >= _MOSTLY * whole else Answer.NOT_MET
    return answer, f"{whole - passive} of {whole} sentences have no passive voice"


def clear_numbers(facts: Facts) -> Verdict:
    """PEMAT-P 6: not met when a number has no unit."""
    bare = facts.found(Kind.BARE_NUMBER)
    if bare:
        return Answer.NOT_MET, "without a unit: " + ", ".join(one.words for one in bare[:_NAMED])
    if not facts.numerals:
        return Answer.NOT_APPLICABLE, "there is no figure"
    return Answer.NEEDS_A_PERSON, "every figure has a unit; whether they are clear is not known"


def no_sums(facts: Facts) -> Verdict:
    """PEMAT-P 7, CDC 17: not met when a word asks the reader to reckon."""
    sums = facts.said("summing")
    if sums:
        return Answer.NOT_MET, "may ask for a sum: " + ", ".join(dict.fromkeys(sums))
    if not facts.numerals:
        return Answer.MET, "there is no figure to reckon with"
    return Answer.NEEDS_A_PERSON, "no word of reckoning was found among its figures"


def chunks(facts: Facts) -> Verdict:
    """PEMAT-P 8: no paragraph longer than the limit."""
    if facts.is_short:
        return Answer.NOT_APPLICABLE, "the text is very short"
    longest = max(
        sum(1 for _ in group) for _, group in groupby(facts.page.sentences, key=_stretch_of)
    )
    answer = Answer.MET if longest <= facts.limits.paragraph_sentences else Answer.NOT_MET
    return answer, f"the longest paragraph has {longest} sentences"


def _stretch_of(sentence: Sentence) -> int:
    return id(sentence.stretch)


def headings(facts: Facts) -> Verdict:
    """PEMAT-P 9: not met without headings, or when one says nothing."""
    if facts.is_short:
        return Answer.NOT_APPLICABLE, "the text is very short"
    empty = [one for one in facts.headings if one.lower() in words("empty_headings")]
    if not facts.headings:
        return Answer.NOT_MET, "there is no heading"
    if empty:
        return Answer.NOT_MET, f"“{empty[0]}” does not say what follows"
    return (
        Answer.NEEDS_A_PERSON,
        f"{len(facts.headings)} headings; whether they inform is not known",
    )


def headed_chunks(facts: Facts) -> Verdict:
    """CDC 9: short sections, and a heading for each."""
    short = chunks(facts)
    return headings(facts) if short[0] is Answer.MET else short


def summary(facts: Facts) -> Verdict:
    """PEMAT-P 11: a heading announces a summary."""
    if facts.is_short:
        return Answer.NOT_APPLICABLE, "the text is very short"
    for heading in facts.headings:
        if any(" ".join(one) in heading.lower() for one in phrases("summaries")):
            return Answer.MET, f"“{heading}”"
    return Answer.NOT_MET, "no heading announces a summary"


def cues(facts: Facts) -> Verdict:
    """PEMAT-P 12: something is in bold, or there is a list."""
    cues = [f"{facts.page.placed.bold} in bold"] if facts.page.placed.bold else []
    cues += [f"{len(facts.lists)} lists"] if facts.lists else []
    if cues:
        return Answer.MET, ", ".join(cues)
    return Answer.NOT_MET, "nothing in bold and no list"


def lists(facts: Facts) -> Verdict:
    """CDC 8: there is a list."""
    if facts.lists:
        return Answer.MET, f"{len(facts.lists)} lists"
    if facts.is_short:
        return Answer.NOT_APPLICABLE, "the text is very short"
    return Answer.NOT_MET, "there is no list"


def tables(facts: Facts) -> Verdict:
    """PEMAT-P 19: not applicable without a table."""
    if not facts.page.placed.tables:
        return Answer.NOT_APPLICABLE, "there is no table"
    return Answer.NEEDS_A_PERSON, "whether the tables are simple is not known"


def action(facts: Facts) -> Verdict:
    """PEMAT-P 20, CDC 5 and 12: a sentence tells the reader what to do."""
    if facts.actions:
        return Answer.MET, f"{facts.actions} sentences tell the reader what to do"
    return Answer.NOT_MET, "no sentence tells the reader what to do"


def addresses(facts: Facts) -> Verdict:
    """PEMAT-P 21: at least 80% of the actions are told to the reader without a wrapping."""
    wrapped = len(facts.found(Kind.BURIED_ACTION))
    whole = facts.actions + wrapped
    if not whole:
        return Answer.NOT_MET, "no sentence tells the reader what to do"
    answer = Answer.MET if facts.actions >= _MOSTLY * whole else Answer.NOT_MET
    return answer, f"{facts.actions} actions are told to the reader, {wrapped} are buried"


def steps(facts: Facts) -> Verdict:
    """PEMAT-P 22: not met without actions, or with more than a reader can follow."""
    if not facts.actions:
        return Answer.NOT_MET, "no sentence tells the reader what to do"
    if len(facts.found(Kind.MANY_ACTIONS)):
        return Answer.NOT_MET, f"{facts.actions} actions are too many to follow"
    said = "there are numbered steps" if facts.has(Shape.STEP) else "there are no numbered steps"
    return Answer.NEEDS_A_PERSON, f"{said}; whether each action is in steps is not known"


def tool(facts: Facts) -> Verdict:
    """PEMAT-P 23: there is a checklist to fill in."""
    if any(box in facts.page.text for box in _TICK_BOXES) or "checklist" in facts.page.text.lower():
        return Answer.MET, "there is a checklist"
    return Answer.NOT_MET, "no checklist or tick box was found"


def calculations(facts: Facts) -> Verdict:
    """PEMAT-P 24: not applicable without figures."""
    if facts.said("summing"):
        return Answer.NEEDS_A_PERSON, "there may be a sum; whether it is explained is not known"
    if facts.numerals:
        return (
            Answer.NEEDS_A_PERSON,
            "there are figures; whether the reader must reckon is not known",
        )
    return Answer.NOT_APPLICABLE, "there is no figure"


def charts(facts: Facts) -> Verdict:
    """PEMAT-P 25: not applicable without a chart, picture or table."""
    if not facts.page.placed.images and not facts.page.placed.tables:
        return Answer.NOT_APPLICABLE, "there is no chart, picture or table"
    return Answer.NEEDS_A_PERSON, "whether they are explained is not known"


def figures(why: str) -> Judge:
    """An item about numbers: not applicable without any."""

    def judge(facts: Facts) -> Verdict:
        if not facts.numerals:
            return Answer.NOT_APPLICABLE, "there is no figure"
        return Answer.NEEDS_A_PERSON, why

    return judge


def point(facts: Facts) -> Verdict:
    """EU 2009: type of at least 9 point."""
    if facts.point is None:
        return Answer.NEEDS_A_PERSON, "the type size is not known"
    answer = Answer.MET if facts.point >= _LEAST_POINT else Answer.NOT_MET
    return answer, f"{facts.point:g} point; at least {_LEAST_POINT:g} of the guideline's type"


def leading(facts: Facts) -> Verdict:
    """EU 2009: at least 3 mm from line to line."""
    if facts.leading_mm is None:
        return Answer.NEEDS_A_PERSON, "the distance between lines is not known"
    answer = Answer.MET if facts.leading_mm >= _LEAST_LEADING else Answer.NOT_MET
    return answer, f"{facts.leading_mm:g} mm from line to line; at least {_LEAST_LEADING:g}"


def sentence_length(facts: Facts) -> Verdict:
    """EU 2009: no sentence above the limit."""
    long = len(facts.found(Kind.LONG_SENTENCE))
    said = f"{long} sentences of more than {facts.limits.sentence_words} words (from memory)"
    return (Answer.NOT_MET if long else Answer.MET), said


def bullets(facts: Facts) -> Verdict:
    """EU 2009: no list longer than the limit."""
    if not facts.lists:
        return Answer.NOT_APPLICABLE, "there is no list"
    longest = max(facts.lists)
    answer = Answer.MET if longest <= facts.limits.list_items else Answer.NOT_MET
    return (
        answer,
        f"the longest list has {longest} items; at most {facts.limits.list_items} (from memory)",
    )

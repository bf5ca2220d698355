"""Where the independent second scorer disagrees, and why if it is known."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from aftercare.model import Library, Line, Role
from aftercare.proof.reading import costs
from aftercare.proof.wordings import PAGE
from aftercare.score import second_opinion

# textstat and this engine may differ by this much before an editor is told.
MAY_DIFFER = 1.0
SHORTEST_TOLD = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Disagreement:
    """Where textstat and this engine are more than a grade apart, and why if it is known."""

    block: str
    ours: float
    theirs: float
    why: str


def disagreements(library: Library) -> Iterator[Disagreement]:
    """English pages on which the independent second scorer differs by more than a grade.

    textstat gets every line with a full stop and without slots, since it runs lists together
    and reads addresses as words.
    """
    for cost in costs(library, library.source_language):
        if cost.wording.form != PAGE or cost.grade is None or not cost.counts.words:
            continue
        text = " ".join(map(_closed, cost.wording.lines))
        theirs = second_opinion(text)["flesch_kincaid"]
        if abs(theirs - cost.grade) > MAY_DIFFER:
            yield Disagreement(
                block=cost.wording.block, ours=cost.grade, theirs=theirs, why=_why(text)
            )


def _closed(line: Line) -> str:
    kept = (Role.WORDS, Role.DATE)
    text = "".join(span.text for span in line.spans if span.role in kept).strip()
    return text if text.endswith((".", "?", "!")) else f"{text}."


def _why(text: str) -> str:
    """The known faults of textstat 0.7.13 that this text can have met."""
    if re.search(r"\d\.\d", text):
        return "textstat ends a sentence inside a decimal number"
    sentences = [one for one in re.split(r"[.?!]+", text) if one.strip()]
    if any(len(one.split()) <= SHORTEST_TOLD for one in sentences):
        return "textstat counts no sentence of one or two words"
    return "not known; look at its sentences and syllables by hand"

"""Who is spoken to: rows 14 and 15."""

from __future__ import annotations

from collections.abc import Iterator

from aftercare.model import Channel, Line
from aftercare.rules.rule import Act, Rule
from aftercare.rules.sayings import says, sentences, text_of
from aftercare.rules.seen import Seen, named

# What each thing would be to a child, in the order it is looked for.
_NOT_FOR_A_CHILD = {
    "patient_voice": "speaks to the patient, not to the parent or carer",
    "adult_dose": "gives an adult's dose",
    "aspirin": "names aspirin, which nobody under 16 is given",
    "adult_timing": "gives a time that was set for adults",
}


def _child(seen: Seen) -> Iterator[str]:
    if "age:child" in seen.facts:
        for thing, what in _NOT_FOR_A_CHILD.items():
            for told in seen.saying(thing):
                yield f"{named(told)} {what}"


def _grown_up(seen: Seen) -> Iterator[str]:
    if "age:adult" not in seen.facts or "need:proxy" in seen.facts:
        return
    for told in seen.saying("parent_voice"):
        yield f"{named(told)} speaks to a parent; the patient is 16 or over"
    known = seen.known("parent_voice")
    for line in _greeting(seen):
        if any(says(one, known) for one in sentences(text_of(line.spans))):
            yield "the greeting speaks to a parent; the patient is 16 or over"


def _greeting(seen: Seen) -> list[Line]:
    if seen.message.channel is Channel.SMS:
        return []
    return [seen.frame[key] for key in ("title", "salutation") if key in seen.frame]


RULES = (
    Rule(
        name="adult words for a child", row=14, act=Act.BLOCK, overridable=True, check=_child,
        source="NICE NG98 is about adults; aspirin under 16: MHRA, from memory; the voice: common "
        "practice, no source",
    ),
    Rule(
        name="addressed to a parent", row=15, act=Act.WARN, check=_grown_up,
        source="UK default, from memory: from 16 the patient is written to",
    ),
)  # fmt: skip

"""The release gate: what must hold of a finished message before it may leave.

``unsafe`` is never waived. ``unapproved`` is waived for samples alone, which are stamped.
``over_limits`` stops nothing: it is told to the clinician.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from aftercare.choose import uncovered
from aftercare.model import (
    Approval,
    ApprovalState,
    Case,
    Channel,
    Choice,
    Fact,
    Kind,
    Library,
    Message,
    Role,
    Worded,
)
from aftercare.recall import Due

_WORD = re.compile(r"\w+")
# Arabic vowel signs, the tatweel and invisible marks: "ear" is the same word with or without.
_SILENT = re.compile("[\u00ad\u0640\u064b-\u065f\u0670\u200b-\u200f\u2060\u2066-\u2069\ufeff]")


@dataclass(frozen=True, slots=True)
class Asked:
    """What a message is judged against."""

    case: Case
    library: Library
    recall: Due | None
    facts: frozenset[Fact]
    choice: Choice
    worded: Worded
    today: date


def unsafe(message: Message, asked: Asked) -> Iterator[str]:
    """Why this message may reach nobody, not even as a sample."""
    if asked.worded.missing:
        yield from _untranslated(message, asked)
        return
    for fact in uncovered(asked.case, asked.choice):
        yield f"no content for {fact}"
    if asked.recall and asked.recall.on < asked.today:
        yield f"the recall date {asked.recall.on} is past"
    yield from _without_help(message, asked)
    yield from _strange_numbers(message, asked)
    yield from _out_of_date(message, asked)
    if message.channel is Channel.SMS:
        yield from _unsafe_on_a_locked_screen(message, asked)


def unapproved(message: Message, asked: Asked) -> Iterator[str]:
    """Which words nobody stands behind yet."""
    drafts = [
        one.block.id
        for one in message.chosen
        if one.block.approval.state is not ApprovalState.APPROVED
    ]
    if asked.library.frame.approval.state is not ApprovalState.APPROVED:
        drafts.append("frame")
    if drafts:
        yield f"not approved by a clinician: {_listed(drafts)}"
    edited = [one.block.id for one in message.chosen if one.block.approval.undone]
    if asked.library.frame.approval.undone:
        edited.append("frame")
    if edited:
        yield f"edited since it was approved: {_listed(edited)}"
    early = [one.block.id for one in message.chosen if _too_early(one.block.approval, asked.today)]
    if _too_early(asked.library.frame.approval, asked.today):
        early.append("frame")
    if early:
        yield f"approved on a day that has not come: {_listed(early)}"
    lines = (*message.lines, *asked.worded.frame.values())
    foreign = [line.block_id for line in lines if not line.approved]
    if foreign and not asked.worded.missing:
        yield f"translation ({message.language}) not approved: {_listed(foreign)}"


def over_limits(message: Message, asked: Asked) -> Iterator[str]:
    """What costs the reader more than the clinic's limits allow."""
    limits, score = asked.library.limits, message.score
    if score.fkgl is not None and score.fkgl > limits.fkgl:
        yield f"reading grade {score.fkgl:.1f}, over the limit of {limits.fkgl:g}"
    longest = score.counts.longest_sentence
    if longest > limits.sentence_words:
        yield f"a sentence of {longest} words, over the limit of {limits.sentence_words}"
    checked = asked.library.region.checked
    if asked.today - checked > timedelta(days=limits.recheck_days):
        yield f"emergency numbers were last checked on {checked}"
    if checked > asked.today:
        yield f"emergency numbers are marked as checked on {checked}, which has not come"


def _too_early(approval: Approval, today: date) -> bool:
    return approval.on is not None and approval.on > today


def _untranslated(message: Message, asked: Asked) -> Iterator[str]:
    if message.language not in asked.library.catalogues:
        yield f"there is no catalogue for {message.language}"
    else:
        yield f"translation ({message.language}) missing: {_listed(asked.worded.missing)}"


def _without_help(message: Message, asked: Asked) -> Iterator[str]:
    """Law 2: urgent signs, the emergency number, and a way to the clinic this patient can use."""
    kinds = {one.block.id: one.block.kind for one in message.chosen}
    if Kind.URGENT not in kinds.values():
        yield "no urgent signs"
    if Kind.CONTACT not in kinds.values():
        yield "no way to contact the clinic"
    told: dict[Kind, set[str]] = {Kind.URGENT: set(), Kind.CONTACT: set()}
    for line in message.lines:
        said = told.get(kinds.get(line.block_id, Kind.CARE), set())
        # A patient may be called like a number: only what stands as one counts.
        said |= {span.text for span in line.spans if span.role in (Role.PHONE, Role.LINK)}
    if not told[Kind.URGENT] & _emergency_numbers(asked):
        yield f"no emergency number of {asked.library.region.code}"
    if not told[Kind.CONTACT] & _routes(asked):
        yield "no route to the clinic that this patient can use"


def _emergency_numbers(asked: Asked) -> set[str]:
    """A text reaches the emergency service of some regions, and helps whoever cannot speak."""
    region = asked.library.region
    texted = {region.emergency_text_number or ""} if "speech:no-phone" in asked.facts else set()
    return {region.emergency_number} | texted


def _routes(asked: Asked) -> set[str]:
    clinic = asked.library.clinic
    routes = {clinic.phone} if "speech:phone" in asked.facts else set()
    routes |= {clinic.text_number or ""} if "reply:text" in asked.facts else set()
    return routes | ({clinic.email} if "reply:email" in asked.facts else set())


def _strange_numbers(message: Message, asked: Asked) -> Iterator[str]:
    """Rule 18: every phone number is one of the clinic's or of its region."""
    region, clinic = asked.library.region, asked.library.clinic
    known = {
        clinic.phone, clinic.text_number, region.emergency_number, region.emergency_text_number,
        region.urgent_advice_number, region.urgent_advice_relay,
    }  # fmt: skip
    for line in message.lines:
        for span in line.spans:
            if span.role is Role.PHONE and span.text not in known:
                yield f"a phone number in {line.block_id} is not one of this clinic's region"


def _out_of_date(message: Message, asked: Asked) -> Iterator[str]:
    late = [one.block.id for one in message.chosen if one.block.review_by < asked.today]
    if asked.library.frame.review_by < asked.today:
        late.append("frame")
    if late:
        yield f"past its review date: {_listed(late)}"


def _unsafe_on_a_locked_screen(message: Message, asked: Asked) -> Iterator[str]:
    if "texts:detail" in asked.facts:
        return
    listed = asked.library.limits.lock_screen.get(message.language)
    if listed is None:
        yield f"shared/limits.toml lists no lock-screen words for {message.language}"
        return
    said = _words(" ".join(line.text for line in message.lines))
    found = sorted(word for word in listed if _words(word) <= said)
    if found:
        yield f"not safe on a locked screen: {_listed(found)}"


def _words(text: str) -> set[str]:
    """The words of a text, however they were typed; a letter keeps its accents and vowel signs."""
    if text.isascii():
        return set(_WORD.findall(text.casefold()))
    plain = unicodedata.normalize("NFC", _SILENT.sub("", text)).casefold()
    apart = (char if unicodedata.category(char)[0] in "LMN" else " " for char in plain)
    return set("".join(apart).split())


def _listed(names: Iterable[str]) -> str:
    return ", ".join(dict.fromkeys(names))

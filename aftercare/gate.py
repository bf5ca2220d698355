"""The release gate: what must hold of a finished message before it may leave.

``unsafe`` is waived for nobody, but for a rule of judgement that a clinician overrode by name,
with a reason. ``unapproved`` is waived for samples alone, which are stamped. ``over_limits`` and
``warnings`` stop nothing: they are told to the clinician.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, timedelta

from aftercare.choose import uncovered
from aftercare.model import (
    Approval,
    ApprovalState,
    Case,
    Kind,
    Limits,
    Message,
    Override,
    Role,
    Score,
)
from aftercare.recall import confirmed, unusual
from aftercare.rules import LOGGED, UNREVIEWED, Act, Asked, Broken, broken
from aftercare.score.languages import sentence_limit, word_unit
from aftercare.score.reading import reading

__all__ = [
    "Asked",
    "confirmed_recall",
    "logged",
    "out_of_date",
    "over_limits",
    "overridden",
    "too_hard",
    "unapproved",
    "unsafe",
    "warnings",
]


def unsafe(message: Message, asked: Asked, found: Iterable[Broken]) -> Iterator[str]:
    """Why this message may reach nobody, not even as a sample.

    ``found`` are the rules it breaks; what a clinician has overridden is left out, and so is
    that nobody has reviewed a translation, which a sample may break: ``unapproved`` asks it.
    """
    if not asked.worded.missing:
        for fact in uncovered(asked.case, asked.choice):
            yield f"no content for {fact}"
        yield from _without_help(message, asked)
        yield from out_of_date(message, asked)
    for one in found:
        stops = one.act is Act.BLOCK and one.rule is not UNREVIEWED
        if stops and _override(one, asked.case) is None:
            yield one.text


def overridden(found: Iterable[Broken], case: Case) -> Iterator[str]:
    """What a clinician let go, by name and with the reason; told and kept on record."""
    for one in found:
        override = _override(one, case) if one.act is Act.BLOCK else None
        if override:
            by, reason = f"{override.by}, {override.role}", override.reason
            yield f"overridden by {by}: {one.text}; reason: {reason}"


def logged(found: Iterable[Broken]) -> Iterator[str]:
    """Where two conditions gave opposing advice and the stricter won: kept on record."""
    return (one.text for one in found if one.rule is LOGGED)


def warnings(found: Iterable[Broken]) -> Iterator[str]:
    """What the contradiction rules tell the clinician and stop nothing for."""
    return (one.text for one in found if one.act is Act.WARN and one.rule is not LOGGED)


def _override(one: Broken, case: Case) -> Override | None:
    """The clinician's decision on this rule, where its row leaves one."""
    if not one.rule.overridable:
        return None
    return next((made for made in case.overrides if made.rule == one.rule.name), None)


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
    yield from (one.text for one in broken(message, asked, (UNREVIEWED,)))


def over_limits(message: Message, asked: Asked) -> Iterator[str]:
    """What costs the reader more than the clinic's limits allow."""
    limits = asked.library.limits
    yield from too_hard(message.score, message.language, limits)
    left_out = [one.block_id for one in asked.choice.omitted if one.called_for]
    if left_out:
        yield (
            f"left out, so that no more than {limits.actions} things are asked: "
            f"{_listed(left_out)}; tell the patient, if they need to know"
        )
    yield from unusual(asked.case, limits.recall_months)
    checked = asked.library.region.checked
    if asked.today - checked > timedelta(days=limits.recheck_days):
        yield f"emergency numbers were last checked on {checked}"
    if checked > asked.today:
        yield f"emergency numbers are marked as checked on {checked}, which has not come"


def too_hard(score: Score, language: str, limits: Limits) -> Iterator[str]:
    """Where words read harder than the clinic's limits allow."""
    if score.fkgl is not None and score.fkgl > limits.fkgl:
        yield f"reading grade {score.fkgl:.1f}, over the limit of {limits.fkgl:g}"
    for name, value in score.own:
        formula, limit = reading(language).formulas[name], limits.formulas.get(name)
        if formula is not None and limit is not None and formula.harder(value, limit):
            yield f"{formula.title} {value:.1f}, harder than the limit of {limit:g}"
    longest, most = score.counts.longest_sentence, sentence_limit(language, limits)
    if longest > most:
        yield f"a sentence of {longest} {word_unit(language)}s, over the limit of {most}"


def confirmed_recall(asked: Asked) -> Iterator[str]:
    """A recall figure outside what is allowed that a clinician confirmed: kept on record."""
    return confirmed(asked.case, asked.library.limits.recall_months)


def _too_early(approval: Approval, today: date) -> bool:
    return approval.on is not None and approval.on > today


def _without_help(message: Message, asked: Asked) -> Iterator[str]:
    """Law 2: urgent signs, the emergency number, and a way to the clinic; rule 12 has more."""
    kinds = {one.block.id: one.block.kind for one in message.chosen}
    if Kind.URGENT not in kinds.values():
        yield "no urgent signs"
    if Kind.CONTACT not in kinds.values():
        yield "no way to contact the clinic"
    told = {
        span.text
        for line in message.lines
        if kinds.get(line.block_id) is Kind.URGENT
        for span in line.spans
        # A patient may be called like a number: only what stands as one counts.
        if span.role is Role.PHONE
    }
    if not told & _emergency_numbers(asked):
        yield f"no emergency number of {asked.library.region.code}"


def _emergency_numbers(asked: Asked) -> set[str]:
    """A text reaches the emergency service of some regions, and helps whoever cannot speak."""
    region = asked.library.region
    texted = {region.emergency_text_number or ""} if "speech:no-phone" in asked.facts else set()
    return {region.emergency_number} | texted


def out_of_date(message: Message, asked: Asked) -> Iterator[str]:
    """Which words are past the day they were to be looked at again."""
    late = [one.block.id for one in message.chosen if one.block.review_by < asked.today]
    if asked.library.frame.review_by < asked.today:
        late.append("frame")
    if late:
        yield f"past its review date: {_listed(late)}"


def _listed(names: Iterable[str]) -> str:
    return ", ".join(dict.fromkeys(names))

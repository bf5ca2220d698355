"""The next visit: rows 19 and 21."""

from __future__ import annotations

from collections.abc import Iterator

from aftercare.model import Kind, Role
from aftercare.recall import due
from aftercare.recall.dates import closure
from aftercare.rules.rule import Act, Rule
from aftercare.rules.seen import Seen, Told

_NO_MORE = ("status:deceased", "status:moved", "status:opted-out", "status:discharged")


def _date(seen: Seen) -> Iterator[str]:
    recall, case, clinic = seen.asked.recall, seen.case, seen.asked.library.clinic
    if recall is None:
        return
    if recall.on < seen.asked.today:
        yield f"the recall date {recall.on} is past"
    if recall.on <= case.visit_date:
        yield f"the recall date {recall.on} is not after the visit"
    closed = closure(recall.on, clinic)
    if closed:
        yield f"the recall date {recall.on}: {closed}"
    agreed = due(case.visit_date, case.recall, clinic).on if case.recall else None
    if recall.on != agreed:
        yield f"the recall date {recall.on} is not the one agreed, {agreed or 'which is none'}"


def _not_wanted(seen: Seen) -> Iterator[str]:
    standing = seen.having(_NO_MORE)
    if standing and seen.tells(_dated):
        yield f"a return visit is told of, and the record says {', '.join(standing)}"


def _agreed_all_the_same(seen: Seen) -> Iterator[str]:
    if "recall:agreed" not in seen.facts:
        return
    standing = seen.having(_NO_MORE)
    if seen.case.recall_declined:
        standing.append("no recall was agreed")
    if standing:
        yield f"a return visit was agreed, and the record says {', '.join(standing)}"


def _dated(told: Told) -> bool:
    """Whether a line on the next visit gives a date."""
    return told.kind is Kind.RECALL and any(span.role is Role.DATE for span in told.line.spans)


RULES = (
    Rule(
        name="recall date", row=19, act=Act.BLOCK, record=_date, wording="{why}",
        source="the interval agreed with the patient and the clinic's own calendar",
    ),
    Rule(
        name="recall not wanted", row=21, act=Act.BLOCK, check=_not_wanted,
        record=_agreed_all_the_same,
        source="the patient's own record",
    ),
)  # fmt: skip

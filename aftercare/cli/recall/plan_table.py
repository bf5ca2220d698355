"""A catch-up plan as JSON values, and as a table for a spreadsheet."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import asdict
from io import StringIO
from typing import Any

from aftercare.recall.catch_up import Answer, LeftOut, Proof, Waiting

# What a table program may take for a formula at the start of a cell (OWASP, CSV injection).
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
_COLUMNS = (
    "ref", "when", "minutes", "condition", "weight", "due", "limit", "overdue_days", "told",
    "was", "reason",
)  # fmt: skip


def as_dict(answer: Answer, left_out: Sequence[LeftOut], notes: Sequence[str]) -> dict[str, Any]:
    """The whole answer; days are ISO 8601 texts, places in the order of the plan."""
    return {
        "from": answer.start.isoformat(),
        "counted_without_place_on": answer.plan.beyond.isoformat(),
        "objective": [aim.value for aim in answer.objective],
        "limits": answer.limits.value,
        "passing_weeks": answer.plan.passing_weeks,
        "proof": [_proof(one) for one in answer.plan.proofs],
        "measures": {name: asdict(one) for name, one in answer.measures.items()},
        "conditions": [
            {**asdict(one), "last": one.last and one.last.isoformat()} for one in answer.conditions
        ],
        "told_and_moved": [one.ref for one in answer.told_and_moved],
        "places": [_place(answer, one) for one in answer.order],
        "left_out": [asdict(one) for one in left_out],
        "invitations": [
            {"week": one.first.isoformat(), "planned": one.planned, "invite": one.invite}
            for one in answer.invitations
        ],
        "backlog": {
            name: [{**asdict(one), "day": one.day.isoformat()} for one in weeks]
            for name, weeks in answer.backlogs.items()
        },
        "notes": list(notes),
    }


def _proof(one: Proof) -> dict[str, Any]:
    return {
        "aim": one.aim.value,
        "value": one.value,
        "bound": one.bound,
        "exact": one.exact,
        "gap": round(one.gap, 6),
    }


def _place(answer: Answer, one: Waiting) -> dict[str, Any]:
    seat, day = answer.plan.places[one.ref], answer.plan.day(one)
    reason = answer.reasons[one.ref]
    return {
        "ref": one.ref,
        "when": None if seat is None else str(seat.when),
        "minutes": None if seat is None else seat.minutes,
        "condition": one.stake.condition,
        "weight": one.stake.weight,
        "due": one.due.isoformat(),
        "limit": one.limit.isoformat(),
        "overdue_days": one.overdue(day),
        "past_limit": one.limit < day,
        "told": one.told and not answer.plan.moved(one),
        "was": None if one.promised is None else str(one.promised),
        "moved": answer.plan.moved(one),
        "reason": reason.said,
        "ahead": [
            {"why": ahead.why.value, "people": ahead.people, "such_as": ahead.such_as}
            for ahead in reason.ahead
        ],
    }


def as_table(answer: Answer) -> str:
    """A row for each person, in the order of the plan; no cell can be taken for a formula."""
    written = StringIO()
    table = csv.writer(written)
    table.writerow(_COLUMNS)
    for one in answer.order:
        place = _place(answer, one)
        table.writerow([_cell(place[name]) for name in _COLUMNS])
    return written.getvalue()


def _cell(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    words = "" if value is None else str(value)
    return f"'{words}" if words.startswith(_FORMULA) else words

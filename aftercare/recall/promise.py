"""What was promised of a recall: its day as it was agreed, and the last day that is not too late.

Both are counted from the agreement, so that putting a recall off again and again moves neither.
"""

from __future__ import annotations

from datetime import date, timedelta

from aftercare.recall.dates import add_months
from aftercare.recall.people import Recall
from aftercare.recall.risk import RiskOrder


def promised(recall: Recall) -> date:
    """The day agreed with the patient, or the day it is due on if that is earlier."""
    agreed = recall.interval
    if not agreed.months and not agreed.weeks:
        return recall.due
    try:
        day = add_months(recall.anchor, agreed.months) + timedelta(weeks=agreed.weeks)
    except (OverflowError, ValueError):
        return recall.due
    return min(day, recall.due)


def limit(recall: Recall, risks: RiskOrder) -> date:
    """The last day that is not too late for a recall."""
    conditions = () if recall.condition is None else (recall.condition,)
    return risks.of(conditions).limit(promised(recall))

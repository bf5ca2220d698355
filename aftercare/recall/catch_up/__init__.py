"""CATCH UP: whom to call first, with the clinics there are."""

from aftercare.recall.catch_up.answer import LEAST_LOSS, Answer, Condition, answer
from aftercare.recall.catch_up.listed import (
    Earlier,
    LeftOut,
    Listed,
    due_by,
    from_register,
    in_reach,
    to_plan,
    with_earlier,
)
from aftercare.recall.catch_up.measures import (
    Backlog,
    Invitations,
    Measures,
    backlog,
    invitations,
    measures,
    soonest_day,
)
from aftercare.recall.catch_up.optimum import best, day_after
from aftercare.recall.catch_up.reasons import Ahead, Before, Reason, in_order, reasons
from aftercare.recall.catch_up.usual import Custom, by_custom
from aftercare.recall.catch_up.values import Aim, Opening, Plan, Proof, Seat, Span, Waiting

__all__ = [
    "LEAST_LOSS",
    "Ahead",
    "Aim",
    "Answer",
    "Backlog",
    "Before",
    "Condition",
    "Custom",
    "Earlier",
    "Invitations",
    "LeftOut",
    "Listed",
    "Measures",
    "Opening",
    "Plan",
    "Proof",
    "Reason",
    "Seat",
    "Span",
    "Waiting",
    "answer",
    "backlog",
    "best",
    "by_custom",
    "day_after",
    "due_by",
    "from_register",
    "in_order",
    "in_reach",
    "invitations",
    "measures",
    "reasons",
    "soonest_day",
    "to_plan",
    "with_earlier",
]

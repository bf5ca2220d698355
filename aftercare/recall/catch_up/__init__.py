"""CATCH UP: whom to call first, with the clinics there are."""

from aftercare.recall.catch_up.optimum import best
from aftercare.recall.catch_up.measures import (
    Backlog,
    Invitations,
    Measures,
    backlog,
    invitations,
    measures,
    soonest_day,
)
from aftercare.recall.catch_up.reasons import Ahead, Before, Reason, in_order, reasons
from aftercare.recall.catch_up.usual import Custom, by_custom
from aftercare.recall.catch_up.values import Aim, Opening, Plan, Proof, Seat, Span, Waiting

__all__ = [
    "Ahead",
    "Aim",
    "Backlog",
    "Before",
    "Custom",
    "Invitations",
    "Measures",
    "Opening",
    "Plan",
    "Proof",
    "Reason",
    "Seat",
    "Span",
    "Waiting",
    "backlog",
    "best",
    "by_custom",
    "in_order",
    "invitations",
    "measures",
    "reasons",
    "soonest_day",
]

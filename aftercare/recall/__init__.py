"""RECALL: when a patient is due back, what moved the day, and whether the figure is usual."""

from aftercare.recall.dates import Due, due
from aftercare.recall.figures import (
    USUAL_BECAUSE,
    Figure,
    Standing,
    confirmed,
    figures,
    unusual,
)

__all__ = [
    "USUAL_BECAUSE",
    "Due",
    "Figure",
    "Standing",
    "confirmed",
    "due",
    "figures",
    "unusual",
]

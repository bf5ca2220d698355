"""PROOF: what holds of everything a shelf can say, not of a sample of it."""

from aftercare.proof.editing import Finding, advice_limits, findings, review_text
from aftercare.proof.reading import Proved, bound_of, held_to, over_limit, prove_reading
from aftercare.proof.second import Disagreement, disagreements

__all__ = [
    "Disagreement",
    "Finding",
    "Proved",
    "advice_limits",
    "bound_of",
    "disagreements",
    "findings",
    "held_to",
    "over_limit",
    "prove_reading",
    "review_text",
]

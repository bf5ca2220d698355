"""RECALL: when a patient is due back, and what moved the day."""

from aftercare.recall.dates import Due, due

__all__ = ["Due", "due"]

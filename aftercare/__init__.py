"""Aftercare: from the facts of an ear-care visit to words a patient can use."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from aftercare.score.text import score_text

__all__ = ["__version__", "score_text"]
__version__ = "0.1.0"


def __getattr__(name: str) -> object:
    # Importing the package stays cheap: a room is read when its name is first asked for.
    if name == "score_text":
        from aftercare.score.text import score_text

        return score_text
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")

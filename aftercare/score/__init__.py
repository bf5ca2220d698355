"""SCORE: what words cost the reader. Counts, syllables, formulas, languages.

Names are read from their module when first asked for, so that each door pays for what it uses.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from aftercare.score.dictionary import Dictionary
    from aftercare.score.lines import count_lines, score_lines
    from aftercare.score.second import second_opinion
    from aftercare.score.tally import add
    from aftercare.score.text import TextScore, score_text

__all__ = [
    "Dictionary",
    "TextScore",
    "add",
    "count_lines",
    "score_lines",
    "score_text",
    "second_opinion",
]
_HOME = {
    "Dictionary": "dictionary",
    "TextScore": "text",
    "add": "tally",
    "count_lines": "lines",
    "score_lines": "lines",
    "score_text": "text",
    "second_opinion": "second",
}


def __getattr__(name: str) -> object:
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_HOME[name]}"), name)

"""Advice for the editor of an English text: what to change, where, why, and on whose word.

advise      every piece of advice with its place in the source
hardest     the hardest sentences, why, and what would help
hard_words  the hard words, with a plainer choice where one is known
compare     what a rewrite gained
report      the measurable items of published instruments
"""

from aftercare.score.advice.compare import Comparison, compare
from aftercare.score.advice.hard import HardSentence, HardWord, hard_words, hardest
from aftercare.score.advice.instruments import Item, report
from aftercare.score.advice.kinds import Accepted, Advice, AdviceLimits, Kind, Standing
from aftercare.score.advice.rules import advise

__all__ = [
    "Accepted",
    "Advice",
    "AdviceLimits",
    "Comparison",
    "HardSentence",
    "HardWord",
    "Item",
    "Kind",
    "Standing",
    "advise",
    "compare",
    "hard_words",
    "hardest",
    "report",
]

"""Advice for the editor of an English text: what to change, where, why, and on whose word.

advise      every piece of advice with its place in the source
hardest     the hardest sentences, why, and what would help
hard_words  the hard words, with a plainer choice where one is known
compare     what a rewrite gained
report      the measurable items of published instruments
"""

from aftercare.score.advice.compare import Change, Comparison, Difference, Turn, compare
from aftercare.score.advice.hard import HardSentence, HardWord, hard_words, hardest
from aftercare.score.advice.instruments import Instrument, Item, report
from aftercare.score.advice.judges import Answer
from aftercare.score.advice.kinds import Accepted, Advice, AdviceLimits, Kind, Standing
from aftercare.score.advice.review import Review, review
from aftercare.score.advice.rules import advise

__all__ = [
    "Accepted",
    "Advice",
    "AdviceLimits",
    "Answer",
    "Change",
    "Comparison",
    "Difference",
    "HardSentence",
    "HardWord",
    "Instrument",
    "Item",
    "Kind",
    "Review",
    "Standing",
    "Turn",
    "advise",
    "compare",
    "hard_words",
    "hardest",
    "report",
    "review",
]

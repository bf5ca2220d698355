"""What a programme says of a patient: a sign holds or not, and what follows of several."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import inf


@dataclass(frozen=True, slots=True)
class Sign:
    """A variable of the programme, or its opposite; without a column it is always or never."""

    column: int | None
    yes: bool = True

    def __invert__(self) -> Sign:
        return Sign(self.column, not self.yes)


ALWAYS, NEVER = Sign(None), Sign(None, yes=False)


@dataclass(frozen=True, slots=True)
class Between:
    """A sum over signs that is to be no less and no more than so much."""

    amounts: Sequence[tuple[Sign, float]]
    least: float = -inf
    most: float = inf


def are_all(ways: Iterable[frozenset[Sign]]) -> bool:
    """Whether of any patient just one of these ways holds.

    No two can hold at once, and their shares of all answers make a whole.
    """
    every = list(ways)
    apart = all(any(~sign in other for sign in one) for one, other in combinations(every, 2))
    return apart and sum(0.5 ** len(way) for way in every) == 1

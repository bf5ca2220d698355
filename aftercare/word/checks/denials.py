"""Negation kept: what the source forbids or denies, the translation does; and nothing else."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import NamedTuple

from aftercare.word.checks.pair import Finding, Read, Severity
from aftercare.word.checks.tongues import Denial
from aftercare.word.checks.words import Sentence

NEGATION = "negation"


class _Counted(NamedTuple):
    """Denials of a source and its translation, and the words that may stand for one.

    ``opened`` are clauses that both open and that some languages deny: until, unless. ``may`` is
    what the source leaves to a denial and the translation does not say outright.
    """

    denies: int
    may: int
    opened: int
    denied: int
    stands_in: int

    @property
    def lost(self) -> int:
        """Denials of the source that nothing in the translation can be."""
        return self.denies if not self.denied + self.stands_in else 0

    @property
    def added(self) -> int:
        """Denials of the translation that nothing in the source can be.

        Several words may make one denial (``ne … jamais``): beside one they are not counted.
        """
        return max(0, self.denied - self.may - self.opened) if not self.denies else 0


def negation(read: Read) -> Iterator[Finding]:
    """No denial is lost and none is added, sentence by sentence where the sentences pair up.

    A denial that has only moved to another sentence is neither.
    """
    found = [_counted(read, *one) for one in read.aligned()]
    spare = sum(max(0, one.denied + one.stands_in - one.denies) for one in found)
    if sum(one.lost for one in found) > spare:
        why = "the source says 'not' or 'never' where nothing in the translation does"
        yield Finding(NEGATION, Severity.BLOCK, why)
    unused = sum(max(0, one.denies + one.may - one.denied) for one in found)
    if sum(one.added for one in found) > unused:
        sure = not any(one.added and one.may + one.opened for one in found)
        why = "the translation denies or forbids something, and the source does not"
        yield Finding(NEGATION, Severity.BLOCK if sure else Severity.WARN, why)


def _counted(read: Read, source: tuple[Sentence, ...], target: tuple[Sentence, ...]) -> _Counted:
    mine = Counter(read.english.denials.values(source))
    theirs = Counter(read.tongue.denials.values(target))
    return _Counted(
        denies=mine[Denial.DENIES],
        may=max(0, mine[Denial.MAY] - theirs[Denial.SAYS]),
        opened=min(mine[Denial.OPENS], theirs[Denial.OPENS]),
        denied=theirs[Denial.DENIES],
        stands_in=theirs[Denial.MAY],
    )

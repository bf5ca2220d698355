"""Negation kept: what the source forbids or denies, the translation does; and nothing else."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain
from typing import NamedTuple

from aftercare.model import SLOTS, Role
from aftercare.word.checks.pair import Finding, Read, Severity
from aftercare.word.checks.tongues import Denial, Tongue
from aftercare.word.checks.words import Sentence, clauses

NEGATION = "negation"
# Read as words are: a slot is one word.
_RINGS = frozenset(f"{{{name}}}" for name, role in SLOTS.items() if role is Role.PHONE)
_LOST = "the source says 'not' or 'never' where nothing in the translation does"
_FEWER = "the source says 'not' or 'never' more often than the translation"
_ADDED = "the translation denies or forbids something, and the source does not"
_CALL = "the translation denies or forbids getting in touch, and the source does not"

_ALONE = {Denial.ALONE, Denial.SHARES}

Clauses = tuple[Sentence, ...]


class _Counted(NamedTuple):
    """Denials of a source and its translation, and the words that may stand for one.

    ``opened`` are clauses that both open and that some languages deny: until, unless. ``may`` is
    what the source leaves to a denial and the translation does not say outright. ``again`` are
    things the source denies with one word (not this or that), which may be denied one by one,
    ``repeated`` what it denies anew (not even) and a translation need not, and ``carried`` those
    that the translation denies so (``ni``). ``tied`` are denials that only make an ``until``.
    """

    denies: int
    may: int
    opened: int
    again: int
    repeated: int
    denied: int
    carried: int
    stands_in: int
    tied: int

    @property
    def lost(self) -> int:
        """Denials of the source that nothing in the translation can be."""
        left = self.denied - min(self.tied, self.opened) + self.stands_in
        return self.denies if left <= 0 else 0

    @property
    def added(self) -> int:
        """Denials of the translation that nothing in the source can be.

        Several words may make one denial (``ne … jamais``): beside one they are not counted.
        """
        return max(0, self.denied - self.may - self.opened) if not self.denies else 0

    @property
    def spare(self) -> int:
        """Denials of the translation that may have come here from elsewhere."""
        return max(0, self.denied + self.stands_in - self.denies - self.may)

    @property
    def unused(self) -> int:
        """Denials of the source that the translation may have put elsewhere."""
        return max(0, self.denies + self.may - self.denied)


def negation(read: Read) -> Iterator[Finding]:
    """No denial is lost and none is added, and nobody is told not to get in touch."""
    tied = _tied(read)
    counted = [_counted(read, *one, next(tied)) for one in read.aligned()]
    found = list(_by_sentence(counted))
    if any(one.denies for one in counted):
        found += _by_clause(read)
    if any(one.denied for one in counted):
        found += _unreached(read)
    yield from sorted(found, key=lambda one: one.severity is not Severity.BLOCK)[:1]


def _by_sentence(found: Sequence[_Counted]) -> Iterator[Finding]:
    """Sentence by sentence where the sentences pair up, else the texts whole.

    A denial that has only moved to another sentence is neither lost nor added.
    """
    if sum(one.lost for one in found) > sum(one.spare for one in found):
        yield Finding(NEGATION, Severity.BLOCK, _LOST)
    if sum(one.added for one in found) > sum(one.unused for one in found):
        sure = not any(one.added and one.may + one.opened for one in found)
        yield Finding(NEGATION, Severity.BLOCK if sure else Severity.WARN, _ADDED)


def _by_clause(read: Read) -> Iterator[Finding]:
    """What shows only inside sentences: one of several denials lost, or one added beside others."""
    source = [_jointed(parts, read.english) for parts in clauses(read.pair.source)]
    target = [_jointed(parts, read.tongue) for parts in clauses(read.pair.target)]
    if len(source) == len(target):
        for mine, theirs in zip(source, target, strict=True):
            if len(mine) == len(theirs) > 1:
                yield from _beside(read, mine, theirs)
    yield from _in_all(read, tuple(chain(*source)), tuple(chain(*target)))


def _beside(read: Read, source: Clauses, target: Clauses) -> Iterator[Finding]:
    """One sentence, clause beside clause."""
    whole = _counted(read, source, target)
    found = [_counted(read, (one,), (other,)) for one, other in zip(source, target, strict=True)]
    spare = sum(one.spare for one in found)
    if sum(one.lost for one in found if not (one.carried or one.repeated)) > spare:
        yield Finding(NEGATION, Severity.BLOCK, _LOST)
    added = sum(max(0, one.denied - one.may) for one in found if not one.denies)
    if added > sum(one.unused for one in found) + whole.opened + whole.again:
        yield Finding(NEGATION, Severity.WARN, _ADDED)


def _in_all(read: Read, source: Clauses, target: Clauses) -> Iterator[Finding]:
    """All denials of a text counted: as words, so none is missed; as clauses, so none is two."""
    whole = _counted(read, source, target)
    others = _excepted(target, read.tongue) - _excepted(source, read.english)
    if whole.denied + whole.carried + whole.stands_in + max(0, others) < whole.denies:
        yield Finding(NEGATION, Severity.WARN, _FEWER)
    denied = sum(_denies(one, read.tongue) for one in target)
    if whole.denies and denied > whole.denies + whole.may + whole.opened + whole.again:
        yield Finding(NEGATION, Severity.WARN, _ADDED)


def _unreached(read: Read) -> Iterator[Finding]:
    """Whoever is asked to get in touch is not asked not to, whatever else is denied."""
    asked = _denied_calls(clauses(read.pair.source), read.english)
    if _denied_calls(clauses(read.pair.target), read.tongue) > asked:
        yield Finding(NEGATION, Severity.BLOCK, _CALL)


def _denied_calls(sentences: Iterable[Clauses], tongue: Tongue) -> int:
    """Clauses with a number to ring or a word for getting in touch, and a denial."""
    return sum(
        _denies(one, tongue)
        for parts in sentences
        for one in _jointed(parts, tongue)
        if not _RINGS.isdisjoint(one) or tongue.reach.values((one,))
    )


def _denies(clause: Sentence, tongue: Tongue) -> bool:
    return Denial.DENIES in tongue.denials.values((clause,))


def _opened(said: Counter[Denial]) -> int:
    return sum(said[one] for one in (Denial.OPENS, Denial.TIED, Denial.EXCEPTS, Denial.UNLESS))


def _unopened(said: Counter[Denial], told: Counter[Denial]) -> int:
    """Conditions of the source that the translation opens with no word, so that it denies them."""
    return max(0, said[Denial.UNLESS] - _opened(told))


def _excepted(clauses: Clauses, tongue: Tongue) -> int:
    """Clauses that leave something out; one may do it in several words (``d'autres … que``)."""
    return sum(Denial.EXCEPTS in tongue.denials.values((one,)) for one in clauses)


def _stand_in(clause: Sentence, tongue: Tongue) -> int:
    """Words that may stand for a denial in a clause."""
    said = Counter(tongue.denials.values((clause,)))
    return said[Denial.MAY] + (0 if said[Denial.DENIES] else said[Denial.ALONE])


def _first(said: Sequence[Denial]) -> int:
    return said.index(Denial.DENIES) if Denial.DENIES in said else len(said)


def _jointed(parts: Sequence[Sentence], tongue: Tongue) -> Clauses:
    """Clauses parted also at the words that open or close one where no comma need stand."""
    return tuple(chain.from_iterable(_at_joints(words, tongue) for words in parts))


def _at_joints(words: Sentence, tongue: Tongue) -> Iterator[Sentence]:
    at = 0
    for joint in tongue.joints.find(words):
        cut = joint.start if joint.value == "opens" else joint.end
        if cut > at:
            yield words[at:cut]
            at = cut
    if at < len(words):
        yield words[at:]


def _tied(read: Read) -> Iterator[int]:
    """Of each sentence, or of the texts whole, the denials that only make an ``until``.

    None where the source denies in that clause too, or where another clause of the translation
    denies in a way of its own (``żadnych``).
    """
    source = [_jointed(parts, read.english) for parts in clauses(read.pair.source)]
    target = [_jointed(parts, read.tongue) for parts in clauses(read.pair.target)]
    if len(source) != len(target):
        source, target = [tuple(chain(*source))], [tuple(chain(*target))]
    for mine, theirs in zip(source, target, strict=True):
        ways = set(read.tongue.denials.values(theirs))
        ties = _clauses_with({Denial.TIED, Denial.DENIES}, theirs, read.tongue)
        both = _clauses_with({Denial.OPENS, Denial.DENIES}, mine, read.english)
        yield 0 if ways & _ALONE else max(0, ties - both)


def _clauses_with(wanted: set[Denial], parts: Clauses, tongue: Tongue) -> int:
    return sum(wanted <= set(tongue.denials.values((clause,))) for clause in parts)


def _counted(read: Read, source: Clauses, target: Clauses, tied: int = 0) -> _Counted:
    said = read.english.denials.values(source)
    mine, theirs = Counter(said), Counter(read.tongue.denials.values(target))
    again = mine[Denial.AGAIN] if mine[Denial.DENIES] else 0
    return _Counted(
        denies=mine[Denial.DENIES] + mine[Denial.AGAIN] - again,
        may=max(0, mine[Denial.MAY] - theirs[Denial.SAYS]) + _unopened(mine, theirs),
        opened=min(_opened(mine), _opened(theirs)),
        again=_again(said) + again,
        repeated=mine[Denial.AGAIN],
        denied=theirs[Denial.DENIES],
        carried=theirs[Denial.SHARES],
        stands_in=sum(_stand_in(one, read.tongue) for one in target),
        tied=tied,
    )


def _again(said: Sequence[Denial]) -> int:
    """Words after a denial that carry it on."""
    return said[_first(said) :].count(Denial.SHARES)

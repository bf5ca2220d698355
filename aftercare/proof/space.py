"""Everybody who can walk in, as one decision diagram over the declared vocabulary.

Each fact that somebody records is a variable of its own: once for the person, and once for each
ear. What the program works out is a function of them, and what cannot be (opposites, and the
``[[impossible]]`` of ``shared/facts.toml``) is left out. Conditions are then diagrams: whether
any patient fits one, and how many combinations of facts do, is answered exactly.

A diagram is a shared graph of decisions (Bryant 1986, IEEE Transactions on Computers C-35:677).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import reduce

from oxidd.bdd import BDDFunction, BDDManager

from aftercare.model import Fact, Library, Side

Condition = BDDFunction

EARS = (Side.LEFT, Side.RIGHT)
SEEN, NOTED = "seen", "length:noted"
DETAIL = "texts:detail"
# Whoever has one of these is sent no detail, whatever was asked (``choose.facts``).
OTHERS_SEE = ("texts:shared-phone", "need:proxy")
_FREE = ("age:child", "recall:agreed", "route:sms", "route:email", "route:print", "reply:text")
_NO_SPEECH = ("need:deaf", "need:hard-of-hearing", "need:cannot-phone")
# Room for nodes and for results kept; both grow no further than the shelf needs.
_NODES, _KEPT = 1 << 22, 1 << 20


@dataclass(frozen=True, slots=True, order=True)
class Asked:
    """One yes-or-no question to a visit: a fact of the person, or of the ear on one side."""

    fact: Fact
    side: Side | None = None

    def __str__(self) -> str:
        return f"{self.side} ear: {self.fact}" if self.side else self.fact


class Space:
    """The visits that can be recorded at one clinic."""

    def __init__(self, library: Library) -> None:
        self._library = library
        self._of_ears = frozenset(_of_ears(library))
        self.questions = free_questions(library)
        self._manager = manager = BDDManager(_NODES, _KEPT, 1)
        manager.add_vars(len(self.questions))
        self.anybody: Condition = manager.true()
        self.nobody: Condition = manager.false()
        self._known: dict[Asked, Condition] = {
            asked: manager.var(number) for number, asked in enumerate(self.questions)
        }
        self._known |= self._worked_out()
        self.possible = self.all_of(self._what_holds())

    # --- conditions ---------------------------------------------------------------------

    def all_of(self, conditions: Iterable[Condition]) -> Condition:
        """Where every one of them holds."""
        return reduce(lambda one, other: one & other, conditions, self.anybody)

    def any_of(self, conditions: Iterable[Condition]) -> Condition:
        """Where one of them holds."""
        return reduce(lambda one, other: one | other, conditions, self.nobody)

    def holds(self, fact: Fact, side: Side | None = None) -> Condition:
        """Where the fact holds: of the ear on this side if it is of ears, else of the person."""
        if fact in self._of_ears:
            return self._known[Asked(fact, side)]
        if fact == "length:not-noted":
            return self.seen(side) & ~self._known[Asked(NOTED, side)] if side else self.nobody
        if fact == DETAIL:
            return self._detail
        # What no visit can record holds of nobody.
        return self._known.get(Asked(fact), self.nobody)

    @property
    def _detail(self) -> Condition:
        """Who is sent what was done: they asked for it, and nobody else sees their phone."""
        others = self.any_of(map(self.holds, OTHERS_SEE))
        return self._known.get(Asked(DETAIL), self.nobody) & ~others

    def seen(self, side: Side) -> Condition:
        """Where the ear on this side was seen at the visit."""
        return self._known[Asked(SEEN, side)]

    def side_told(self, side: Side) -> Condition:
        """Where the visit is about this ear alone, or about both."""
        left, right = map(self.seen, EARS)
        return {Side.LEFT: left & ~right, Side.RIGHT: right & ~left, Side.BOTH: left & right}[side]

    def chance(self) -> Condition:
        """A new question that no record answers: what may or may not happen to anybody."""
        return self._manager.var(self._manager.add_vars(1).start)

    def is_of_ears(self, fact: Fact) -> bool:
        """Whether each ear has its own answer to this."""
        return fact in self._of_ears or fact == "length:not-noted"

    def _worked_out(self) -> dict[Asked, Condition]:
        """What ``choose.facts`` works out of other facts, and what the clinic settles."""
        person = {asked.fact: known for asked, known in self._known.items() if asked.side is None}
        no_speech = self.any_of(person[fact] for fact in _NO_SPEECH if fact in person)
        found = {
            "age:adult": ~person["age:child"],
            "reader:parent": person["age:child"],
            "reader:self": ~person["age:child"],
            "speech:no-phone": no_speech,
            "speech:phone": ~no_speech,
            "recall:none": ~person["recall:agreed"],
            "reply:email": person["route:email"],
        }
        # A clinic without a number for texts gets none.
        if self._library.clinic.text_number is None:
            found["reply:text"] = self.nobody
        of_clinic = settled(self._library)
        for fact in _derived(self._library):
            if fact not in found and fact not in person:
                found[fact] = self.anybody if fact in of_clinic else self.nobody
        return {Asked(fact): condition for fact, condition in found.items()}

    # --- what can be --------------------------------------------------------------------

    def _what_holds(self) -> Iterator[Condition]:
        yield self.any_of(map(self.seen, EARS))
        for asked, known in self._known.items():
            if asked.side is not None and asked.fact != SEEN:
                yield self.seen(asked.side) | ~known
        procedures = self._library.facts["procedure"].values
        for side in EARS:
            done = self.any_of(self.holds(f"procedure:{value}", side) for value in procedures)
            yield ~self.seen(side) | done
        yield from self._routes()
        for facts in self._impossible():
            yield ~self.all_of(facts)

    def _routes(self) -> Iterator[Condition]:
        """Whoever is written to can be reached, and can write back or ring."""
        yield self.any_of(self.holds(f"route:{one}") for one in ("sms", "email", "print"))
        if self._library.clinic.text_number is not None:
            yield ~self.holds("route:sms") | self.holds("reply:text")
        answers = self.holds("reply:text") | self.holds("reply:email")
        yield self.holds("speech:phone") | answers

    def _impossible(self) -> Iterator[Iterable[Condition]]:
        for group in self._library.facts.values():
            for pair in group.opposites:
                for side in EARS if group.scope == "ear" else (None,):
                    yield [self.holds(f"{group.name}:{value}", side) for value in sorted(pair)]
        for one in self._library.impossible:
            for side in EARS:
                lifted = self.any_of(self.holds(fact, side) for fact in sorted(one.unless))
                met = [self.holds(fact, side) for fact in sorted(one.together)]
                # What is said of an ear is said of one that was seen.
                yield [self.seen(side), *met, ~lifted]

    # --- questions a condition turns on -------------------------------------------------

    def cube(self, asked: Iterable[Asked]) -> Condition:
        """These questions together, as ``exists`` takes them."""
        return self.all_of(self._known[one] for one in asked)

    def just(self, held: frozenset[Asked]) -> Condition:
        """The one combination of which just this is recorded."""
        return self.all_of(
            known if asked in held else ~known
            for asked in self.questions
            for known in [self._known[asked]]
        )

    def support(self, condition: Condition) -> frozenset[Asked]:
        """The questions whose answers a condition turns on."""
        found: set[Asked] = set()
        met: set[Condition] = set()
        left = [condition]
        while left:
            node = left.pop()
            number, parts = node.node_var(), node.cofactors()
            if number is None or parts is None or node in met:
                continue
            met.add(node)
            found.add(self.questions[number])
            left += parts
        return frozenset(found)

    # --- answers ------------------------------------------------------------------------

    def anybody_fits(self, condition: Condition) -> bool:
        """Whether any visit that can be recorded fits the condition."""
        return bool((condition & self.possible).satisfiable())

    def count(self, condition: Condition) -> int:
        """How many combinations of recorded facts fit the condition."""
        somebody = self.recorded(condition & self.possible)
        return somebody.sat_count(self._manager.num_vars()) >> self._chances

    @property
    def _chances(self) -> int:
        return self._manager.num_vars() - len(self.questions)

    def recorded(self, condition: Condition) -> Condition:
        """Whose record fits the condition, whatever chance may do with them."""
        first, end = len(self.questions), self._manager.num_vars()
        chances = self.all_of(self._manager.var(number) for number in range(first, end))
        return condition.exists(chances) if end > first else condition

    def example(self, condition: Condition) -> frozenset[Asked]:
        """What is recorded of one patient who fits: no more than it takes, the same every time.

        The condition fits somebody.
        """
        left = self.recorded(condition & self.possible)
        held: set[Asked] = set()
        for asked in self.questions:
            known = self._known[asked]
            without = left & ~known
            if without.satisfiable():
                left = without
            else:
                left = left & known
                held.add(asked)
        return frozenset(held)


def free_questions(library: Library) -> tuple[Asked, ...]:
    """What a visit records, question by question; all else follows from these.

    The order keeps the diagrams small: the two ears side by side. What is asked first is said
    last of an example, so that it is about one left ear.
    """
    return tuple(_questions(library))


def _of_ears(library: Library) -> Iterator[Fact]:
    """The facts each ear has its own answer to, in order of name."""
    found = {
        f"{group.name}:{value}"
        for group in library.facts.values()
        if group.scope == "ear" and not group.derived
        for value in group.values
    }
    # A length is worked out of what was measured, so it is recorded all the same.
    yield from sorted(found | ({NOTED} if "length" in library.facts else set()))


def _questions(library: Library) -> Iterator[Asked]:
    yield Asked(SEEN, Side.RIGHT)
    yield Asked(SEEN, Side.LEFT)
    for group in library.facts.values():
        if group.scope == "patient" and not group.derived:
            yield from (Asked(f"{group.name}:{value}") for value in group.values)
    for fact in _FREE:
        if fact != "reply:text" or library.clinic.text_number is not None:
            yield Asked(fact)
    for fact in _of_ears(library):
        yield from (Asked(fact, side) for side in reversed(EARS))


def _derived(library: Library) -> Iterator[Fact]:
    for group in library.facts.values():
        if group.scope == "patient" and group.derived:
            yield from (f"{group.name}:{value}" for value in group.values)


def settled(library: Library) -> frozenset[Fact]:
    """What is the same for every patient of the clinic."""
    region = library.region
    return frozenset(
        {
            "units:cm-and-inches" if library.clinic.inches else "units:cm",
            f"region:{region.code}",
            f"advice-line:{'yes' if region.urgent_advice_number else 'no'}",
            f"emergency-text:{'yes' if region.emergency_text_number else 'no'}",
        }
    )


def facts_of(held: Iterable[Asked]) -> Mapping[Side | None, frozenset[Fact]]:
    """The recorded facts of the person (under None) and of each ear that was seen."""
    found: dict[Side | None, set[Fact]] = {None: set()}
    for asked in held:
        found.setdefault(asked.side, set())
        if asked.fact != SEEN:
            found[asked.side].add(asked.fact)
    return {side: frozenset(facts) for side, facts in found.items()}

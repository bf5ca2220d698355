"""Who gets what as an integer programme, to find the worst message there is, and whose it is.

Facts are variables of nothing or one; each block, told of an ear, is one more that follows from
them as ``aftercare.choose`` has it, the limit on actions with it. A sum over what is told is then
driven to its most by HiGHS (Huangfu and Hall 2018, Mathematical Programming Computation 10:119),
which proves that no visit has more. It says the same as ``reach`` in another way, and the
tests hold the two against each other.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import highspy

from aftercare.choose import OF_ONE_EAR
from aftercare.errors import AftercareError
from aftercare.model import SPARE_KINDS, ApprovalState, Block, Fact, Library, Side
from aftercare.proof.signs import ALWAYS, NEVER, Between, Sign, are_all
from aftercare.proof.space import (
    DETAIL,
    EARS,
    NOTED,
    OTHERS_SEE,
    SEEN,
    Asked,
    free_questions,
    settled,
)
from aftercare.proof.spoken import Spoken

_HALF = 0.5


@dataclass(frozen=True, slots=True)
class Worst:
    """The most a sum comes to, and what is recorded of a patient it comes to that for."""

    total: float
    held: frozenset[Asked]


class Programme:
    """Everybody who can walk in and what they are told, ready for a question."""

    _presolve = "on"

    def __init__(self, library: Library) -> None:
        self._library = library
        self._highs = highspy.Highs()  # type: ignore[no-untyped-call]  # it has no types of its own
        self._highs.setOptionValue("output_flag", False)
        self._highs.setOptionValue("threads", 1)
        self._highs.setOptionValue("mip_rel_gap", 0.0)
        self._highs.setOptionValue("mip_abs_gap", 1e-6)
        # Measured on this kind of question: what it takes is the search itself, seldom begun anew.
        self._highs.setOptionValue("mip_allow_restart", False)
        self._highs.setOptionValue("mip_heuristic_effort", 0.0)
        self._highs.setOptionValue("presolve", self._presolve)
        self._known: dict[frozenset[Sign], Sign] = {}
        self._told: dict[str, Mapping[Side, Sign]] = {}
        self._worded: dict[tuple[Sign, Hashable], dict[frozenset[Sign], Sign]] = {}
        self._columns = 0
        self._values: list[float] = []
        self.facts: Mapping[Asked, Sign] = {
            asked: self._variable() for asked in free_questions(library)
        }
        self._settled = settled(library)
        self._blocks = tuple(library.blocks)
        self._only_what_can_be()
        self._kept: dict[str, Sign] = {}
        self._limit_actions()

    # --- logic as rows ------------------------------------------------------------------

    def _variable(self) -> Sign:
        self._highs.addVar(0, 1)
        self._highs.changeColIntegrality(self._columns, highspy.HighsVarType.kInteger)
        self._columns += 1
        return Sign(self._columns - 1)

    def all_of(self, signs: Iterable[Sign]) -> Sign:
        """A sign that holds where all of these do."""
        left = frozenset(signs) - {ALWAYS}
        if NEVER in left:
            return NEVER
        if len(left) < 2:
            return next(iter(left), ALWAYS)
        if left not in self._known:
            made = self._known[left] = self._variable()
            for one in left:
                self._row([(made, 1), (one, -1)], most=0)
            self._row([(made, 1), *((one, -1) for one in left)], least=1 - len(left))
        return self._known[left]

    def any_of(self, signs: Iterable[Sign]) -> Sign:
        """A sign that holds where one of these does."""
        return ~self.all_of(~one for one in signs)

    def require(self, sign: Sign) -> None:
        """Leave out every visit where this does not hold."""
        self._row([(sign, 1)], least=1)

    def _row(
        self,
        terms: Sequence[tuple[Sign, float]],
        *,
        least: float = -highspy.kHighsInf,
        most: float = highspy.kHighsInf,
    ) -> None:
        """One inequality over signs; an opposite counts as one less its variable."""
        weights: dict[int, float] = {}
        fixed = 0.0
        for sign, weight in terms:
            fixed += 0.0 if sign.yes else weight
            if sign.column is None:
                fixed += weight if sign.yes else -weight
            else:
                turn = weight if sign.yes else -weight
                weights[sign.column] = weights.get(sign.column, 0.0) + turn
        self._highs.addRow(
            least - fixed, most - fixed, len(weights), list(weights), list(weights.values())
        )

    # --- facts --------------------------------------------------------------------------

    def holds(self, fact: Fact, side: Side) -> Sign:
        """The sign of a fact: of the ear on this side if it is one of ears, else of the person."""
        if fact == DETAIL:
            others = (~self.holds(seen, side) for seen in OTHERS_SEE)
            return self.all_of([self.facts.get(Asked(fact), NEVER), *others])
        for asked in (Asked(fact, side), Asked(fact)):
            if asked in self.facts:
                return self.facts[asked]
        return self._worked_out(fact, side)

    def _worked_out(self, fact: Fact, side: Side) -> Sign:
        no_speech = ("need:deaf", "need:hard-of-hearing", "need:cannot-phone")
        opposite = {
            "age:adult": "age:child", "reader:self": "age:child", "recall:none": "recall:agreed",
        }  # fmt: skip
        same = {"reader:parent": "age:child", "reply:email": "route:email"}
        if fact in opposite:
            return ~self.holds(opposite[fact], side)
        if fact in same:
            return self.holds(same[fact], side)
        if fact in ("speech:no-phone", "speech:phone"):
            silent = self.any_of(self.holds(need, side) for need in no_speech)
            return silent if fact == "speech:no-phone" else ~silent
        if fact == "length:not-noted":
            return self.all_of([self.seen(side), ~self.holds(NOTED, side)])
        return ALWAYS if fact in self._settled else NEVER

    def seen(self, side: Side) -> Sign:
        """The sign of an ear seen at the visit."""
        return self.facts[Asked(SEEN, side)]

    def _only_what_can_be(self) -> None:
        library, ears = self._library, [self.seen(side) for side in EARS]
        self.require(self.any_of(ears))
        for asked, sign in self.facts.items():
            if asked.side is not None and asked.fact != SEEN:
                self._row([(sign, 1), (self.seen(asked.side), -1)], most=0)
        for side in EARS:
            done = [self.holds(f"procedure:{v}", side) for v in library.facts["procedure"].values]
            self._row([*((sign, 1) for sign in done), (self.seen(side), -1)], least=0)
            self._no_opposites(side)
            for one in library.impossible:
                met = [self.seen(side), *(self.holds(fact, side) for fact in one.together)]
                lifted = [self.holds(fact, side) for fact in one.unless]
                self._row(
                    [*((sign, 1) for sign in met), *((sign, -1) for sign in lifted)],
                    most=len(met) - 1,
                )
        self._can_be_reached()

    def _no_opposites(self, side: Side) -> None:
        for group in self._library.facts.values():
            for pair in group.opposites:
                signs = [self.holds(f"{group.name}:{value}", side) for value in pair]
                self._row([(sign, 1) for sign in signs], most=len(signs) - 1)

    def _can_be_reached(self) -> None:
        side = Side.LEFT
        routes = [self.holds(f"route:{one}", side) for one in ("sms", "email", "print")]
        self.require(self.any_of(routes))
        texts = self.holds("reply:text", side)
        if self._library.clinic.text_number is not None:
            self.require(self.any_of([~routes[0], texts]))
        speaks = self.holds("speech:phone", side)
        self.require(self.any_of([speaks, texts, self.holds("reply:email", side)]))

    # --- blocks -------------------------------------------------------------------------

    def wanted(self, block: Block, side: Side) -> Sign:
        """The sign of a block called for by the ear on this side."""
        return self.all_of(self._asks(block, side))

    def _asks(self, block: Block, side: Side) -> frozenset[Sign]:
        """All that must hold of an ear for a block to be called for."""
        if block.approval.state is ApprovalState.RETIRED:
            return frozenset([NEVER])
        asked = self._by_group(block.given_for, side)
        # A group at a time, so that one block's bar is the very opposite of another's call.
        barred = self._by_group(block.withheld_from, side)
        return frozenset([self.seen(side), *asked, *(~sign for sign in barred)])

    def _by_group(self, facts: Iterable[Fact], side: Side) -> Iterator[Sign]:
        groups: dict[str, list[Sign]] = {}
        for fact in sorted(facts):
            groups.setdefault(fact.partition(":")[0], []).append(self.holds(fact, side))
        return map(self.any_of, groups.values())

    def called_for(self, block: Block) -> Sign:
        """The sign of a block that any ear calls for."""
        left, right = (self._asks(block, side) for side in EARS)
        # What both ears ask holds of the person: half of each ear is no more than half of it.
        rest = [self.all_of(asked - (left & right)) for asked in (left, right)]
        return self.all_of([*(left & right), self.any_of(rest)])

    def told(self, block: Block, side: Side) -> Sign:
        """The sign of a block told of this side, or of both at once, and not left out."""
        if block.id not in self._told:
            self._told[block.id] = self._tellings(block)
        return self._told[block.id][side]

    def _tellings(self, block: Block) -> Mapping[Side, Sign]:
        left, right = (self.wanted(block, ear) for ear in EARS)
        kept = self._kept.get(block.id, ALWAYS)
        if OF_ONE_EAR.intersection(block.given_for):
            apart = [self.all_of([ear, kept]) for ear in (left, right)]
            return {Side.LEFT: apart[0], Side.RIGHT: apart[1], Side.BOTH: NEVER}
        made = {
            Side.LEFT: self.all_of([left, ~right, kept]),
            Side.RIGHT: self.all_of([right, ~left, kept]),
            Side.BOTH: self.all_of([left, right, kept]),
        }
        self._just_one(made.values(), self.all_of([self.called_for(block), kept]))
        return made

    def worded(self, told: Sign, when: Iterable[Sign], family: Hashable) -> Sign:
        """The sign of something told in the words that are chosen when all of these hold.

        ``family`` names what all these words are for: no two of them are chosen at once.
        """
        way = frozenset(when) - {ALWAYS}
        if NEVER in way:
            return NEVER
        known = self._worded.setdefault((told, family), {})
        if way not in known:
            known[way] = self.all_of([told, *way])
            if len(known) > 1 and are_all(known):
                self._just_one(known.values(), told)
        return known[way]

    def _just_one(self, signs: Iterable[Sign], told: Sign) -> None:
        """Where this is told, just one of these holds.

        It follows from what they are, but not for halves of them: with it the search is some
        times as short.
        """
        self._row([*((sign, 1) for sign in signs), (told, -1)], least=0, most=0)

    def line(self, spoken: Spoken) -> Sign:
        """The sign of a line told on a page or in a text, before any is dropped for length."""
        side = Side.LEFT  # of facts of the person, any side will do
        telling, detail = spoken.telling, self.holds(DETAIL, side)
        told = self.told(telling.block, telling.side) if telling else ALWAYS
        asked = {None: (), True: (detail,), False: (~detail,)}[spoken.detail]
        when = (self.holds(fact, side) for fact in spoken.when)
        return self.worded(self.worded(told, asked, DETAIL), when, (spoken.part, spoken.unit))

    def _limit_actions(self) -> None:
        """A block that can be left out stays while it and all more needed are within the limit."""
        most = self._library.limits.actions
        fixed, spare = self._asking()
        asked, told = list(fixed), list(fixed)
        needed_more, first = ALWAYS, NEVER
        for block in sorted(spare, key=lambda one: (one.rank, one.id)):
            called = self.called_for(block)
            asked.append((called, float(block.actions)))
            kept = self._kept[block.id] = self._variable()
            self._row([*asked, (kept, most + 1)], least=most + 1)
            self._row([(kept, 1), (needed_more, -1)], most=0)
            told.append((self.all_of([called, kept]), float(block.actions)))
            first = kept if first == NEVER else first
            needed_more = kept
        self._within(told, most, self._most_of(fixed), first)

    def _asking(self) -> tuple[list[tuple[Sign, float]], list[Block]]:
        """What is asked and never left out, and the blocks that ask more and may be."""
        asking = [block for block in self._blocks if block.actions]
        fixed = [block for block in asking if block.kind not in SPARE_KINDS]
        spare = [block for block in asking if block.kind in SPARE_KINDS]
        return [(self.called_for(block), float(block.actions)) for block in fixed], spare

    def _most_of(self, fixed: Sequence[tuple[Sign, float]]) -> float:
        """The most that is ever asked of anybody and never left out.

        With it the limit is a tight row, and the search some times as short as with their sum.
        """
        found = self.most(fixed)
        return found.total if found else 0.0

    def _within(
        self, told: Sequence[tuple[Sign, float]], most: float, never_less: float, spare: Sign
    ) -> None:
        """Hold what is told to the limit; where nothing is ``spare``, to what is never left out."""
        over = max(0.0, never_less - most)
        self._row([*told, (spare, over)], most=most + over)

    # --- the question -------------------------------------------------------------------

    def most(
        self,
        amounts: Iterable[tuple[Sign, float]],
        where: Iterable[Sign] = (),
        within: Iterable[Between] = (),
    ) -> Worst | None:
        """The most that these amounts, each added where its sign holds, come to for anybody.

        None where nobody fits ``where`` and ``within``.
        """
        held = [sign for sign in where if sign != ALWAYS]
        if NEVER in held:
            return None
        first = self._highs.getNumRow()
        for sign in held:
            self.require(sign)
        for one in within:
            self._row(one.amounts, least=one.least, most=one.most)
        added = self._highs.getNumRow() - first
        fixed = self._ask(amounts)
        self._highs.run()
        status = self._highs.getModelStatus()
        found = self._answer(fixed) if status == highspy.HighsModelStatus.kOptimal else None
        if added:
            self._highs.deleteRows(added, list(range(first, first + added)))
        if found is None and status != highspy.HighsModelStatus.kInfeasible:
            raise AftercareError("the proof", f"HiGHS ended with {status}", "report it as a fault")
        return found

    def fixed(self, held: frozenset[Asked]) -> list[Sign]:
        """The signs that leave nobody but the patient of whom just this is recorded."""
        return [sign if asked in held else ~sign for asked, sign in self.facts.items()]

    def true(self, sign: Sign) -> bool:
        """Whether a sign holds of the patient found last."""
        if sign.column is None:
            return sign.yes
        return (self._values[sign.column] > _HALF) is sign.yes

    def _ask(self, amounts: Iterable[tuple[Sign, float]]) -> float:
        """Set what is to be the most; answers with the part that everybody has."""
        costs, fixed = [0.0] * self._columns, 0.0
        for sign, amount in amounts:
            if sign.column is None:
                fixed += amount if sign.yes else 0.0
            else:
                costs[sign.column] += amount if sign.yes else -amount
                fixed += 0.0 if sign.yes else amount
        self._highs.changeColsCost(self._columns, list(range(self._columns)), costs)
        if self._values:
            # The patient found last may be near the one that is looked for.
            self._highs.setSolution(self._columns_of_last())
        self._highs.changeObjectiveSense(highspy.ObjSense.kMaximize)
        return fixed

    def _columns_of_last(self) -> highspy.HighsSolution:
        last = highspy.HighsSolution()
        last.col_value = [*self._values, *[0.0] * (self._columns - len(self._values))]
        return last

    def _answer(self, fixed: float) -> Worst:
        self._values = list(self._highs.getSolution().col_value)
        held = (asked for asked, sign in self.facts.items() if self.true(sign))
        return Worst(fixed + self._highs.getObjectiveValue(), frozenset(held))


class LooseProgramme(Programme):
    """The same, but any block may be left out that can be, as long as the limit is kept.

    It allows all that can be and more, so what it finds the most is never too little. It
    answers some times as fast, and serves where the answer is looked at again.
    """

    # Little of it can be left out beforehand, and to look costs more than the search.
    _presolve = "off"

    def _limit_actions(self) -> None:
        most = self._library.limits.actions
        fixed, spare = self._asking()
        told = list(fixed)
        for block in spare:
            kept = self._kept[block.id] = self._variable()
            told.append((self.all_of([self.called_for(block), kept]), float(block.actions)))
        self._within(told, max(most, self._most_of(fixed)), 0.0, ALWAYS)

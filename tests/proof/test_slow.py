"""The proof against a slow walk: every visit of a smaller vocabulary, one by one, on the real path.

Nothing here asks the proof which visits there are: they are written out by nested loops, and
what cannot be is left out by the refusal the clinic's file gives. Counts must agree exactly.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from itertools import chain, combinations, product
from types import MappingProxyType

import pytest

from aftercare.choose import choose, patient_facts
from aftercare.flow import discharge
from aftercare.model import (
    ACTION_KINDS,
    Block,
    Case,
    Channel,
    Choice,
    Ear,
    FactGroup,
    Impossible,
    Interval,
    Library,
    Message,
    Part,
    Patient,
    Phrase,
    Piece,
    Purpose,
    Shape,
    Side,
    Unit,
    Variant,
)
from aftercare.proof.contradictions import contradictions
from aftercare.proof.hardest import hardest
from aftercare.proof.programme import Programme
from aftercare.proof.reach import Reach
from aftercare.proof.reading import prove_reading
from aftercare.proof.space import SEEN, Asked, Condition
from aftercare.proof.spoken import PAGES, TEXTS, Speech
from aftercare.proof.texts import texts
from aftercare.proof.wordings import PAGE
from aftercare.render.leaflet import Printed
from aftercare.rules import LOGGED, RULES, UNREVIEWED, broken
from aftercare.rules.seen import Asked as Release

TODAY = date(2026, 11, 25)
KEPT = {
    "condition": ("open-cavity", "grommet"),
    "procedure": ("suction",),
    "drops": ("prescribed",),
    "caution": ("only-hearing-ear",),
    "need": ("deaf",),
}
# Answers to groups that are left whole, or left out whole.
WORKED_OUT = (
    "side", "age", "reader", "speech", "route", "reply", "recall", "units", "region",
    "advice-line", "emergency-text",
)  # fmt: skip
NO_EMAIL = Impossible(
    together=frozenset({"route:email"}), unless=frozenset(), because="kept small", instead="-"
)


@pytest.fixture(scope="module")
def small(approved: Library) -> Library:
    """The shelf with the vocabulary cut down, and a limit on actions that is often broken."""
    whole = approved
    facts = {
        name: group if name in WORKED_OUT else cut(group)
        for name, group in whole.facts.items()
        if name != "length"
    }
    return replace(
        whole, facts=MappingProxyType(facts), impossible=(NO_EMAIL,), catalogues={},
        limits=replace(whole.limits, actions=4),
    )  # fmt: skip


def cut(group: FactGroup) -> FactGroup:
    kept = {value: group.values[value] for value in KEPT.get(group.name, ())}
    return replace(group, values=kept, opposites=(), told=frozenset())


@dataclass(frozen=True)
class Walked:
    """One visit, and what the real path made of it."""

    case: Case
    choice: Choice
    messages: tuple[tuple[Message, tuple[tuple[str, str], ...]], ...]


class Press:
    def press(self, data: str) -> Printed:
        return Printed(b"-", 1)


def subsets(values: tuple[str, ...], group: str) -> Iterator[frozenset[str]]:
    named = [f"{group}:{value}" for value in values]
    every = chain.from_iterable(combinations(named, n) for n in range(len(named) + 1))
    return map(frozenset, every)


def ears() -> Iterator[tuple[Ear, ...]]:
    groups = ("condition", "drops")
    of_one = [
        frozenset().union(*facts) | {"procedure:suction", "length:not-noted"}
        for facts in product(*(list(subsets(KEPT[group], group)) for group in groups))
    ]
    one_by_one = [
        Ear(side=side, facts=facts) for side in (Side.LEFT, Side.RIGHT) for facts in of_one
    ]
    yield from ((ear,) for ear in one_by_one)
    for left, right in product(of_one, of_one):
        yield (Ear(side=Side.LEFT, facts=left), Ear(side=Side.RIGHT, facts=right))


def visits() -> Iterator[Case]:
    people = product(
        ("age:adult", "age:child"), subsets(KEPT["caution"], "caution"),
        subsets(KEPT["need"], "need"), (None, "07700 900123"), subsets(("sms", "print"), "route"),
        (None, Interval(months=6)),
    )  # fmt: skip
    for age, cautions, needs, mobile, routes, recall in people:
        agreed = frozenset(Channel(route.partition(":")[2]) for route in routes)
        unreachable = not agreed or (Channel.SMS in agreed and mobile is None)
        if unreachable or (needs and mobile is None):
            continue  # the reader of visits refuses these
        for seen in ears():
            yield Case(
                ref="c", visit_date=TODAY, clinician="A", ears=seen, recall=recall,
                recall_declined=None if recall else "no",
                patient=Patient(
                    name="A", language="en", facts=cautions | needs | {age}, mobile=mobile,
                    agreed=agreed,
                ),
            )  # fmt: skip


@pytest.fixture(scope="module")
def walked(small: Library) -> list[Walked]:
    return [walk(case, small) for case in visits()]


def walk(case: Case, library: Library) -> Walked:
    done = discharge(case, library, press=Press(), today=TODAY, purpose=Purpose.PATIENT)
    asked = Release(
        case=case, library=library, recall=None, facts=patient_facts(case, library),
        choice=done.choice, worded=done.worded, today=TODAY,
    )  # fmt: skip
    rules = [rule for rule in RULES if rule not in (LOGGED, UNREVIEWED)]
    return Walked(
        case,
        done.choice,
        tuple(
            (m, tuple((one.rule.name, one.why) for one in broken(m, asked, rules)))
            for m in done.messages
        ),
    )


@pytest.fixture(scope="module")
def reach(small: Library) -> Reach:
    return Reach(small)


def test_there_are_as_many_patients_and_leaflets(
    small: Library, walked: list[Walked], reach: Reach
) -> None:
    without_limit = replace(small, limits=replace(small.limits, actions=999))
    sets = {told_of(choose(one.case, without_limit), one.case) for one in walked}

    assert reach.space.count(reach.space.anybody) == len(walked)
    assert reach.leaflets() == len(sets)
    assert len(walked) > 1500
    assert len(sets) > 300


def told_of(choice: Choice, case: Case) -> object:
    seen = tuple(ear.side for ear in case.ears)
    return seen, frozenset((one.block.id, one.side) for one in choice.chosen)


def test_every_block_is_told_to_as_many_and_left_out_of_as_many(
    walked: list[Walked], reach: Reach
) -> None:
    told = Counter((one.block.id, one.side) for w in walked for one in w.choice.chosen)
    left_out = Counter(one.block_id for w in walked for one in w.choice.omitted if one.called_for)

    assert {(one.block.id, one.side): reach.space.count(one.who) for one in reach.tellings} == told
    assert {name: reach.space.count(who) for name, who in reach.left_out.items()} == left_out
    assert left_out, "the limit is so low that something is left out"


def test_as_many_leaflets_ask_for_as_many_actions(
    small: Library, walked: list[Walked], reach: Reach
) -> None:
    without_limit = replace(small, limits=replace(small.limits, actions=999))
    asked = Counter(
        sum(one.block.actions for one in choose(w.case, without_limit).chosen
            if one.block.kind in ACTION_KINDS)
        for w in walked
    )  # fmt: skip

    assert {n: reach.space.count(who) for n, who in reach.actions.items()} == asked


@pytest.mark.parametrize("channels", [PAGES, TEXTS])
def test_every_rule_is_broken_by_as_many_messages(
    walked: list[Walked], reach: Reach, channels: tuple[Channel, ...]
) -> None:
    """The only-hearing ear of a shelf that is not cut down has its own words; here rule 11 and the
    lack of an e-mail leave something to find.
    """
    speech = Speech(reach, "en", channels)
    proved: Counter[tuple[str, str]] = Counter()
    for one in contradictions(speech):
        for channel in set(one.channels) & {Channel.SMS, Channel.PRINT}:
            who = one.who & reach.space.holds(f"route:{channel}")
            proved[one.rule.name, one.why] += reach.space.count(who)

    met = Counter(
        found for w in walked for message, broke in w.messages if message.channel in channels
        for found in broke
    )  # fmt: skip
    assert {key: n for key, n in proved.items() if n} == met


WRONG = {
    "care-steady": "Put olive oil drops in the ear.",
    "water-grommet": "No swimming.",
    "care-drops-prescribed": "Warm the bottle.",
    "care-drops-only": "Warm the bottle.",
    "normal-why-dizzy": "Dull hearing can last two days.",
    "normal-cavity": "Keep the ear dry.",
}


def contradicting(block: Block) -> Block:
    """The same block saying what it must not."""
    if block.id not in WRONG:
        return block
    phrase = Phrase(WRONG[block.id], (Piece(WRONG[block.id]),))
    unit = Unit((Variant(frozenset(), phrase, 1),))
    return replace(block, parts=(Part(Shape.PARAGRAPHS, (unit,)),))


def test_where_a_shelf_contradicts_itself_as_many_are_found(small: Library) -> None:
    """Rules 1, 3, 4 and 11 are broken on purpose, so that there is much to find."""
    bad = replace(small, blocks=tuple(map(contradicting, small.blocks)))
    printed = [case for case in visits() if Channel.PRINT in case.patient.agreed][::3]
    reach = Reach(bad)
    proved = {
        (one.rule.name, one.why): one.who & reach.space.holds("route:print")
        for one in contradictions(Speech(reach, "en", PAGES))
        if reach.space.anybody_fits(one.who & reach.space.holds("route:print"))
    }

    met = set()
    for case in printed:
        message, broke = walk(case, bad).messages[-1]
        here = recorded(reach, case)
        assert message.channel is Channel.PRINT
        assert set(broke) == {key for key, who in proved.items() if (who & here).satisfiable()}
        met |= set(broke)
    assert met == set(proved)
    assert len({name for name, _ in met}) >= 4


def recorded(reach: Reach, case: Case) -> Condition:
    """The one combination a visit is, as a condition."""
    space, facts = reach.space, case.patient.facts
    held = {Asked(f) for f in facts if f != "age:adult"}
    held |= {Asked(f"route:{channel}") for channel in case.patient.agreed}
    held |= {Asked("reply:text")} if case.patient.mobile else set()
    held |= {Asked("recall:agreed")} if case.recall else set()
    for ear in case.ears:
        held |= {Asked(SEEN, ear.side)}
        held |= {Asked(fact, ear.side) for fact in ear.facts if fact != "length:not-noted"}
    cube = space.cube(held)
    return cube & space.all_of(~space.cube([q]) for q in space.questions if q not in held)


def test_the_longest_text_is_as_long(small: Library, walked: list[Walked], reach: Reach) -> None:
    """A recall date is taken as long as any can be, so only texts without one are compared."""
    speech = Speech(reach, "en", TEXTS)
    found = texts(speech, Programme(small))
    sent = [
        (message.sms.units, w.case)
        for w in walked
        for message, _ in w.messages
        if message.sms is not None and not message.dropped
    ]
    longest = max(units for units, _ in sent)

    assert found.droppable == ()
    assert longest <= found.whole.size.septets <= longest + len("Wednesday, 30 September 2027")


def test_the_hardest_leaflet_is_as_hard(small: Library, walked: list[Walked]) -> None:
    (page,) = (one for one in prove_reading(small) if one.form == PAGE)
    found = hardest(page, Programme(small), small.blocks)
    met = max(
        message.score.fkgl or 0.0 for w in walked for message, _ in w.messages
        if message.channel is Channel.PRINT
    )  # fmt: skip

    assert found is not None
    assert page.bound is not None
    assert met - 0.05 <= found.value <= page.bound


def test_the_programme_and_the_diagrams_say_the_same(small: Library, reach: Reach) -> None:
    """Two compilations of one choice, by two libraries: which blocks can be told of which ear."""
    programme = Programme(small)
    for block in small.blocks:
        for side in (Side.LEFT, Side.RIGHT, Side.BOTH):
            told = programme.most([(programme.told(block, side), 1.0)])
            who = [one.who for one in reach.tellings if (one.block, one.side) == (block, side)]
            assert told is not None
            assert round(told.total) == len(who)
            if who:
                held = reach.space.all_of(
                    reach.space.cube([q]) if q in told.held else ~reach.space.cube([q])
                    for q in reach.space.questions
                )
                assert (who[0] & held & reach.space.possible).satisfiable()

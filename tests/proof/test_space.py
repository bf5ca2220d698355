"""Who can walk in: the diagrams say the same as the refusals of the visit file, and count."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_up import TODAY
from strategies import EAR_GROUPS, PATIENT_GROUPS, impossible, vocabulary

from aftercare.choose import patient_facts
from aftercare.edges.visit import parse_visit
from aftercare.edges.visit_file import EAR_LISTS, PATIENT_LISTS
from aftercare.errors import BadInput
from aftercare.model import Case, Fact, Impossible, Library, Side
from aftercare.proof.space import NOTED, SEEN, Asked, Space, facts_of

Made = Callable[..., Library]
Never = Callable[..., Impossible]
LISTS = {group: key for key, group in (EAR_LISTS | PATIENT_LISTS).items()}
RECORDED = {"age:child", "recall:agreed", "mobile", "email", "sms", "e-mail", "print"}


# --- what can be recorded -----------------------------------------------------------------------
def named(groups: Iterable[str]) -> list[Fact]:
    return [f"{group}:{value}" for group in groups for value in vocabulary()[group]["values"]]


@st.composite
def raw_facts(draw: st.DrawFn) -> tuple[frozenset[str], dict[str, frozenset[Fact]]]:
    """Any facts at all of a person and of one or two ears, few enough that some can be."""
    person = draw(st.frozensets(st.sampled_from(named(PATIENT_GROUPS)), max_size=2))
    person |= draw(st.frozensets(st.sampled_from(sorted(RECORDED))))
    person |= draw(st.sampled_from([frozenset(), *[frozenset({"print", "mobile"})] * 3]))
    # What meets in one rule on what cannot be is drawn often enough to meet here.
    together = [sorted(facts) for facts, unless in impossible()]
    together += [sorted(facts | unless) for facts, unless in impossible()]
    hint = frozenset(draw(st.sampled_from([*[[]] * len(together), *together])))
    ears = {}
    for side in draw(st.sampled_from((["left"], ["right"], ["left", "right"]))):
        facts = draw(st.frozensets(st.sampled_from(named(EAR_GROUPS)), max_size=2))
        done = draw(
            st.sampled_from([(), *[("procedure:suction",)] * 3, ("procedure:examination",)])
        )
        of_ears = {one for one in hint if one.partition(":")[0] in EAR_GROUPS}
        length = draw(st.sampled_from([(), (NOTED,)]))
        ears[side] = facts | of_ears | frozenset(done) | frozenset(length)
    of_person = {one for one in hint if one.partition(":")[0] in PATIENT_GROUPS}
    return person | of_person | (hint & RECORDED), ears


def visit_file(person: frozenset[str], ears: dict[str, frozenset[Fact]]) -> bytes:
    """The file in which a clinician would write these facts down."""

    def lists(facts: Iterable[Fact]) -> dict[str, list[str]]:
        found: dict[str, list[str]] = {}
        for fact in sorted(facts):
            group, _, value = fact.partition(":")
            if group in LISTS:
                found.setdefault(LISTS[group], []).append(value)
        return found

    agreed = [("sms", "sms"), ("e-mail", "email"), ("print", "print")]
    patient: dict[str, Any] = {
        "name": "A", "age_group": "child" if "age:child" in person else "adult",
        "agreed": [channel for said, channel in agreed if said in person], **lists(person),
    }  # fmt: skip
    patient |= {"mobile": "07700 900123"} if "mobile" in person else {}
    patient |= {"email": "a@example.org"} if "email" in person else {}
    told = []
    for side, facts in ears.items():
        ear: dict[str, Any] = {"side": side, "procedures": [], **lists(facts)}
        stops = {"drops:specialist", "drops:prescribed"} <= facts
        ear |= {"drops_stop": "2026-12-01"} if stops else {}
        told.append(ear | ({"removed_cm": 2.5} if NOTED in facts else {}))
    treated = next(iter(ears)) if len(ears) == 1 else "both"
    return json.dumps({
        "case": "c", "patient": patient, "ears": told,
        "visit": {"date": "2026-11-18", "clinician": "B", "treated": treated},
        "recall": {"months": 9} if "recall:agreed" in person else {"declined": "no"},
    }).encode()  # fmt: skip


def recorded(person: frozenset[str], ears: dict[str, frozenset[Fact]]) -> frozenset[Asked]:
    """The same as answers to the questions of the proof."""
    held = {Asked(one) for one in person if ":" in one}
    held |= {Asked("route:print")} if "print" in person else set()
    held |= {Asked("route:sms")} if {"sms", "mobile"} <= person else set()
    held |= {Asked("route:email")} if {"e-mail", "email"} <= person else set()
    held |= {Asked("reply:text")} if "mobile" in person else set()
    for side, facts in ears.items():
        held |= {Asked(SEEN, Side(side))} | {Asked(fact, Side(side)) for fact in facts}
    return frozenset(held)


def let_in(raw: bytes, library: Library) -> Case | None:
    try:
        return parse_visit("v.json", raw, library, TODAY)
    except BadInput:
        return None


@pytest.fixture(scope="module")
def space(library: Library) -> Space:
    return Space(library)


def test_what_can_be_recorded_is_what_the_visit_reader_lets_in(
    library: Library, space: Space, small: Any
) -> None:
    met = {True: 0, False: 0}

    @settings(max_examples=500, deadline=None, database=None)
    @given(drawn=raw_facts())
    def same(drawn: tuple[frozenset[str], dict[str, frozenset[Fact]]]) -> None:
        person, ears = drawn
        held = recorded(person, ears)
        case = let_in(visit_file(person, ears), library)
        assert (case is not None) is space.anybody_fits(small.cube(space, held))
        assert case is None or small.held_of(case, library) == held
        met[case is not None] += 1

    same()

    assert min(met.values()) > 50, met


@pytest.mark.parametrize("number", range(len(impossible())))
def test_each_impossible_combination_is_left_out_and_nothing_but_it(
    number: int, space: Space
) -> None:
    together, unless = impossible()[number]
    for side in (Side.LEFT, Side.RIGHT):
        met = space.all_of([space.seen(side), *(space.holds(fact, side) for fact in together)])
        lifted = space.any_of(space.holds(fact, side) for fact in unless)
        assert not space.anybody_fits(met & ~lifted)
        for fact in together:
            others = [space.holds(one, side) for one in together if one != fact]
            without = space.all_of([space.seen(side), *others]) & ~space.holds(fact, side)
            assert space.anybody_fits(without), fact


# --- what is worked out -------------------------------------------------------------------------
VOCABULARIES: dict[str, dict[str, Any]] = {
    "an ear": {"condition": ("wax", "grommet"), "procedure": ("suction", "examination")},
    "a person": {"procedure": ("suction",), "caution": ("diabetes", "driver")},
    "a length": {"procedure": ("suction",), "length": ("noted", "not-noted")},
    "texts": {
        "procedure": ("suction",), "need": ("proxy", "deaf"), "texts": ("detail", "shared-phone"),
        "routes": ("sms", "email", "print"), "text_number": True,
    },
    "no texts": {
        "procedure": ("suction",), "need": ("cannot-phone",), "routes": ("sms", "email", "print")
    },
}  # fmt: skip


@pytest.mark.parametrize("name", VOCABULARIES)
def test_everybody_is_counted_and_every_fact_of_theirs_is_known(
    name: str, library: Library, small: Any
) -> None:
    """Walked one by one; the facts are those the clinician's side works out of the visit."""
    cut = small(library, **VOCABULARIES[name])
    space, people = Space(cut), small.everybody(cut)
    facts = [f"{group}:{value}" for group, one in cut.facts.items() for value in one.values]

    assert space.count(space.anybody) == len(people) > 20
    for fact in (one for one in facts if not one.startswith("side:")):
        for side in (Side.LEFT, Side.RIGHT):
            holds = space.holds(fact, side)
            seen = {held for held in people if Asked(SEEN, side) in held}
            fit = {
                held for held in seen
                if (small.cube(space, held) & holds).satisfiable()
            }  # fmt: skip
            known = {
                held for held in seen
                if fact in patient_facts(people[held], cut)
                or any(ear.side is side and fact in ear.facts for ear in people[held].ears)
            }  # fmt: skip
            assert fit == known, (fact, side)


def test_a_vocabulary_that_can_be_counted_by_hand_is_counted_so(
    library: Library, small: Any
) -> None:
    """One ear, or both, each with wax or without; of a person: age, recall and diabetes."""
    space = Space(small(library, condition=("wax",), procedure=("suction",), caution=("diabetes",)))
    left, both = space.seen(Side.LEFT), space.side_told(Side.BOTH)

    assert space.count(space.anybody) == (2 + 2 + 2 * 2) * 2 * 2 * 2
    assert space.count(left) == (2 + 2 * 2) * 8
    assert space.count(both) == 2 * 2 * 8
    assert space.count(space.holds("condition:wax", Side.LEFT)) == (1 + 2) * 8
    assert space.count(space.holds("caution:diabetes") & both) == 4 * 4
    assert space.count(space.holds("route:sms")) == 0
    assert space.count(space.holds("need:deaf")) == 0


def test_what_cannot_be_is_not_counted(library: Library, small: Any, cannot_be: Never) -> None:
    """Of each ear with wax and a person with diabetes none is left, unless it is a child."""
    barred = cannot_be("condition:wax", "caution:diabetes", unless=["age:child"])
    space = Space(
        small(
            library, condition=("wax",), procedure=("suction",), caution=("diabetes",),
            impossible=[barred],
        )
    )  # fmt: skip
    wax_somewhere = 1 + 1 + 3

    # Ears, times what is left of a person: recall, with diabetes and 16 or over.
    assert space.count(space.anybody) == 64 - wax_somewhere * 2


# --- an example, and chance ---------------------------------------------------------------------
def test_an_example_fits_holds_no_more_than_it_takes_and_is_the_same_every_time(
    library: Library, small: Any
) -> None:
    cut = small(library, **VOCABULARIES["texts"])
    people = set(small.everybody(cut))
    first, again = Space(cut), Space(cut)
    for fact in ("texts:detail", "need:deaf", "reply:text", "route:email", "recall:none"):
        held = first.example(first.holds(fact))

        assert held in people
        assert (small.cube(first, held) & first.holds(fact)).satisfiable()
        fitting = [
            one for one in people if (small.cube(first, one) & first.holds(fact)).satisfiable()
        ]
        assert not [one for one in fitting if one < held]
        assert again.example(again.holds(fact)) == held == first.example(first.holds(fact))
        assert facts_of(held).keys() == {None, Side.LEFT}


def test_chance_changes_no_count_and_no_example(library: Library, small: Any) -> None:
    space = Space(small(library, **VOCABULARIES["an ear"]))
    wax = space.holds("condition:wax", Side.LEFT)
    before, held = space.count(wax), space.example(wax)

    either = space.chance()

    assert space.count(wax) == space.count(wax & either) == space.count(wax & ~either) == before
    assert space.example(wax & either) == space.example(wax & ~either) == held
    assert space.recorded(wax & either) == wax == space.recorded(wax)


def test_a_condition_turns_on_the_questions_it_asks(library: Library) -> None:
    space = Space(library)
    silent = space.holds("speech:no-phone")

    asked = {"need:deaf", "need:hard-of-hearing", "need:cannot-phone"}
    assert space.support(silent) == {Asked(one) for one in asked}
    assert space.support(silent | ~silent) == frozenset()
    assert space.support(space.holds(NOTED, Side.LEFT)) == {Asked(NOTED, Side.LEFT)}

"""The most that anybody gets: the programme against everybody, one by one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from random import Random
from typing import Any

import pytest
from made_up_blocks import block

from aftercare.choose import choose
from aftercare.model import SPARE_KINDS, Impossible, Library, Side
from aftercare.proof.programme import Programme
from aftercare.proof.reach import SIDES, Reach
from aftercare.proof.signs import ALWAYS, NEVER, Sign
from aftercare.proof.space import Asked

Made = Callable[..., Library]
SHELF = (
    block("a-all", "A.\n", kind="urgent"),
    block("b-wax", "B.\n", given="condition:wax"),
    block("c-child", "- C.\n- D.\n", kind="water", given="age:child", more="actions: 3\n"),
    block("d-both", "D.\n", kind="recall", given="condition:grommet, recall:agreed"),
    block("e-bar", "E.\n", kind="others", withheld="condition:wax, caution:diabetes"),
    block("f-length", "F.\n", kind="done", given="length:noted"),
    block("g-detail", "G.\n", kind="normal", given="texts:detail"),
    block("h-retired", "H.\n", state="retired"),
)
KEPT: dict[str, dict[str, Any]] = {
    "ears": {"condition": ("wax", "grommet"), "procedure": ("suction",), "caution": ("diabetes",),
             "length": ("noted", "not-noted")},
    "person": {"condition": ("wax",), "procedure": ("suction",), "need": ("deaf", "proxy"),
               "texts": ("detail", "shared-phone"), "routes": ("sms", "email", "print"),
               "text_number": True},
}  # fmt: skip
Never = Callable[..., Impossible]


def cut(name: str, shelf_of: Made, small: Any, most: int = 99) -> Library:
    found: Library = small(shelf_of(*SHELF), **KEPT[name])
    return replace(found, limits=replace(found.limits, actions=most))


@pytest.mark.parametrize("name", KEPT)
@pytest.mark.parametrize("most", [0, 2, 3, 99])
def test_the_most_is_what_a_walk_of_everybody_finds(
    name: str, most: int, shelf_of: Made, small: Any
) -> None:
    """Amounts of blocks told and of facts, some below nothing; the limit on actions counts in."""
    library = cut(name, shelf_of, small, most)
    people = small.everybody(library)
    told = {
        held: {(one.block.id, one.side) for one in choose(case, library).chosen}
        for held, case in people.items()
    }
    programme, draw = Programme(library), Random(most)  # noqa: S311
    for _ in range(6):
        wanted = {(b.id, side): draw.randint(-3, 5) for b in library.blocks for side in SIDES}
        facts = {asked: draw.randint(-2, 2) for asked in programme.facts}
        amounts = [
            (programme.told(b, side), float(wanted[b.id, side]))
            for b in library.blocks for side in SIDES
        ]  # fmt: skip
        amounts += [(programme.facts[asked], float(n)) for asked, n in facts.items()]

        found = programme.most([*amounts, (ALWAYS, 2.0), (NEVER, 9.0)])

        def total(held: frozenset[Asked], wanted: Any = wanted, facts: Any = facts) -> int:
            of_blocks: int = sum(wanted[one] for one in told[held])
            of_facts: int = sum(facts[one] for one in held)
            return of_blocks + of_facts + 2

        assert found is not None
        assert round(found.total, 6) == max(map(total, people)) == total(found.held)
        assert found.held in people


def test_where_holds_for_one_question_only_and_nobody_is_none(shelf_of: Made, small: Any) -> None:
    library = cut("ears", shelf_of, small)
    programme = Programme(library)
    child, wax = (
        programme.holds("age:child", Side.LEFT),
        programme.holds("condition:wax", Side.LEFT),
    )
    amounts = [(child, 1.0), (wax, 1.0), (~programme.seen(Side.LEFT), 5.0)]

    def most(*where: Sign) -> float | None:
        found = programme.most(amounts, where)
        return None if found is None else round(found.total, 6)

    assert most() == 6
    assert most(~child) == 5
    assert most(wax) == 2
    assert most(wax, ~programme.seen(Side.LEFT)) is None
    assert most(NEVER) is None
    assert most(ALWAYS) == 6
    assert most(child, ~child) is None
    assert most() == 6


def test_whether_a_sign_holds_is_of_the_patient_found_last(shelf_of: Made, small: Any) -> None:
    programme = Programme(cut("ears", shelf_of, small))
    child = programme.holds("age:child", Side.LEFT)

    programme.most([(child, 1.0)])
    assert (programme.true(child), programme.true(~child)) == (True, False)
    programme.most([(child, -1.0)])
    assert (programme.true(child), programme.true(~child)) == (False, True)
    assert programme.true(ALWAYS)
    assert not programme.true(NEVER)


def test_signs_are_joined_as_logic_has_it(shelf_of: Made, small: Any) -> None:
    programme = Programme(cut("ears", shelf_of, small))
    child = programme.holds("age:child", Side.LEFT)
    agreed = programme.holds("recall:agreed", Side.LEFT)

    assert programme.all_of([]) == ALWAYS
    assert programme.any_of([]) == NEVER
    assert programme.all_of([child, ALWAYS]) == child
    assert programme.all_of([child, NEVER]) == NEVER
    assert programme.any_of([child, ALWAYS]) == ALWAYS
    both, either = programme.all_of([child, agreed]), programme.any_of([child, agreed])
    for yes, also in ((True, True), (True, False), (False, True), (False, False)):
        where = [child if yes else ~child, agreed if also else ~agreed]
        assert programme.most([(both, 1.0), (either, 10.0)], where) is not None
        assert (programme.true(both), programme.true(either)) == (yes and also, yes or also)


def test_what_cannot_be_is_never_the_answer(library: Library, small: Any, cannot_be: Never) -> None:
    barred = [
        cannot_be("condition:wax", "caution:diabetes", unless=["age:child"]),
        cannot_be("age:child", "recall:none"),
    ]
    made = small(
        library, condition=("wax",), procedure=("suction", "examination"), caution=("diabetes",),
        impossible=barred,
    )  # fmt: skip
    programme, people = Programme(made), small.everybody(made)
    facts = list(programme.facts)
    draw = Random(7)  # noqa: S311
    for _ in range(25):
        amounts = {asked: draw.randint(-4, 4) for asked in facts}
        found = programme.most([(programme.facts[a], float(n)) for a, n in amounts.items()])
        assert found is not None
        assert found.held in people
        best = max(sum(amounts[a] for a in held) for held in people)
        assert round(found.total, 6) == best


def test_the_programme_and_the_diagrams_agree_on_the_shelf_about_every_block(
    library: Library, small: Any
) -> None:
    """Who is left out for the limit on actions, found by one and looked up in the other."""
    reach, programme = Reach(library), Programme(library)
    for one in (b for b in library.blocks if b.kind in SPARE_KINDS):
        out = reach.left_out.get(one.id, reach.space.nobody)
        called = programme.called_for(one)
        told = programme.any_of(programme.told(one, side) for side in SIDES)
        found = programme.most([(told, -1.0)], [called])
        if found is None:
            assert not reach.space.anybody_fits(reach.called_for(one))
            continue
        left_out = round(found.total) == 0
        assert left_out is reach.space.anybody_fits(out)
        if left_out:
            assert (small.cube(reach.space, found.held) & out).satisfiable()

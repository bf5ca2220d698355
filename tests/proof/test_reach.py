"""Who is told which block of which ear: the same as CHOOSE answers, visit by visit."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from itertools import product
from typing import Any

import pytest
from hypothesis import given, settings
from made_up_blocks import block
from strategies import cases

from aftercare.choose import choose
from aftercare.library.blocks import parse_block
from aftercare.model import ACTION_KINDS, Block, Case, Choice, Library, Side
from aftercare.proof.different import different
from aftercare.proof.reach import Reach, added
from aftercare.proof.space import Space

Made = Callable[..., Library]
# What turns on more than what is recorded: detail that others would see, and measures by ear.
ODD = (
    block("odd-detail", "A.\n", given="texts:detail"),
    block("odd-plain", "A.\n", withheld="texts:detail"),
    block("odd-length", "A.\n", kind="done", given="length:noted"),
    block("odd-no-length", "A.\n", kind="others", given="length:not-noted"),
    block("odd-either", "A.\n", kind="water", given="condition:wax, condition:grommet, age:child"),
    block("odd-retired", "A.\n", kind="urgent", state="retired"),
    block("odd-much", "- A.\n- B.\n- C.\n", kind="care", more="actions: 9\n"),
    block("odd-fixed", "A.\n", kind="recall", given="plan:sooner", more="actions: 5\n"),
)  # fmt: skip


def made_up(library: Library, texts: Iterable[str]) -> tuple[Block, ...]:
    return tuple(
        parse_block(f"content/made/{number}.md", text.encode(), library.facts)
        for number, text in enumerate(texts)
    )


@pytest.fixture(scope="module")
def whole(library: Library) -> Reach:
    """The shelf with odd blocks on it, and a limit on actions that is often broken."""
    blocks = (*library.blocks, *made_up(library, ODD))
    return Reach(replace(library, blocks=blocks, limits=replace(library.limits, actions=5)))


def told(choice: Choice) -> set[tuple[str, Side]]:
    return {(one.block.id, one.side) for one in choice.chosen}


@settings(max_examples=150, deadline=None)
@given(case=cases())
def test_everybody_is_told_the_blocks_of_the_ears_that_choose_tells_them(
    whole: Reach, small: Any, case: Case
) -> None:
    met, choice = small.met(whole, case), choose(case, whole.library)

    assert met.satisfiable()
    here = {(t.block.id, t.side) for t in whole.tellings if (t.who & met).satisfiable()}
    assert here == told(choice)
    assert here == {
        (t.block.id, t.side) for t in whole.tellings if not (met & ~t.who).satisfiable()
    }
    assert {name for name, who in whole.left_out.items() if (who & met).satisfiable()} == {
        one.block_id for one in choice.omitted if one.called_for
    }
    called = told(choose(case, without_limit(whole.library)))
    assert {b.id for b in whole.blocks if (whole.called_for(b) & met).satisfiable()} == {
        name for name, _ in called
    }


def without_limit(library: Library) -> Library:
    return replace(library, limits=replace(library.limits, actions=999))


def test_tellings_are_in_page_order_and_hold_for_somebody(whole: Reach) -> None:
    order = list(dict.fromkeys(one.block.id for one in whole.tellings))
    kept = [b.id for b in whole.blocks if b.id in order]

    assert order == kept
    assert all(whole.space.anybody_fits(one.who) for one in whole.tellings)
    assert "odd-retired" not in order
    assert {one.side for one in whole.tellings if one.block.id == "odd-length"} == {
        Side.LEFT, Side.RIGHT,
    }  # fmt: skip


SHELF = (
    block("a-all", "A.\n", kind="urgent"),
    block("b-wax", "B.\n", given="condition:wax"),
    block("c-child", "- C.\n- D.\n", kind="water", given="age:child"),
    block("d-both", "D.\n", kind="recall", given="condition:grommet, recall:agreed"),
    block("e-bar", "E.\n", kind="others", withheld="condition:wax, caution:diabetes"),
    block("f-length", "F.\n", kind="done", given="length:noted"),
)
KEPT: dict[str, Any] = {
    "condition": ("wax", "grommet"), "procedure": ("suction",), "caution": ("diabetes",),
    "length": ("noted", "not-noted"),
}  # fmt: skip


@pytest.mark.parametrize("most", [1, 2, 3, 9])
def test_leaflets_tellings_and_actions_are_as_many_as_in_a_walk_of_everybody(
    most: int, shelf_of: Made, small: Any
) -> None:
    cut = small(shelf_of(*SHELF), **KEPT)
    cut = replace(cut, limits=replace(cut.limits, actions=most))
    people = small.everybody(cut)
    reach, whole = Reach(cut), without_limit(cut)
    chosen = {held: choose(case, cut) for held, case in people.items()}
    called = {held: choose(case, whole) for held, case in people.items()}

    assert reach.space.count(reach.space.anybody) == len(people) > 500
    # The ears are told apart even where they are told the same.
    leaflets = {(people[held].treated, *sorted(told(one))) for held, one in called.items()}
    assert reach.leaflets() == len(leaflets)
    for one in reach.tellings:
        want = sum((one.block.id, one.side) in told(choice) for choice in chosen.values())
        assert reach.space.count(one.who) == want > 0
    told_so = {(one.block.id, one.side) for one in reach.tellings}
    assert told_so == set().union(*map(told, chosen.values()))
    for total, who in reach.actions.items():
        asked = sum(
            total == sum(c.block.actions for c in choice.chosen if c.block.kind in ACTION_KINDS)
            for choice in called.values()
        )  # fmt: skip
        assert reach.space.count(who) == asked > 0
    assert bool(reach.left_out) is (most < 5)


def test_different_answers_are_counted_and_not_the_patients(library: Library, small: Any) -> None:
    cut = small(library, condition=("wax",), procedure=("suction",), caution=("diabetes", "driver"))
    space = Space(cut)
    people = [small.cube(space, held) for held in small.everybody(cut)]
    left, right = space.seen(Side.LEFT), space.holds("condition:wax", Side.RIGHT)
    questions = [
        [left & space.holds("age:child")],
        [right | space.holds("caution:driver"), space.holds("caution:diabetes") & ~right, left],
        [space.anybody, space.nobody],
    ]
    every = [one for group in questions for one in group]
    given = {tuple((q & who).satisfiable() for q in every) for who in people}

    assert different(space, questions) == len(given)
    assert different(space, []) == 1
    assert different(space, questions, space.nobody) == 0
    some = space.holds("age:child") & ~left
    within = {
        tuple((q & who).satisfiable() for q in every)
        for who in people
        if (who & some).satisfiable()
    }
    assert different(space, questions, some) == len(within) < len(given)


def test_amounts_add_up_for_each_patient_apart(library: Library, small: Any) -> None:
    space = Space(small(library, procedure=("suction",), caution=("diabetes", "driver")))
    totals = {0: space.possible}
    amounts = {"caution:diabetes": 2, "caution:driver": 3, "age:child": 2}
    for fact, amount in amounts.items():
        totals = added(totals, amount, space.holds(fact))

    for answers in product((True, False), repeat=3):
        total = sum(n for n, yes in zip(amounts.values(), answers, strict=True) if yes)
        who = space.all_of(
            space.holds(fact) if yes else ~space.holds(fact)
            for fact, yes in zip(amounts, answers, strict=True)
        )
        assert not (who & space.possible & ~totals[total]).satisfiable()
    assert sum(space.count(who) for who in totals.values()) == space.count(space.anybody)

"""Every block has its reason, and the order is fixed; each fault that could be is seen."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from made_up_blocks import block

from aftercare.choose import choose
from aftercare.model import Case, Choice, Library, Side
from aftercare.proof import reasons as room
from aftercare.proof.reach import Reach
from aftercare.proof.reasons import reasons, reasons_of

Made = Callable[..., Library]
SHELF = (
    block("a-all", "A.\n", kind="urgent"),
    block("b-wax", "B.\n", given="condition:wax, age:child", withheld="caution:diabetes"),
    block("c-spare", "C.\n", kind="care", given="condition:wax", more="actions: 5\n"),
    block("d-spare", "D.\n", kind="care", more="actions: 5\n"),
    block("e-gone", "E.\n", state="retired"),
)


@pytest.fixture
def cut(shelf_of: Made, small: Any) -> Library:
    made: Library = small(
        shelf_of(*SHELF), condition=("wax",), procedure=("suction",), caution=("diabetes",)
    )
    return made


def problems(reach: Reach) -> set[tuple[str, str]]:
    return {(one.block, one.problem) for one in reasons(reach).findings}


def test_the_shelf_as_it_stands_has_a_reason_for_everything(library: Library) -> None:
    found = reasons(Reach(library))

    assert found.findings == ()
    assert found.followed > 4 * len(library.blocks)


def test_everybody_of_a_small_shelf_has_the_reason_that_is_proved(cut: Library, small: Any) -> None:
    """Each visit through the real path; of one ear, so that a reason is of that ear alone."""
    reach = Reach(cut)
    met = set()
    for held, case in small.everybody(cut).items():
        if [ear.side for ear in case.ears] != [Side.LEFT]:
            continue
        here, choice = reach.space.just(held), choose(case, cut)
        for one in cut.blocks:
            every = [r for r in reasons_of(one, reach) if (r.who & here).satisfiable()]
            met |= {(one.id, r.said) for r in every}
            told = [because for c in choice.chosen if c.block.id == one.id for because in c.because]
            left = [o.because for o in choice.omitted if o.block_id == one.id]
            assert [r.said for r in every if r.told] == told
            assert len([r for r in every if not r.told]) == len(left) == (0 if told else 1)
            assert all(r.said in left[0] for r in every if not r.told)
    every = {(one.id, r.said) for one in cut.blocks for r in reasons_of(one, reach)}
    never = {("a-all", "the least needed goes"), ("b-wax", "the least needed goes"),
             ("c-spare", "the least needed goes")}  # fmt: skip
    assert every - met == never


def test_two_blocks_that_could_come_in_either_order_are_found(cut: Library) -> None:
    first = cut.blocks[0]
    twice = replace(cut, blocks=(*cut.blocks, replace(first, place="content/other.md")))

    ((name, problem),) = problems(Reach(twice))
    assert name == first.id
    assert problem.startswith(f"nothing says whether it comes before or after {first.place}:")


@pytest.mark.parametrize(
    ("change", "problem"),
    [
        (lambda told, space: told & ~space.holds("age:child"),
         "some patients have every reason to be told it and are not"),
        (lambda told, space: told | space.seen(Side.LEFT),
         "some patients are told it against a reason"),
    ],
)  # fmt: skip
def test_a_proof_that_tells_somebody_else_a_block_is_found(
    change: Callable[..., Any], problem: str, cut: Library
) -> None:
    reach = Reach(cut)
    told = dict(reach.wanted["b-wax"])
    told[Side.LEFT] = change(told[Side.LEFT], reach.space)
    reach.wanted = {**reach.wanted, "b-wax": told}

    assert ("b-wax", problem) in problems(reach)


@pytest.mark.parametrize(
    "gone", ["", "needs age:child", "never given with", "retired", "age:child"]
)
def test_a_reason_that_the_real_path_does_not_give_is_found(
    gone: str, cut: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    def forgetful(case: Case, library: Library) -> Choice:
        choice = choose(case, library)
        return Choice(
            tuple(replace(c, because=tuple(b for b in c.because if b != gone))
                  for c in choice.chosen),
            tuple(replace(o, because="" if gone and gone in o.because else o.because)
                  for o in choice.omitted),
        )  # fmt: skip

    monkeypatch.setattr(room, "choose", forgetful)
    found = problems(Reach(cut))

    assert bool(found) is bool(gone)
    assert all("the real path does not say" in problem and gone in problem for _, problem in found)


def test_a_reason_left_out_of_the_proof_leaves_somebody_without_one(
    cut: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = room.reasons_of

    def fewer(one: Any, reach: Reach, side: Side = Side.LEFT) -> Any:
        yield from (r for r in whole(one, reach, side) if not r.said.startswith("needs"))

    monkeypatch.setattr(room, "reasons_of", fewer)

    assert ("b-wax", "some patients have no reason to be told it or not") in problems(Reach(cut))

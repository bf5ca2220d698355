"""What holds of a shelf in any language: each way it can be wanting is found, with its file."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from made_up import TODAY
from made_up_blocks import block

from aftercare.choose import choose
from aftercare.model import Library
from aftercare.proof.editing import Finding
from aftercare.proof.reach import Reach
from aftercare.proof.shelf import first_line, of_any_language, totals
from aftercare.proof.space import Asked

Made = Callable[..., Library]
CONDITIONS = ", ".join(
    f"condition:{one}"
    for one in ("open-cavity", "wax", "otitis-externa", "perforation", "grommet")
)  # fmt: skip
PROCEDURES = "procedure:suction, procedure:instruments, procedure:examination"
# Every condition and procedure is spoken of, in every kind it must be.
WHOLE = {
    "done": block("done", "A.\n", kind="done", given=PROCEDURES),
    **{
        kind: block(kind, "A.\n", kind=kind, given=CONDITIONS)
        for kind in ("urgent", "normal", "water", "recall")
    },
}
FIRST = 14


def found(library: Library, today: date = TODAY) -> list[Finding]:
    return list(of_any_language(Reach(library), today))


def one_of(library: Library, today: date = TODAY) -> Finding:
    (one,) = found(library, today)
    return one


def test_a_shelf_that_tells_everybody_everything_has_no_finding(shelf_of: Made) -> None:
    assert found(shelf_of(*WHOLE.values())) == []


# --- who gets what ------------------------------------------------------------------------------
@pytest.mark.parametrize(
    "given",
    [
        "finding:cleared, procedure:examination", "age:child, caution:driver",
        "plan:soften, condition:open-cavity", "drops:aminoglycoside, region:GB, plan:soften, "
        "condition:grommet",
    ],
)  # fmt: skip
def test_a_block_no_patient_reaches_is_found(given: str, shelf_of: Made) -> None:
    one = one_of(shelf_of(*WHOLE.values(), block("dead", "A.\n", given=given)))

    assert one.problem == "no patient can be given it"
    assert (one.block, one.file) == ("dead", f"content/made/5.md:{FIRST}")


def test_a_block_barred_from_everybody_it_is_for_is_found(shelf_of: Made) -> None:
    dead = block("dead", "A.\n", given="caution:diabetes", withheld="age:adult, age:child")

    assert one_of(shelf_of(*WHOLE.values(), dead)).block == "dead"


@pytest.mark.parametrize(
    ("given", "withheld"),
    [("region:NZ", ""), ("advice-line:no", ""), ("units:cm, condition:wax", ""),
     ("emergency-text:no, need:deaf", ""), ("", "region:GB"), ("age:child", "units:cm-and-inches")],
)  # fmt: skip
def test_a_block_of_another_clinic_is_no_finding(given: str, withheld: str, shelf_of: Made) -> None:
    other = block("other", "A.\n", given=given, withheld=withheld)
    library = shelf_of(*WHOLE.values(), other)
    reach = Reach(library)

    assert found(library) == []
    (told,) = (one for one in library.blocks if one.id == "other")
    assert not reach.space.anybody_fits(reach.gets(told))


def test_a_retired_block_is_no_finding_though_nobody_gets_it(shelf_of: Made) -> None:
    assert found(shelf_of(*WHOLE.values(), block("old", "A.\n", state="retired"))) == []


def test_a_block_that_is_left_out_whenever_it_is_called_for_is_found(shelf_of: Made) -> None:
    much = block("much", "A.\n", given="caution:diabetes", more="actions: 8\n")
    much = much.replace("rank: 10", "rank: 90")
    library = shelf_of(*WHOLE.values(), much)

    one = one_of(library)

    assert one.problem == "it is left out whenever it is called for: too much is asked with it"
    assert (one.block, one.file) == ("much", "content/made/5.md:15")
    assert "caution:diabetes" in one.case
    reach = Reach(library)
    assert one.patients == reach.space.count(reach.space.holds("caution:diabetes"))
    fits = shelf_of(*WHOLE.values(), much.replace("actions: 8", "actions: 5"))
    assert found(fits) == []


@pytest.mark.parametrize("kind", ["urgent", "normal", "water", "recall", "done"])
def test_a_kind_that_must_be_told_and_is_not_is_found_for_each_fact(
    kind: str, shelf_of: Made
) -> None:
    kept = [text for name, text in WHOLE.items() if name != kind]
    problems = {one.problem: one for one in found(shelf_of(*kept))}
    facts = PROCEDURES if kind == "done" else CONDITIONS

    for fact in facts.split(", "):
        one = problems[f"with {fact}, some patients are told nothing of the kind '{kind}'"]
        assert any(fact in asked for asked in one.case)
        assert one.patients > 0
    uncovered = {f"no content for {fact}: release withholds every message"
                 for fact in PROCEDURES.split(", ")}  # fmt: skip
    assert {one for one in problems if one.startswith("no content")} == (
        uncovered if kind == "done" else set()
    )
    assert len(problems) == len(facts.split(", ")) * (2 if kind == "done" else 1)


def test_a_kind_told_to_some_with_a_fact_only_is_found_for_the_others(shelf_of: Made) -> None:
    barred = block("water", "A.\n", kind="water", given=CONDITIONS, withheld="caution:diabetes")
    library = shelf_of(*{**WHOLE, "water": barred}.values())

    for one in found(library):
        assert "kind 'water'" in one.problem
        assert "caution:diabetes" in one.case
    assert len(found(library)) == len(CONDITIONS.split(", "))


def test_a_condition_no_block_is_given_for_is_found(shelf_of: Made) -> None:
    """Told everything there is to tell, but by blocks for everybody: release withholds it."""
    less = CONDITIONS.replace("condition:wax, ", "")
    kept = {
        name: text.replace(CONDITIONS, less) if name != "done" else text
        for name, text in WHOLE.items()
    }
    for_all = [
        block(f"all-{k}", "A.\n", kind=k) for k in ("urgent", "normal", "water", "recall")
    ]  # fmt: skip

    one = one_of(shelf_of(*kept.values(), *for_all))

    assert one.problem == "no content for condition:wax: release withholds every message"
    assert "left ear: condition:wax" in one.case


# --- dates --------------------------------------------------------------------------------------
def test_numbers_are_looked_up_again_every_year(shelf_of: Made) -> None:
    library = shelf_of(*WHOLE.values())
    library = replace(library, limits=replace(library.limits, recheck_days=100))
    checked = library.region.checked
    last = checked + timedelta(days=100)
    assert found(library, last) == []

    late = one_of(library, last + timedelta(days=1))
    early = one_of(library, checked - timedelta(days=1))

    assert (late.file, late.block) == ("shared/regions.toml", "GB")
    assert late.problem.endswith("which is more than 100 days ago")
    assert early.problem.endswith("which has not come")
    assert str(checked) in early.problem


def test_a_review_that_is_past_is_found_of_blocks_and_frame(shelf_of: Made) -> None:
    due = block("due", "A.\n").replace("2028-11-01", "2026-11-23")
    retired = block("gone", "A.\n", state="retired").replace("2028-11-01", "2026-11-23")
    library = shelf_of(*WHOLE.values(), due, retired)

    one = one_of(library)

    assert (one.block, one.file) == ("due", "content/made/5.md")
    assert one.problem == "its review was due by 2026-11-23: nothing of it is sent"
    last_day = due.replace("2026-11-23", str(TODAY))
    assert found(shelf_of(*WHOLE.values(), last_day)) == []
    framed = replace(library, frame=replace(library.frame, review_by=date(2026, 1, 1)))
    assert {one.block for one in found(framed)} == {"due", "frame"}
    assert {one.file for one in found(framed)} == {"content/made/5.md", "content/frame.toml"}


# --- totals -------------------------------------------------------------------------------------
def test_totals_are_what_a_walk_of_everybody_counts(shelf_of: Made, small: Any) -> None:
    texts = (
        block("a", "- A.\n- B.\n", kind="care", given="condition:wax"),
        block("b", "A.\n", kind="others", given="age:child"),
        block("c", "A.\n", kind="recall", more="actions: 2\n"),
    )
    cut = small(shelf_of(*texts), condition=("wax",), procedure=("suction",))
    cut = replace(cut, limits=replace(cut.limits, actions=3))
    people = small.everybody(cut)
    left_out = {
        held: [one.block_id for one in choose(case, cut).omitted if one.called_for]
        for held, case in people.items()
    }

    counted = totals(Reach(cut))

    assert counted.patients == len(people)
    assert counted.actions.most == 2 + 1 + 2
    assert counted.actions.held in people
    assert {Asked("age:child")} < counted.actions.held
    assert counted.shortened == sum(map(bool, left_out.values()))
    assert dict(counted.left_out) == {
        name: sum(name in out for out in left_out.values())
        for name in set().union(*left_out.values())
    }
    assert counted.leaflets == Reach(cut).leaflets() == (2 + 2 + 4) * 2


def test_the_first_line_of_a_block_is_the_one_its_words_begin_on(shelf_of: Made) -> None:
    plain, more = shelf_of(block("a", "\n\nA.\n"), block("b", "A.\n", more="actions: 1\n")).blocks

    assert first_line(plain) == f"content/made/0.md:{FIRST + 2}"
    assert first_line(more) == f"content/made/1.md:{FIRST + 1}"

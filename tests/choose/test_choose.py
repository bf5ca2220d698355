"""CHOOSE: each ear asked apart, every block answered for, and every answer with its reason."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_up import a_case, a_patient, an_ear
from strategies import cases

from aftercare.choose import choose, patient_facts, uncovered
from aftercare.model import (
    Approval,
    ApprovalState,
    Block,
    Case,
    Channel,
    Choice,
    Chosen,
    Fact,
    Interval,
    Kind,
    Library,
    Omitted,
    Patient,
    Side,
)


def block(
    name: str,
    *given_for: Fact,
    never: tuple[Fact, ...] = (),
    kind: Kind = Kind.CARE,
    rank: int = 10,
    actions: int = 0,
) -> Block:
    return Block(
        id=name,
        version="1",
        kind=kind,
        given_for=given_for,
        withheld_from=never,
        rank=rank,
        parts=(),
        sms=None,
        sms_detail=None,
        sources=("a paper",),
        author="A. Writer",
        approval=Approval(ApprovalState.DRAFT),
        review_by=date(2027, 11, 1),
        place=f"content/x/{name}.md",
        actions=actions,
    )


def chosen(library: Library, case: Case, *blocks: Block) -> Choice:
    return choose(case, replace(library, blocks=blocks))


def told(choice: Choice) -> list[tuple[str, Side, tuple[str, ...]]]:
    return [(one.block.id, one.side, one.because) for one in choice.chosen]


LEFT_WAX = an_ear("condition:wax", "procedure:suction")
RIGHT_CAVITY = an_ear("condition:open-cavity", "procedure:instruments", side=Side.RIGHT)


@pytest.mark.parametrize(
    ("asked", "never", "given_"),
    [
        ((), (), True),
        (("condition:wax",), (), True),
        (("condition:wax", "condition:grommet"), (), True),
        (("condition:wax", "procedure:suction"), (), True),
        (("condition:wax", "procedure:instruments"), (), False),
        (("condition:wax", "procedure:suction", "procedure:instruments"), (), True),
        (("condition:grommet",), (), False),
        (("condition:wax",), ("procedure:suction",), False),
        ((), ("age:adult",), False),
        ((), ("age:child",), True),
        (("speech:phone", "reply:email", "recall:agreed"), (), True),
    ],
)
def test_one_fact_of_every_group_named_must_hold_and_none_that_bars(
    library: Library, asked: tuple[Fact, ...], never: tuple[Fact, ...], given_: bool
) -> None:
    choice = chosen(library, a_case(ears=(LEFT_WAX,)), block("b", *asked, never=never))

    assert bool(choice.chosen) is given_


def test_facts_of_two_ears_are_never_put_together(library: Library) -> None:
    both = a_case(ears=(LEFT_WAX, RIGHT_CAVITY))

    choice = chosen(library, both, block("b", "condition:wax", "procedure:instruments"))

    assert choice.omitted == (
        Omitted("b", "left ear: needs procedure:instruments; right ear: needs condition:wax"),
    )


def test_a_block_speaks_of_the_ears_it_is_for(library: Library) -> None:
    both = a_case(ears=(LEFT_WAX, RIGHT_CAVITY))

    choice = chosen(
        library,
        both,
        block("a", "condition:wax"),
        block("b", "condition:open-cavity"),
        block("c"),
        block("d", "procedure:suction", "procedure:instruments"),
        block("e", never=("condition:wax",)),
    )

    assert told(choice) == [
        ("a", Side.LEFT, ("condition:wax",)),
        ("b", Side.RIGHT, ("condition:open-cavity",)),
        ("c", Side.BOTH, ("given to everyone",)),
        ("d", Side.BOTH, ("procedure:suction", "procedure:instruments")),
        ("e", Side.RIGHT, ("given to everyone",)),
    ]


def test_two_lengths_are_told_apart(library: Library) -> None:
    ears = (
        an_ear("procedure:suction", removed_mm=20),
        an_ear("procedure:suction", side=Side.RIGHT, removed_mm=30),
    )

    choice = chosen(library, a_case(ears=ears), block("b", "length:noted"))

    assert [one.side for one in choice.chosen] == [Side.LEFT, Side.RIGHT]


def test_the_order_is_kind_then_rank_then_id(library: Library) -> None:
    blocks = [
        block("a", kind=Kind.RECALL),
        block("b", kind=Kind.URGENT, rank=20),
        block("d", kind=Kind.URGENT, rank=10),
        block("c", kind=Kind.URGENT, rank=10),
    ]

    choice = chosen(library, a_case(), *blocks)

    assert [one.block.id for one in choice.chosen] == ["c", "d", "b", "a"]


def test_a_retired_block_is_given_to_nobody_and_says_so(library: Library) -> None:
    gone = Approval(ApprovalState.RETIRED)
    blocks = [replace(b, approval=gone) if b.id == "normal-wax" else b for b in library.blocks]
    case = a_case()
    assert "normal-wax" in {one.block.id for one in choose(case, library).chosen}

    choice = choose(case, replace(library, blocks=tuple(blocks)))

    assert "normal-wax" not in {one.block.id for one in choice.chosen}
    assert Omitted("normal-wax", "retired") in choice.omitted


def test_a_bar_is_told_before_a_lack(library: Library) -> None:
    choice = chosen(library, a_case(), block("b", "condition:grommet", never=("age:adult",)))

    assert choice.omitted == (Omitted("b", "never given with age:adult"),)


@pytest.mark.parametrize(
    ("case", "facts"),
    [
        (a_case(), {"reader:self", "speech:phone", "reply:text", "reply:email", "recall:agreed"}),
        (a_case(patient=a_patient(facts=frozenset({"age:child"}))), {"reader:parent"}),
        (a_case(patient=a_patient(facts=frozenset({"need:deaf"}))), {"speech:no-phone"}),
        (a_case(patient=a_patient(facts=frozenset({"need:hard-of-hearing"}))), {"speech:no-phone"}),
        (a_case(patient=a_patient(facts=frozenset({"need:cannot-phone"}))), {"speech:no-phone"}),
        (a_case(recall=None, recall_declined="no"), {"recall:none"}),
        (a_case(recall=Interval(weeks=2)), {"recall:agreed"}),
        (a_case(), {"region:GB", "advice-line:yes", "emergency-text:yes", "units:cm-and-inches"}),
    ],
)
def test_facts_follow_from_the_visit_and_the_clinic(
    library: Library, case: Case, facts: set[Fact]
) -> None:
    assert facts <= patient_facts(case, library)


@pytest.mark.parametrize(
    "patient",
    [a_patient(mobile=None), a_patient(email=None), a_patient(agreed=frozenset({Channel.SMS}))],
)
def test_a_route_for_answers_is_there_only_if_it_works(library: Library, patient: object) -> None:
    facts = patient_facts(a_case(patient=patient), library)

    assert not {"reply:text", "reply:email"} <= facts


def test_a_clinic_without_a_number_for_texts_gets_none(library: Library) -> None:
    without = replace(library, clinic=replace(library.clinic, text_number=None))

    assert "reply:text" not in patient_facts(a_case(), without)


@pytest.mark.parametrize(
    ("patient", "routes"),
    [
        (a_patient(), {"route:sms", "route:email", "route:print"}),
        (a_patient(mobile=None), {"route:email", "route:print"}),
        (a_patient(email=None, agreed=frozenset({Channel.SMS, Channel.EMAIL})), {"route:sms"}),
        (a_patient(agreed=frozenset({Channel.PRINT})), {"route:print"}),
    ],
)
def test_a_route_is_agreed_to_and_has_somewhere_to_go(
    library: Library, patient: Patient, routes: set[Fact]
) -> None:
    facts = patient_facts(a_case(patient=patient), library)

    assert {fact for fact in facts if fact.startswith("route:")} == routes


# --- No more than a reader can bear in mind ---------------------------------------------


def left_out(choice: Choice) -> set[str]:
    return {one.block_id for one in choice.omitted if one.called_for}


def test_the_least_needed_goes_first_until_seven_things_are_asked(library: Library) -> None:
    """Seven actions: proposed by the project; a clinician must confirm."""
    assert library.limits.actions == 7
    blocks = [
        block("a", rank=1, actions=3),
        block("b", rank=2, actions=2, kind=Kind.WATER),
        block("c", rank=3, actions=2, kind=Kind.OTHERS),
        block("d", rank=4, actions=2),
    ]

    enough = chosen(library, a_case(), *blocks[:3])
    too_much = chosen(library, a_case(), *blocks)

    assert left_out(enough) == set()
    assert left_out(too_much) == {"d"}
    (gone,) = (one for one in too_much.omitted if one.called_for)
    assert gone.because == "called for, and more than 7 actions: the least needed goes"
    assert [one.block.id for one in too_much.chosen] == ["a", "b", "c"]


def test_what_is_vital_and_the_next_visit_are_never_left_out(library: Library) -> None:
    kept = [
        block(kind.value, kind=kind, rank=99, actions=4)
        for kind in (Kind.URGENT, Kind.CONTACT, Kind.RECALL)
    ]

    choice = chosen(library, a_case(), *kept, block("care", rank=1, actions=1))

    assert left_out(choice) == {"care"}
    assert {one.block.id for one in choice.chosen} == {"urgent", "contact", "recall"}


def test_a_block_that_asks_for_nothing_is_not_left_out_in_place_of_one_that_does(
    library: Library,
) -> None:
    choice = chosen(
        library, a_case(), block("a", rank=99), block("b", rank=1, actions=8), block("c", rank=2)
    )

    assert left_out(choice) == {"b"}


@given(
    asked=st.lists(
        st.tuples(
            st.sampled_from((Kind.CARE, Kind.WATER, Kind.OTHERS)),
            st.integers(1, 40),
            st.integers(0, 5),
        ),
        max_size=8,
    )
)
@settings(max_examples=60, deadline=None)
def test_no_choice_asks_for_more_than_the_limit_and_none_is_cut_short_for_nothing(
    library: Library, asked: list[tuple[Kind, int, int]]
) -> None:
    blocks = [
        block(f"b{at}", kind=kind, rank=rank, actions=count)
        for at, (kind, rank, count) in enumerate(asked)
    ]

    choice = chosen(library, a_case(), *blocks)

    said = sum(one.block.actions for one in choice.chosen)
    gone = [one for one in blocks if one.id in left_out(choice)]
    assert said <= library.limits.actions
    if gone:
        # The one that went last was still too much.
        assert said + min(gone, key=lambda one: (one.rank, one.id)).actions > library.limits.actions
    kept = [one.block for one in choice.chosen if one.block.actions]
    assert all((k.rank, k.id) < (g.rank, g.id) for k in kept for g in gone)


def test_what_no_block_is_given_for_is_named(library: Library) -> None:
    case = a_case(ears=(an_ear("condition:wax", "condition:grommet", "procedure:suction"),))

    choice = chosen(library, case, block("b", "condition:wax"), block("c"))

    assert uncovered(case, choice) == ("condition:grommet", "procedure:suction")


def test_content_given_to_one_ear_does_not_cover_the_other(library: Library) -> None:
    left = an_ear("condition:perforation", "procedure:suction")
    right = an_ear(
        "condition:perforation", "procedure:suction", "finding:discharge", side=Side.RIGHT
    )
    case = a_case(ears=(left, right))
    dry = block("b", "condition:perforation", never=("finding:discharge",))

    choice = chosen(library, case, dry, block("c", "procedure:suction"))

    assert uncovered(case, choice) == ("condition:perforation",)


def test_a_block_for_either_of_two_covers_what_the_ear_has(library: Library) -> None:
    left = an_ear("condition:perforation", "procedure:suction")
    right = an_ear("condition:grommet", "procedure:suction", side=Side.RIGHT)
    case = a_case(ears=(left, right))
    either = block(
        "b", "condition:perforation", "condition:grommet", never=("reply:sign-language",)
    )

    choice = chosen(library, case, either, block("c", "procedure:suction"))

    assert uncovered(case, choice) == ()


@given(case=cases(), seed=st.integers(0, 2**32))
@settings(max_examples=60, deadline=None)
def test_every_block_is_answered_for_once_whatever_the_order(
    library: Library, case: Case, seed: int
) -> None:
    shuffled = list(library.blocks)
    random.Random(seed).shuffle(shuffled)  # noqa: S311 - a shuffle, not a secret

    choice = choose(case, library)

    assert choose(case, replace(library, blocks=tuple(shuffled))) == choice
    given_ = {one.block.id for one in choice.chosen}
    left_out = [one.block_id for one in choice.omitted]
    assert given_ | set(left_out) == {one.id for one in library.blocks}
    assert len(left_out) == len(set(left_out))
    assert not given_ & set(left_out)


@given(case=cases())
@settings(max_examples=60, deadline=None)
def test_every_reason_holds(library: Library, case: Case) -> None:
    person = patient_facts(case, library)

    choice = choose(case, library)

    for one in choice.chosen:
        facts = person.union(*(e.facts for e in case.ears if one.side in (e.side, Side.BOTH)))
        assert one.because
        assert set(one.because) <= facts or one.because == ("given to everyone",)
        assert holds(one, case, person)
    for left_out in choice.omitted:
        assert left_out.because.strip("; ")


def holds(one: Chosen, case: Case, person: frozenset[Fact]) -> bool:
    """The rule of content/README.md, said again another way: by sets, for each ear spoken of."""
    for ear in case.ears:
        facts = person | ear.facts
        groups = {fact.split(":")[0] for fact in one.block.given_for}
        allowed = all(
            any(f in facts for f in one.block.given_for if f.split(":")[0] == group)
            for group in groups
        ) and not facts & set(one.block.withheld_from)
        spoken_of = one.side in (ear.side, Side.BOTH)
        if spoken_of and not allowed:
            return False
    return True

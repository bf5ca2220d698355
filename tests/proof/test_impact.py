"""What a block does to whom, and what an edit of it changes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from made_up import TODAY
from made_up_blocks import block

from aftercare.choose import choose, patient_facts
from aftercare.library.blocks import parse_block
from aftercare.model import Block, Case, Channel, Library, Side
from aftercare.proof.impact import Audience, Change, Telling, audiences, changes
from aftercare.proof.reach import Reach
from aftercare.proof.space import Asked
from aftercare.proof.witness import walk

Made = Callable[..., Library]
PAGE, TEXT = "page", "sms"


def cut(small: Any, library: Library, **more: Any) -> Library:
    usual: dict[str, Any] = {
        "condition": ("wax",), "procedure": ("suction",), "caution": ("diabetes",),
        "routes": ("sms", "print"), "text_number": True,
    }  # fmt: skip
    made: Library = small(library, **{**usual, **more})
    return made


def of(library: Library, name: str) -> Block:
    return next(one for one in library.blocks if one.id == name)


def told(library: Library, name: str) -> dict[Telling, Audience]:
    found = list(audiences(Reach(library), of(library, name)))
    assert len({one.telling for one in found}) == len(found)
    return {one.telling: one for one in found}


def edited(library: Library, before: str) -> list[Change]:
    old = parse_block("old.md", before.encode(), library.facts)
    return list(changes(Reach(library), of(library, old.id), old))


# --- who is told it in which words --------------------------------------------------------------
MIXED = block(
    "b",
    "Rest.\n\n[reader:self] You.\n\n[reader:parent] Your child.\n\n"
    "- [side:left] Left.\n- [side:right] Right.\n- [side:both] Both.\n",
    given="condition:wax", more='sms: "Plain."\nsms_detail: "Detail."\n',
)  # fmt: skip


def test_each_kind_of_reader_and_ear_is_told_its_own_words(shelf_of: Made, small: Any) -> None:
    library = cut(small, shelf_of(MIXED), texts=("detail",))
    found = told(library, "b")

    pages = {(one.side, one.when): audience.words for one, audience in found.items()
             if one.form == PAGE}  # fmt: skip
    assert pages == {
        (side, (f"reader:{reader}",)): ("Rest.", words, f"{side.title()}.")
        for side in Side for reader, words in (("self", "You."), ("parent", "Your child."))
    }  # fmt: skip
    assert {(one.side, one.detail): audience.words for one, audience in found.items()
            if one.form == TEXT} == {
        (side, detail): ("Detail." if detail else "Plain.",)
        for side in Side for detail in (True, False)
    }  # fmt: skip


def test_as_many_are_told_each_words_as_in_a_walk_of_everybody(shelf_of: Made, small: Any) -> None:
    """A line for every reader does not make a parent of everybody."""
    library = cut(small, shelf_of(MIXED), texts=("detail", "shared-phone"))
    people = small.everybody(library)
    found = told(library, "b")

    for telling, audience in found.items():
        met = [held for held, case in people.items() if tells(case, library, telling)]
        assert audience.met["patients"] == len(met) > 0
        assert any(sorted(map(str, held)) == sorted(audience.met["case"]) for held in met)
        leaflets = {leaflet(people[held], library) for held in met}
        assert audience.leaflets == len(leaflets)
    heard = {
        words for held, case in people.items()
        for message in walk(held, "en", library, TODAY).messages
        for words in [tuple(one.text for one in message.lines if one.block_id == "b")] if words
    }  # fmt: skip
    assert heard == {audience.words for audience in found.values()}


def tells(case: Case, library: Library, telling: Telling) -> bool:
    facts = patient_facts(case, library)
    sides = [one.side for one in choose(case, library).chosen if one.block.id == "b"]
    routes = {PAGE: {Channel.PRINT, Channel.EMAIL}, TEXT: {Channel.SMS}}[telling.form]
    detail = telling.form == PAGE or telling.detail is ("texts:detail" in facts)
    return (
        telling.side in sides and set(telling.when) <= facts and detail
        and bool(routes & case.patient.agreed)
    )  # fmt: skip


def leaflet(case: Case, library: Library) -> object:
    chosen = choose(case, replace(library, limits=replace(library.limits, actions=99))).chosen
    return case.treated, frozenset((one.block.id, one.side) for one in chosen)


def test_words_that_turn_on_two_answers_are_told_to_each_pair_of_them(
    shelf_of: Made, small: Any
) -> None:
    body = ("[reader:self] You.\n\n[reader:parent] Your child.\n\n"
            "[recall:agreed] Come.\n\n[recall:none] Stay.\n")  # fmt: skip
    library = cut(small, shelf_of(block("b", body)), routes=("print",))

    found = told(library, "b")

    assert {one.when: audience.words for one, audience in found.items()
            if one.side is Side.LEFT} == {
        ("reader:self", "recall:agreed"): ("You.", "Come."),
        ("reader:parent", "recall:agreed"): ("Your child.", "Come."),
        ("reader:self", "recall:none"): ("You.", "Stay."),
        ("reader:parent", "recall:none"): ("Your child.", "Stay."),
    }  # fmt: skip
    assert {audience.met["patients"] for audience in found.values()} == {2 * 2 * 2, 2 * 4 * 2}


def test_a_block_nobody_gets_has_no_audience(shelf_of: Made, small: Any) -> None:
    library = cut(small, shelf_of(block("b", "A.\n", state="retired")))

    assert told(library, "b") == {}


# --- what an edit changes -----------------------------------------------------------------------
def test_nothing_edited_changes_nothing(shelf_of: Made, small: Any) -> None:
    library = cut(small, shelf_of(MIXED))

    assert edited(library, MIXED) == []
    assert edited(library, MIXED.replace('version: "1"', 'version: "9"')) == []


def test_new_words_are_shown_to_whoever_is_told_them_before_and_after(
    shelf_of: Made, small: Any
) -> None:
    library = cut(small, shelf_of(block("b", "New.\n", given="condition:wax")))

    found = edited(library, block("b", "Old.\n", given="condition:wax"))

    assert [
        (one.telling.side if one.telling else None, one.before, one.after) for one in found
    ] == [(side, ("Old.",), ("New.",)) for side in (Side.BOTH, Side.LEFT, Side.RIGHT)]
    reach = Reach(library)
    routed = reach.space.holds("route:print")
    assert sum(one.met["patients"] for one in found) == reach.space.count(
        reach.gets(of(library, "b")) & routed
    )


def test_who_gains_and_who_loses_are_told_apart(shelf_of: Made, small: Any) -> None:
    library = cut(small, shelf_of(block("b", "A.\n", given="age:child")), routes=("print",))

    found = edited(library, block("b", "A.\n", given="caution:diabetes"))

    reach = Reach(library)
    child, diabetes = reach.space.holds("age:child"), reach.space.holds("caution:diabetes")
    gains = [one for one in found if not one.before]
    losers = [one for one in found if not one.after]
    assert len(gains) + len(losers) == len(found)
    assert sum(o.met["patients"] for o in gains) == reach.space.count(child & ~diabetes)
    assert sum(o.met["patients"] for o in losers) == reach.space.count(diabetes & ~child)
    assert {one.after for one in gains} == {one.before for one in losers} == {("A.",)}
    assert all("age:child" in o.met["case"] for o in gains)
    assert all("caution:diabetes" in o.met["case"] for o in losers)


def test_words_parted_by_reader_are_compared_with_those_that_were_not(
    shelf_of: Made, small: Any
) -> None:
    """Nobody loses or gains anything: who was told the one is told one of the two."""
    parted = block("b", "[reader:self] You.\n\n[reader:parent] Your child.\n")
    library = cut(small, shelf_of(parted), routes=("print",))

    found = edited(library, block("b", "You.\n"))

    assert {(one.before, one.after) for one in found} == {(("You.",), ("Your child.",))}
    reach = Reach(library)
    assert sum(o.met["patients"] for o in found) == reach.space.count(
        reach.space.holds("age:child")
    )


def test_a_block_that_becomes_retired_is_lost_by_everybody_who_had_it(
    shelf_of: Made, small: Any
) -> None:
    library = cut(small, shelf_of(block("b", "A.\n", state="retired")), routes=("print",))

    found = edited(library, block("b", "A.\n"))

    assert {(one.before, one.after) for one in found} == {(("A.",), ())}
    reach = Reach(library)
    assert sum(o.met["patients"] for o in found) == reach.space.count(reach.space.anybody)


def test_a_block_that_asks_more_pushes_out_others_and_less_lets_them_back(
    shelf_of: Made, small: Any
) -> None:
    def first(actions: int) -> str:
        more = f"actions: {actions}\n"
        return block("b", "A.\n", given="condition:wax", more=more)

    def made(actions: int) -> Library:
        last = block("c", "C.\n", given="age:child")
        whole = cut(small, shelf_of(first(actions), last.replace("rank: 10", "rank: 90")))
        return replace(whole, limits=replace(whole.limits, actions=3))

    more, less = made(3), made(1)
    (gone,) = edited(more, first(1))
    (back,) = edited(less, first(3))

    assert (gone.block, gone.telling, gone.before, gone.after) == ("c", None, ("told",), ())
    assert (back.block, back.telling, back.before, back.after) == ("c", None, (), ("told",))
    reach = Reach(more)
    wax = reach.space.any_of(reach.space.holds("condition:wax", side) for side in Side if
                             side is not Side.BOTH)  # fmt: skip
    who = reach.space.count(wax & reach.space.holds("age:child"))
    assert gone.met["patients"] == back.met["patients"] == who > 0
    assert str(Asked("age:child")) in gone.met["case"]
    assert edited(more, first(4).replace("actions: 4", "actions: 3")) == []


def test_the_same_words_of_fewer_ears_change_no_leaflet(shelf_of: Made, small: Any) -> None:
    """With wax in one ear and a grommet in the other the words stay; without wax they go."""
    kept = {"condition": ("wax", "grommet"), "routes": ("print",)}
    library = cut(small, shelf_of(block("b", "A.\n", given="condition:wax")), **kept)

    found = edited(library, block("b", "A.\n", given="condition:wax, condition:grommet"))

    assert {(one.before, one.after) for one in found} == {(("A.",), ())}
    reach = Reach(library)
    grommet, wax = (
        reach.space.any_of(reach.space.holds(fact, side) for side in (Side.LEFT, Side.RIGHT))
        for fact in ("condition:grommet", "condition:wax")
    )
    assert sum(o.met["patients"] for o in found) == reach.space.count(grommet & ~wax)


def test_a_length_is_compared_ear_by_ear(shelf_of: Made, small: Any) -> None:
    def of_a_length(words: str) -> str:
        return block("b", f"{words}\n", kind="done", given="length:noted")

    kept = {"length": ("noted", "not-noted"), "routes": ("print",)}
    library = cut(
        small,
        shelf_of(of_a_length("- [side:left] L.\n- [side:right] New.\n- [side:both] B.")),
        **kept,
    )

    found = edited(library, of_a_length("- [side:left] L.\n- [side:right] R.\n- [side:both] B."))

    assert [
        (one.telling.side if one.telling else None, one.before, one.after) for one in found
    ] == [(Side.RIGHT, ("R.",), ("New.",))]

"""What a rule is: three checks asked in order, each reason once, and a WARN for lack of words."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from made_up import TODAY

from aftercare.model import (
    Channel,
    Choice,
    Counts,
    Kind,
    Library,
    Message,
    Score,
    Side,
    Status,
    Worded,
)
from aftercare.rules import Act, Asked, Rule, broken
from aftercare.rules.rule import Broken
from aftercare.rules.seen import Seen, Told, Unlisted

Check = Callable[..., Iterator[str]]


def saying(*reasons: str) -> Check:
    return lambda *asked: iter(reasons)


def rule(**checks: Check) -> Rule:
    return Rule(name="made up", row=99, act=Act.BLOCK, source="made up", **checks)  # type: ignore[arg-type]


@pytest.fixture
def judged(library: Library, visit: Any, judge: Any) -> Callable[..., list[Broken]]:
    """A message of two lines in two blocks, judged by one rule."""
    said = sys.modules[type(judge).__module__].Said
    lines = [said("Rest.", block="a"), said("Sit down.", block="b", kind=Kind.URGENT)]
    chosen = tuple(one.chosen() for one in lines)
    case = visit(("condition:wax",), ("condition:grommet",), patient=("age:adult", "allergy:nut"))
    message = Message(
        channel=Channel.PRINT, language="en", lines=tuple(one.line() for one in lines),
        chosen=chosen, score=Score(counts=Counts()), status=Status.RELEASED,
    )  # fmt: skip
    worded = Worded(language="en", direction="ltr", frame={}, sections=(), short=())
    asked = Asked(case, library, None, case.patient.facts, Choice(chosen, ()), worded, TODAY)

    def made(one: Rule) -> list[Broken]:
        return list(broken(message, asked, [one]))

    return made


def test_the_record_is_asked_first_then_each_line_then_lines_together(judged: Any) -> None:
    def line(seen: Seen, told: Told) -> Iterator[str]:
        yield f"line {told.line.text}"

    found = judged(rule(check=saying("check"), record=saying("record"), line=line))

    assert [one.why for one in found] == ["record", "line Rest.", "line Sit down.", "check"]
    assert {one.act for one in found} == {Act.BLOCK}


def test_a_rule_without_a_check_finds_nothing_by_it(judged: Any) -> None:
    assert judged(rule()) == []
    assert [one.why for one in judged(rule(record=saying("record")))] == ["record"]


def test_a_reason_is_given_once_however_many_lines_give_it(judged: Any) -> None:
    found = judged(rule(line=saying("same"), check=saying("same", "other")))

    assert [one.why for one in found] == ["same", "other"]
    assert found[0].text == "made up (rule 99): same"


def test_what_was_found_before_words_ran_out_is_kept(judged: Any) -> None:
    def lacking(seen: Seen) -> Iterator[str]:
        yield "found"
        raise Unlisted("thing", "shared/made-up.toml")

    found = judged(rule(check=lacking))

    assert [(one.act, one.why) for one in found if one.act is Act.WARN] == [
        (Act.WARN, "cannot be checked in en; shared/made-up.toml lacks words for it")
    ]


def test_a_rule_sees_lines_by_what_they_say_and_facts_by_name(judged: Any) -> None:
    seen_by: list[Seen] = []

    def look(seen: Seen) -> Iterator[str]:
        seen_by.append(seen)
        return iter(())

    judged(rule(check=look))

    (seen,) = seen_by
    assert [one.line.block_id for one in seen.told] == ["a", "b"]
    assert seen.having(["allergy:soya", "allergy:nut", "age:adult"]) == ["age:adult", "allergy:nut"]
    assert [ear.side for ear in seen.ears("condition:grommet")] == [Side.RIGHT]
    assert [ear.side for ear in seen.ears("condition:wax", "condition:grommet")] == [
        Side.LEFT, Side.RIGHT,
    ]  # fmt: skip
    assert seen.tells(lambda told: told.kind is Kind.URGENT)
    assert not seen.tells(lambda told: told.kind is Kind.RECALL)
    with pytest.raises(Unlisted):
        seen.known("nothing that is listed")

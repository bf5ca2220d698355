"""The vocabulary: what must be told to whom, and what cannot hold together."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from aftercare.errors import BadContent
from aftercare.library.settings import parse_limits
from aftercare.library.vocabulary import parse_facts, read_impossible, unknown_recalls
from aftercare.model import Kind, Library

FACTS, LIMITS = "shared/facts.toml", "shared/limits.toml"
ENTRY = '\n[[impossible]]\ntogether = [{}]\nunless = [{}]\nbecause = "b"\ninstead = "i"\n'


def entry(*together: str, unless: tuple[str, ...] = ()) -> str:
    listed, spared = (", ".join(f'"{fact}"' for fact in facts) for facts in (together, unless))
    return ENTRY.format(listed, spared)


def line(text: str, begins: str, number: int = 0) -> int:
    return [n for n, one in enumerate(text.split("\n"), 1) if one.startswith(begins)][number]


def test_every_condition_must_be_told_its_urgent_signs_and_its_way_back(library: Library) -> None:
    assert library.facts["condition"].told == {Kind.URGENT, Kind.NORMAL, Kind.WATER, Kind.RECALL}
    assert library.facts["procedure"].told == {Kind.DONE}
    assert library.facts["format"].told == frozenset()


@pytest.mark.parametrize("told", ['["urgency"]', '["URGENT"]', '"urgent"', "[1]"])
def test_only_a_kind_of_content_can_be_told(shelf: Mapping[str, bytes], told: str) -> None:
    text = shelf[FACTS].decode().replace('told = ["done"]', f"told = {told}")

    with pytest.raises(BadContent, match=r"groups\.procedure\.told") as refused:
        parse_facts(FACTS, text.encode())

    assert refused.value.place == f"{FACTS}:{line(text, f'told = {told}')}"


def test_what_cannot_hold_together_is_read_whole(library: Library) -> None:
    cleared = next(one for one in library.impossible if one.together == {"finding:cleared"})

    assert cleared.unless == {"procedure:suction", "procedure:instruments"}
    assert "somebody cleared it" in cleared.because
    assert "add the procedure" in cleared.instead
    assert cleared.holds(frozenset({"finding:cleared", "procedure:examination"}))
    assert not cleared.holds(frozenset({"finding:cleared", "procedure:suction"}))
    assert not cleared.holds(frozenset({"procedure:examination"}))


@pytest.mark.parametrize(
    ("added", "strange"),
    [
        (entry("condition:gout"), "condition:gout"),
        (entry("illness:wax"), "illness:wax"),
        (entry("wax"), "wax"),
        (entry("condition:wax", unless=("plan:softer",)), "plan:softer"),
    ],
)
def test_a_fact_nobody_knows_leaves_out_its_own_entry_alone(
    shelf: Mapping[str, bytes], library: Library, added: str, strange: str
) -> None:
    text = shelf[FACTS].decode() + added + entry("plan:soften", "age:child")

    found, faults = read_impossible(FACTS, text.encode(), library.facts)

    (fault,) = faults
    assert fault.place == f"{FACTS}:{line(text, '[[impossible]]', -2)}"
    assert f"no fact is called '{strange}'" in fault.problem
    assert found[:-1] == library.impossible
    assert found[-1].together == {"plan:soften", "age:child"}


@pytest.mark.parametrize(
    ("wrong", "word"),
    [
        ("together = []", "together"),
        ('together = ["age:child"]', "because"),
        ('together = ["age:child"]\nbecause = "b"\ninstead = "i"\nwhy = "w"', "why"),
        ('together = "age:child"\nbecause = "b"\ninstead = "i"', "together"),
        ('together = ["age:child"]\nbecause = " "\ninstead = "i"', "because"),
    ],
)
def test_an_entry_of_the_wrong_form_spoils_the_vocabulary(
    shelf: Mapping[str, bytes], wrong: str, word: str
) -> None:
    with pytest.raises(BadContent, match=rf"'impossible\.\d+\.{word}'"):
        parse_facts(FACTS, shelf[FACTS] + f"\n[[impossible]]\n{wrong}\n".encode())


def test_a_recall_of_an_unknown_condition_is_told_with_its_line(
    shelf: Mapping[str, bytes], library: Library
) -> None:
    text = shelf[LIMITS].decode().replace("[recall.open-cavity]", "[recall.open-cavty]")

    (fault,) = unknown_recalls(
        LIMITS, text.encode(), parse_limits(LIMITS, text.encode()), library.facts
    )

    assert fault.place == f"{LIMITS}:{line(text, '[recall.open-cavty]')}"
    assert "open-cavity" in fault.remedy
    assert not list(unknown_recalls(LIMITS, shelf[LIMITS], library.limits, library.facts))

"""How many faults the rules find, and how many they make up, on text marked by hand."""

from __future__ import annotations

import tomllib
from collections import Counter
from pathlib import Path

import pytest

from aftercare.score.advice import Standing

HERE = Path(__file__).parent


def measured(advised, name: str) -> tuple[Counter[str], Counter[str], Counter[str]]:
    """By kind: what was found, what was missed, and what was made up."""
    marked = tomllib.loads((HERE / f"{name}.toml").read_text("utf-8"))
    found: Counter[str] = Counter()
    made_up: Counter[str] = Counter()
    for one in advised((HERE / f"{name}.md").read_text("utf-8")):
        if one.standing is not Standing.OPEN:
            continue
        left = marked.get(one.kind.value, [])
        fits = [mark for mark in left if mark == one.words] or [
            mark for mark in left if len(mark) > 2 and (mark in one.words or one.words in mark)
        ]
        if fits:
            left.remove(fits[0])
            found[one.kind.value] += 1
        else:
            made_up[f"{one.kind.value}: {one.words}"] += 1
    return found, Counter({kind: len(left) for kind, left in marked.items()}), made_up


@pytest.mark.parametrize(
    ("name", "least_found"),
    [("leaflet", 54), ("held_out", 32)],
)
def test_most_faults_of_a_worse_text_are_found_and_few_are_made_up(advised, name, least_found):
    found, missed, made_up = measured(advised, name)
    print(f"\n{name}: found {found.total()}, missed {missed.total()}, made up {made_up.total()}")
    for kind in missed:
        print(f"  {kind}: {found[kind]} of {found[kind] + missed[kind]}")
    assert found.total() >= least_found
    assert found.total() / (found.total() + missed.total()) >= 0.85
    assert made_up.total() <= 1, made_up


def test_an_ordinary_text_of_another_hand_gets_only_true_advice(advised):
    """Read by eye: each of these is what the rule says it is."""
    text = (HERE.parent / "ear_text.md").read_text("utf-8")
    found = [(one.kind.value, one.words) for one in advised(text) if one.standing is Standing.OPEN]
    assert found == [
        ("clinical term", "suction"),
        ("clinical term", "petroleum jelly"),
        ("many actions", "tip"),
        ("clinical term", "infection"),
        ("condition after the instruction", "if your ear hurts"),
        ("condition after the instruction", "if you have a hole in your eardrum"),
        ("clinical term", "eardrum"),
        ("condition after the instruction", "if you have severe pain"),
        (
            "condition after the instruction",
            "if there is bleeding or a smelly discharge from the ear",
        ),
        ("clinical term", "discharge"),
        ("condition after the instruction", "if your face droops on one side"),
        ("condition after the instruction", "if you feel very unwell or confused"),
    ]

"""The hazard log: every control names tests that exist, and every hazard is told whole."""

from __future__ import annotations

import ast
import re

import pytest
from made_up import HOME

from aftercare import __version__

LOG = (HOME / "content" / "HAZARDS.md").read_text("utf-8")
FIELDS = ["Cause", "Control", "Tested", "Remains", "Proposed", "Judge"]
# Those the project's clinical facts start from; the rest came from reading the code.
STARTERS = [
    "wrong ear",
    "wrong patient",
    "wrong drops",
    "red flag dropped or truncated in SMS",
    "wrong emergency number",
    "stale text",
    "translation reversal",
    "recall lost",
    "phone-only for deaf",
    'false "readable" score',
]
LINK = re.compile(r"`(tests/[\w/]+\.py)::(\w+)`")
LETTER = re.compile(r"\(([a-z])\) ")
_INTRODUCTION, *_SECTIONS = re.split(r"(?m)^## ", LOG)
HAZARDS = dict(section.strip().split("\n", 1) for section in _SECTIONS)


def fields(hazard: str) -> list[tuple[str, str]]:
    return re.findall(r"(?m)^- \*\*(\w+):\*\* (.+)$", HAZARDS[hazard])


def links_by_letter(tested: str) -> dict[str, list[tuple[str, str]]]:
    """The tests beside each letter of a control."""
    _, *pairs = LETTER.split(tested)
    return {
        letter: LINK.findall(text) for letter, text in zip(pairs[::2], pairs[1::2], strict=True)
    }


def functions_of(path: str) -> set[str]:
    """The tests that pytest would run of a file: functions at its top level."""
    tree = ast.parse((HOME / path).read_text("utf-8"))
    return {node.name for node in tree.body if isinstance(node, ast.FunctionDef)}


@pytest.mark.parametrize("path", sorted({path for path, _ in LINK.findall(LOG)}))
def test_every_test_the_log_names_exists(path: str) -> None:
    named = {name for found, name in LINK.findall(LOG) if found == path}

    assert all(name.startswith("test_") for name in named)
    assert named - functions_of(path) == set()


def test_no_mention_of_a_test_escapes_the_check() -> None:
    assert LOG.count("::") == LOG.count("`tests/") == len(LINK.findall(LOG)) > 100


@pytest.mark.parametrize("hazard", HAZARDS)
def test_every_hazard_has_every_field_in_order(hazard: str) -> None:
    found = fields(hazard)

    assert [name for name, _ in found] == FIELDS
    assert len(HAZARDS[hazard].splitlines()) == len(FIELDS)
    assert re.fullmatch(
        r"severity (high|medium|low); likelihood (high|medium|low)", dict(found)["Proposed"]
    )
    assert dict(found)["Judge"].startswith("CSO")


@pytest.mark.parametrize("hazard", HAZARDS)
def test_every_control_is_beside_the_tests_that_prove_it(hazard: str) -> None:
    told = dict(fields(hazard))
    controls = LETTER.findall(told["Control"])

    assert controls == list("abcdefghijkl"[: len(controls)])
    assert controls
    proofs = links_by_letter(told["Tested"])
    assert list(proofs) == controls
    assert all(proofs.values())


@pytest.mark.parametrize("hazard", HAZARDS)
def test_what_remains_says_what_to_do_by_hand(hazard: str) -> None:
    remains = dict(fields(hazard))["Remains"]

    assert re.search(r"By hand: \w", remains)
    # A control that is missing is told where it is missing, never among those that exist.
    others = HAZARDS[hazard].replace(remains, "")
    assert "not yet built" not in others.casefold()


def test_the_hazards_are_numbered_and_begin_with_the_ten_known_ones() -> None:
    titles = [hazard.split(". ", 1) for hazard in HAZARDS]

    assert [number for number, _ in titles] == [f"H{at}" for at in range(1, len(titles) + 1)]
    assert [title.casefold() for _, title in titles[:10]] == [one.casefold() for one in STARTERS]
    assert len(titles) == len(_SECTIONS)  # no hazard hides another of its name


def test_the_log_says_who_must_sign_and_claims_nothing() -> None:
    said = " ".join(_INTRODUCTION.split())

    assert "A deploying organisation needs its own clinical safety officer and sign-off" in said
    assert "Each rating is proposed, for the clinical safety officer to judge." in said
    assert "No risk assessment has been made." in said
    assert "DCB0129 is the standard for whoever makes health software and DCB0160" in said


def test_the_log_names_the_version_it_is_about() -> None:
    assert f"aftercare {__version__}," in _INTRODUCTION

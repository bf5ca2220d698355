"""How a language plugs in, and what is read of one nobody has taught."""

from __future__ import annotations

from math import inf

import pytest

from aftercare import score_text
from aftercare.model import Counts, Line, Span
from aftercare.score.formula import Band, Formula, Language, Profile, Scale, Status
from aftercare.score.lines import score_lines
from aftercare.score.reading import is_english, plain_sentences, reading
from aftercare.score.tally import tally


def _sentences(line: str) -> tuple[Counts, ...]:
    """An invented language: every word has two syllables, every line is a sentence."""
    words = len(line.split())
    return (
        Counts(words=words, sentences=1, syllables=2 * words, longest_sentence=words, letters=9),
    )


INVENTED = Language(
    code="qaa",  # ISO 639-3 keeps qaa to qtz for local use
    formulas=(
        Formula(
            name="invented",
            title="Invented",
            languages=frozenset({"qaa"}),
            needs=("words", "syllables"),
            scale=Scale.INDEX,
            profile=Profile(name="invented", words="by blanks", sentences="lines"),
            source="invented for this test, 2026",
            compute=lambda counts: (counts.syllables or 0) / counts.words,
            bands=(Band(inf, "as it is"),),
        ),
    ),
    sentences=_sentences,
)


@pytest.fixture
def _taught(monkeypatch):
    monkeypatch.setattr(
        "aftercare.score.languages.find",
        lambda code: INVENTED if code == "qaa" else None,
        raising=False,
    )
    reading.cache_clear()
    yield
    reading.cache_clear()


@pytest.mark.usefixtures("_taught")
def test_a_taught_language_scores_by_its_own_formulas_alone():
    score = score_text("bin ban bon\n\n" * 40, language="qaa-GB")
    assert score.values["invented"] == 2
    assert score.formulas["invented"].status is Status.VALID
    assert score.formulas["flesch"].status is Status.NOT_SCORED
    assert score.counts.syllables == 240


@pytest.mark.usefixtures("_taught")
def test_counts_of_another_language_never_reach_an_english_formula():
    line = Line((Span("bin ban bon"),), "block", approved=True)
    score = score_lines([line] * 40, "qaa")
    assert score.counts.syllables == 240
    assert (score.flesch, score.fkgl, score.smog) == (None, None, None)


@pytest.mark.parametrize(
    ("tag", "english"),
    [("en", True), ("en-GB", True), ("EN_us", True), ("enm", False), ("es", False), ("", False)],
)
def test_english_is_known_by_its_tag(tag, english):
    assert is_english(tag) is english


@pytest.mark.parametrize(
    ("line", "sentences", "words"),
    [
        ("Dyma frawddeg. A hon hefyd!", 2, 5),
        ("کان کو خشک رکھیں۔ آرام کریں۔", 2, 6),
        ("ਕੰਨ ਸੁੱਕਾ ਰੱਖੋ। ਆਰਾਮ ਕਰੋ।", 2, 5),
        ("3.5 cm", 1, 2),
        ("Ffoniwch 01632 960001 neu a@b.example heddiw.", 1, 3),
        ("12 mis, 3 wythnos", 1, 4),
        ("", 0, 0),
    ],
)
def test_an_untaught_language_is_read_for_words_and_sentences(line, sentences, words):
    counts = tally(plain_sentences(line)).counts()
    assert (counts.sentences, counts.words) == (sentences, words)


def test_endless_full_stops_cost_no_more_than_their_number():
    assert plain_sentences("." * 200_000) == []

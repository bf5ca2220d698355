"""Scores of finished messages."""

from __future__ import annotations

from pathlib import Path

import pytest

from aftercare import score_text
from aftercare.model import Counts, Line, Role, Span
from aftercare.score import add, count_lines, score_lines
from aftercare.score.lines import readable

EAR_TEXT = (Path(__file__).parent / "ear_text.md").read_text("utf-8")


def line(*spans: tuple[str, Role]) -> Line:
    return Line(tuple(Span(text, role) for text, role in spans), "block", approved=True)


def plain(text: str) -> Line:
    return line((text, Role.WORDS))


def test_only_words_and_dates_are_words():
    message = line(
        ("Dear ", Role.WORDS),
        ("Mary Ann Smith", Role.NAME),
        (", call ", Role.WORDS),
        ("01632 960001", Role.PHONE),
        (" by ", Role.WORDS),
        ("3 May 2026", Role.DATE),
        (". Write to ", Role.WORDS),
        ("1 Main Street", Role.ADDRESS),
        (" or ", Role.WORDS),
        ("https://clinic.example", Role.LINK),
        (".", Role.WORDS),
    )
    counts = count_lines([message], "en")
    assert (counts.words, counts.sentences, counts.longest_sentence) == (9, 2, 6)
    assert "Mary" not in readable(message)


# Days and months whose names are cut short: CLDR 47, skeleton yMMMEd.
@pytest.mark.parametrize(
    ("language", "short"),
    [
        ("fr", "mer. 22 sept. 2027"), ("ro", "mie., 22 sept. 2027"), ("de", "Mi., 22. Sept. 2027"),
        ("pl", "śr., 22 wrz 2027"), ("pt", "qua., 22 de set. de 2027"), ("en", "Wed, 22 Sept 2027"),
    ],
)  # fmt: skip
def test_a_short_date_ends_no_sentence(language: str, short: str) -> None:
    message = line(("Le ", Role.WORDS), (short, Role.DATE), (". Le ", Role.WORDS), ("2", Role.DATE))
    of_words = line(("Le aa aa aa aa. Le bb.", Role.WORDS))

    assert count_lines([message], language).sentences == 2
    assert count_lines([of_words], language).sentences == 2


def test_a_message_scores_as_its_text_does():
    paragraphs = EAR_TEXT.split("\n\n")
    score = score_lines(map(plain, paragraphs), "en")
    whole = score_text(EAR_TEXT)
    assert score.counts == whole.counts
    assert score.flesch == whole.values["flesch"]
    assert score.fkgl == whole.values["flesch_kincaid"]
    assert score.smog == whole.values["smog"]


def test_a_message_is_the_sum_of_its_lines():
    lines = [plain(text) for text in EAR_TEXT.split("\n\n")]
    assert count_lines(lines, "en") == add(count_lines([one], "en") for one in lines)


def test_a_short_message_has_counts_and_no_grade():
    score = score_lines([plain("Keep your ear dry. Call us if it hurts.")], "en")
    assert score.counts.words == 9
    assert (score.flesch, score.fkgl, score.smog) == (None, None, None)


def test_smog_needs_ten_sentences():
    long = "the ear and the nose and the throat are near to one another in the head of a person."
    assert score_lines([plain(long)] * 9, "en").smog is None
    assert score_lines([plain(long)] * 10, "en").smog == pytest.approx(3.1291 + 1.043 * 30**0.5)


def test_another_language_gets_no_english_value():
    score = score_lines([plain("Gair bach arall. ") for _ in range(60)], "cy")
    assert (score.flesch, score.fkgl, score.smog) == (None, None, None)
    assert score.counts.words == 180
    assert score.counts.syllables is None


def test_no_lines_are_nothing():
    assert score_lines([], "en").counts == Counts()

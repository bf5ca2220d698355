"""The arithmetic of every English formula against values published outside this project."""

from __future__ import annotations

from math import isclose

import pytest

from aftercare.model import Counts
from aftercare.score.english import (
    ARI,
    COLEMAN_LIAU,
    DALE_CHALL_1948,
    DALE_CHALL_1995,
    ENGLISH_FORMULAS,
    FLESCH,
    FLESCH_KINCAID,
    FORCAST,
    GUNNING_FOG,
    LIX,
    RIX,
    SMOG,
    smog_by_hand,
)
from aftercare.score.formula import Formula, Status

# Worked by hand from the papers' constants for 150 words.
VECTOR = Counts(
    words=150,
    sentences=12,
    syllables=204,
    polysyllables=9,
    complex_words=9,
    monosyllables=108,
    letters=640,
    strokes=690,
    unfamiliar_1948=14,
    unfamiliar_1995=14,
    long_words=24,
)


@pytest.mark.parametrize(
    ("formula", "expected"),
    [
        (FLESCH, 206.835 - 84.6 * 1.36 - 1.015 * 12.5),
        (FLESCH_KINCAID, 0.39 * 12.5 + 11.8 * 1.36 - 15.59),
        (SMOG, 3.1291 + 1.0430 * 22.5**0.5),
        (GUNNING_FOG, 7.4),
        (COLEMAN_LIAU, 0.0588 * 1280 / 3 - 0.296 * 8 - 15.8),
        (ARI, 6.486),
        (DALE_CHALL_1948, 0.1579 * 28 / 3 + 0.0496 * 12.5 + 3.6365),
        (DALE_CHALL_1995, 64 - 0.95 * 28 / 3 - 0.69 * 12.5),
        (FORCAST, 9.2),
        (LIX, 28.5),
        (RIX, 2.0),
    ],
    ids=lambda given: given.name if isinstance(given, Formula) else "",
)
def test_each_formula_meets_its_papers_arithmetic_to_a_billionth(formula, expected):
    assert isclose(formula.compute(VECTOR), expected, abs_tol=1e-9)


@pytest.mark.parametrize(
    ("formula", "expected"),
    [
        (FLESCH, 79.0915),
        (FLESCH_KINCAID, 5.3330),
        (SMOG, 8.0765),
        (COLEMAN_LIAU, 6.9200),
        (DALE_CHALL_1948, 5.7302),
        (DALE_CHALL_1995, 46.5083),
    ],
    ids=lambda given: given.name if isinstance(given, Formula) else "",
)
def test_the_same_vector_to_four_places(formula, expected):
    assert round(formula.compute(VECTOR), 4) == pytest.approx(expected, abs=1e-9)


# Flesch 1949, The Art of Readable Writing, pp. 149-150 (DuBay 2004, table 4): words per
# sentence, syllables per 100 words, and the band of the style.
@pytest.mark.parametrize(
    ("sentence", "syllables", "ease", "band"),
    [
        (8, 123, 94.657, "very easy"),
        (11, 131, 84.844, "easy"),
        (14, 139, 75.031, "fairly easy"),
        (17, 147, 65.218, "standard"),
        (21, 155, 54.390, "fairly difficult"),
        (25, 167, 40.178, "difficult"),
        (29, 192, 14.968, "very difficult"),
    ],
)
def test_flesch_1949_styles_fall_in_their_bands(sentence, syllables, ease, band):
    counts = Counts(words=100 * sentence, sentences=100, syllables=sentence * syllables)
    value = FLESCH.compute(counts)
    assert isclose(value, ease, abs_tol=1e-9)
    assert FLESCH.band(value) == band


def test_one_word_of_one_syllable_is_the_limit_of_flesch_and_flesch_kincaid():
    one = Counts(words=1, sentences=1, syllables=1)
    assert isclose(FLESCH.compute(one), 121.22, abs_tol=1e-9)
    assert isclose(FLESCH_KINCAID.compute(one), -3.40, abs_tol=1e-9)


def test_the_cat_on_the_mat():
    cat = Counts(words=6, sentences=1, syllables=6, unfamiliar_1948=0)
    assert isclose(FLESCH.compute(cat), 116.145, abs_tol=1e-9)
    assert isclose(FLESCH_KINCAID.compute(cat), -1.45, abs_tol=1e-9)
    # 3.6365 is always added (DuBay 2004 p. 24): 0.0496 * 6 + 3.6365.
    assert isclose(DALE_CHALL_1948.compute(cat), 3.9341, abs_tol=1e-9)


# The precise form on McLaughlin's 30 sentences (McLaughlin 1969, J Reading 12:639).
@pytest.mark.parametrize(
    ("polysyllables", "grade"),
    [(0, 3.1291), (9, 6.2581), (25, 8.3441), (30, 8.8418), (49, 10.4301), (100, 13.5591)],
)
def test_smog_precise_form_on_thirty_sentences(polysyllables, grade):
    counts = Counts(words=400, sentences=30, polysyllables=polysyllables)
    assert round(SMOG.compute(counts), 4) == pytest.approx(grade, abs=1e-9)


# SMOG conversion table I (McGraw, as the health guides print it): up to this many
# polysyllables in 30 sentences, this grade.
MCGRAW = (
    *((2, 4), (6, 5), (12, 6), (20, 7), (30, 8), (42, 9), (56, 10), (72, 11), (90, 12)),
    *((110, 13), (132, 14), (156, 15), (182, 16), (210, 17), (240, 18)),
)


def test_the_hand_method_is_the_printed_smog_table():
    lowest = 0
    for highest, grade in MCGRAW:
        assert {smog_by_hand(count) for count in range(lowest, highest + 1)} == {grade}
        lowest = highest + 1


def test_mclaughlins_own_examples_are_by_hand():
    assert smog_by_hand(95) == smog_by_hand(110) == 13


def test_the_precise_form_is_a_little_above_the_hand_method():
    for count in range(3, 241):
        precise = SMOG.compute(Counts(words=900, sentences=30, polysyllables=count))
        assert 0.12 < precise - (3 + count**0.5) < 0.81


# Worked examples in the literature (DuBay 2004 p. 24 for Dale-Chall).
def test_dale_chall_1948_worked_example():
    counts = Counts(words=2_190_000, sentences=100_000, unfamiliar_1948=409_968)
    assert round(DALE_CHALL_1948.compute(counts), 4) == 7.6786


@pytest.mark.parametrize(
    ("words", "sentences", "hard", "grade"), [(69, 1, 13, 35.14), (48, 3, 5, 10.57)]
)
def test_gunning_fog_worked_examples(words, sentences, hard, grade):
    counts = Counts(words=words, sentences=sentences, complex_words=hard)
    assert round(GUNNING_FOG.compute(counts), 2) == grade


def test_forcast_of_eighty_one_syllable_words_is_grade_twelve():
    # Caylor et al. 1973 (DuBay 2004 pp. 47-48): 20 - N/10.
    assert FORCAST.compute(Counts(words=150, monosyllables=80)) == 12


def test_coleman_liau_abstract_example():
    # Coleman & Liau 1975: grade 14.5; the inputs (L 537, S 4.20) are from memory.
    counts = Counts(words=1000, sentences=42, letters=5370)
    assert round(COLEMAN_LIAU.compute(counts), 1) == 14.5


# Dale & Chall 1948, correction table (DuBay 2004 p. 24).
@pytest.mark.parametrize(
    ("score", "band"),
    [
        (4.9, "US grade 4 and below"),
        (5.0, "US grades 5-6"),
        (6.5, "US grades 7-8"),
        (7.6786, "US grades 9-10"),
        (8.9, "US grades 11-12"),
        (9.9, "US grades 13-15"),
        (10.0, "US grade 16 and above"),
    ],
)
def test_dale_chall_1948_corrected_grades(score, band):
    assert DALE_CHALL_1948.band(score) == band


# Chall & Dale 1995, cloze scores as koRpus tabulates them: above 57 is grade 1.
@pytest.mark.parametrize(
    ("cloze", "band"),
    [
        (57.5, "US grade 1"),
        (57, "US grade 2"),
        (46.5083, "US grade 4"),
        (44, "US grades 5-6"),
        (15, "US grade 16 and above"),
    ],
)
def test_new_dale_chall_cloze_bands(cloze, band):
    assert DALE_CHALL_1995.band(cloze) == band


def test_rix_grades_begin_at_andersons_bounds():
    # Anderson 1983, J Reading 26:490: the lower bounds of grades 2 to 13.
    bounds = (0.2, 0.5, 0.8, 1.3, 1.8, 2.4, 3.0, 3.7, 4.5, 5.3, 6.2)
    assert [RIX.band(bound) for bound in bounds] == [f"US grade {g}" for g in range(2, 13)]
    assert RIX.band(7.2) == "beyond US grade 12"


def test_smog_is_not_valid_below_ten_sentences_and_an_estimate_below_thirty():
    def status(sentences: int) -> Status:
        return SMOG.status(Counts(words=400, sentences=sentences, polysyllables=5))

    assert [status(n) for n in (9, 10, 29, 30)] == [
        Status.NOT_VALID,
        Status.ESTIMATED,
        Status.ESTIMATED,
        Status.VALID,
    ]


def test_a_stem_is_no_sentence_of_its_own_for_smog():
    assert SMOG.status(Counts(words=400, sentences=10, stems=1)) is Status.NOT_VALID


def test_stems_alone_still_divide():
    assert SMOG.compute(Counts(words=9, sentences=2, stems=2, polysyllables=0)) == 3.1291


def test_forcast_is_an_estimate_below_its_sample_of_150_words():
    assert FORCAST.status(Counts(words=149, sentences=9)) is Status.ESTIMATED
    assert FORCAST.value(Counts(words=149, sentences=9, monosyllables=100)) is not None


@pytest.mark.parametrize("formula", ENGLISH_FORMULAS, ids=lambda formula: formula.name)
def test_every_formula_names_its_source_and_its_preparation(formula):
    assert any(figure.isdigit() for figure in formula.source)
    assert formula.profile.words
    assert formula.profile.sentences
    assert set(formula.needs) <= set(Counts.__slots__)


@pytest.mark.parametrize("formula", ENGLISH_FORMULAS, ids=lambda formula: formula.name)
def test_twice_the_text_has_the_same_value(formula):
    twice = Counts(**{f: 2 * getattr(VECTOR, f) for f in Counts.__slots__})
    assert formula.compute(twice) == pytest.approx(formula.compute(VECTOR), abs=1e-12)


@pytest.mark.parametrize("formula", ENGLISH_FORMULAS, ids=lambda formula: formula.name)
def test_no_value_where_a_needed_count_is_missing(formula):
    missing = Counts(
        **{f: 200 for f in Counts.__slots__ if f not in formula.needs[-1:]}
        | {formula.needs[-1]: None}
    )
    assert formula.status(missing) is Status.NOT_SCORED
    assert formula.value(missing) is None

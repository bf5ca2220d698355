"""Every formula of every language against one hand-worked text of 100 words.

The text: 100 words, 8 sentences, 190 syllables, 480 letters; 22 words of three syllables or
more, 9 of four or more, 40 of one, 24 of more than six letters. The forms are those of the
papers each formula names, as given in handbooks and in the koRpus manual; the values were
worked out by hand from the forms, to four decimals or more.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from aftercare.model import Counts
from aftercare.score.english import ENGLISH_FORMULAS
from aftercare.score.formula import Formula, Scale, Status
from aftercare.score.languages import COUNTED, SCORED, formulas

TEXT = Counts(
    words=100,
    sentences=8,
    syllables=190,
    polysyllables=22,
    four_syllables=9,
    monosyllables=40,
    letters=480,
    strokes=480,
    long_words=24,
    longest_sentence=20,
)
VALUES = {
    "fernandez_huerta": 80.09,
    "szigriszt_pazos": 75.965,
    "gulpease": 65.0,
    "kandel_moles_207": 54.4725,
    "kandel_moles_209": 65.425,
    "amstad": 56.35,
    "wiener_sachtextformel_1": 7.2768,
    "wiener_sachtextformel_2": 7.0341,
    "wiener_sachtextformel_3": 7.78545,
    "wiener_sachtextformel_4": 7.6638,
    "douma": 48.91,
    "brouwer": 42.7,  # 195 - 25 - 127.3
    "fog_pl": 8.6,
    "pisarek_linear": 21.5 / 3 + 1,
    "pisarek_non_linear": (12.5**2 + 9**2) ** 0.5 / 2,
    "martins": 75.4075,
    "oborneva": 76.395,
    "atesman": 89.8675,
}
ALL = {formula.name: formula for code in SCORED for formula in formulas(code)}


def band(name: str, value: float) -> str:
    return ALL[name].band(value)


def test_every_formula_has_a_value_to_be_checked_against() -> None:
    assert set(ALL) == set(VALUES)


@pytest.mark.parametrize(("name", "value"), VALUES.items())
def test_a_formula_gives_the_value_worked_out_by_hand(name: str, value: float) -> None:
    assert ALL[name].value(TEXT) == pytest.approx(value, abs=1e-9)


@pytest.mark.parametrize("formula", ALL.values(), ids=lambda formula: formula.name)
def test_harder_words_and_longer_sentences_move_a_formula_the_way_its_scale_says(
    formula: Formula,
) -> None:
    harder = replace(
        TEXT, syllables=230, polysyllables=35, four_syllables=15, long_words=40, letters=600
    )
    longer = replace(TEXT, sentences=4)
    value = formula.compute(TEXT)
    sign = -1 if formula.scale is Scale.EASE else 1

    assert sign * (formula.compute(harder) - value) > 0
    assert sign * (formula.compute(longer) - value) > 0
    assert formula.scale is not Scale.GRADE  # that scale is of United States schooling


@pytest.mark.parametrize("formula", ALL.values(), ids=lambda formula: formula.name)
def test_twice_the_text_gives_the_same_value(formula: Formula) -> None:
    fields = ("words", "sentences", "syllables", "polysyllables", "four_syllables")
    more = ("monosyllables", "letters", "strokes", "long_words")
    twice = replace(TEXT, **{name: 2 * getattr(TEXT, name) for name in fields + more})

    assert formula.compute(twice) == pytest.approx(formula.compute(TEXT), abs=1e-9)


@pytest.mark.parametrize("code", sorted(SCORED))
def test_a_formula_belongs_to_its_own_language_and_names_source_and_preparation(code: str) -> None:
    for formula in formulas(code):
        assert formula.languages == {code}
        assert formula.source
        assert formula.profile.words
        assert formula.profile.syllables


def test_no_language_shares_a_formula_with_english_or_another() -> None:
    names = [formula.name for code in SCORED for formula in formulas(code)]

    assert len(names) == len(set(names))
    assert not set(names) & {formula.name for formula in ENGLISH_FORMULAS}
    assert all(formulas(code) == () for code in COUNTED)


def test_a_field_that_was_not_counted_leaves_a_formula_unscored() -> None:
    uncounted = replace(TEXT, syllables=None)

    assert ALL["amstad"].status(uncounted) is Status.NOT_SCORED
    assert ALL["amstad"].value(uncounted) is None
    assert ALL["gulpease"].value(uncounted) == pytest.approx(65.0)


def test_both_forms_of_kandel_and_moles_are_shown_and_neither_is_preferred() -> None:
    one, other = formulas("fr")

    assert one.conflict == other.conflict
    assert "neither is preferred" in one.conflict
    assert one.compute(TEXT) != pytest.approx(other.compute(TEXT), abs=5)


@pytest.mark.parametrize(
    ("name", "phrase"),
    [
        ("fernandez_huerta", "turns its sign round"),
        ("oborneva", "1.52 and 65.14"),
        ("gulpease", "0 to 100"),
    ],
)
def test_what_the_literature_has_not_settled_is_said(name: str, phrase: str) -> None:
    assert phrase in ALL[name].conflict


@pytest.mark.parametrize("name", ["pisarek_linear", "pisarek_non_linear"])
def test_pisareks_forms_are_marked_as_from_memory(name: str) -> None:
    assert "from memory" in ALL[name].source


@pytest.mark.parametrize(
    ("value", "label"),
    [
        (39.9, "very difficult"),
        (40, "somewhat difficult"),
        (55, "normal"),
        (65, "fairly easy"),
        (80, "very easy"),
    ],
)
def test_inflesz_bands_are_those_of_barrio_cantalejo_2008(value: float, label: str) -> None:
    assert band("szigriszt_pazos", value) == label


def test_fernandez_huertas_bands_part_where_fleschs_do() -> None:
    """From memory; Flesch's own limits are in Flesch 1949, pp. 149-150."""
    limits = (30, 50, 60, 70, 80, 90)

    below = [band("fernandez_huerta", limit - 0.1) for limit in limits]
    above = [band("fernandez_huerta", limit) for limit in limits]

    assert below == ["very difficult", *above[:-1]]
    assert above[-1] == "very easy"


@pytest.mark.parametrize(
    ("value", "label"),
    [
        (39.9, "upper secondary"),
        (40, "lower secondary"),
        (59.9, "lower secondary"),
        (60, "hard for readers with primary"),
        (79.9, "hard for readers with primary"),
        (80, "easy for"),
    ],
)
def test_gulpease_bands_are_those_of_lucisano_and_piemontese(value: float, label: str) -> None:
    assert label in band("gulpease", value)


@pytest.mark.parametrize(
    ("value", "label"),
    [
        (29, "very hard"),
        (30, "hard"),
        (50, "of medium difficulty"),
        (70, "easy"),
        (90, "very easy"),
    ],
)
def test_atesmans_bands_part_at_30_50_70_and_90(value: float, label: str) -> None:
    assert band("atesman", value) == label


@pytest.mark.parametrize(
    ("value", "label"),
    [(24, "very hard"), (25, "hard"), (50, "easy"), (75, "very easy")],
)
def test_portuguese_bands_part_at_25_50_and_75(value: float, label: str) -> None:
    assert band("martins", value) == label


def test_polish_fog_and_vienna_bands_are_ordered_from_plain_to_hard() -> None:
    fog = [band("fog_pl", value) for value in (6, 7, 10, 13, 16, 18)]
    vienna = [band("wiener_sachtextformel_1", value) for value in (3, 4.4, 4.6, 9.9, 15)]

    assert len(set(fog)) == 6
    assert "primary" in fog[0]
    assert "specialists" in fog[-1]
    assert vienna[0] == vienna[1] == "school year 4 or below: very easy"
    assert vienna[2:] == ["school year 5", "school year 10", "school year 15 or above: very hard"]

"""Which languages are scored, which are only counted, and why."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace

import pytest

from aftercare.model import Library
from aftercare.score.languages import (
    COUNTED,
    LIX_TRIED,
    SCORED,
    find,
    formulas,
    sentence_limit,
    syllable_counter,
    why_not_scored,
    word_unit,
)

# The languages the clinics asked for and nobody has validated a formula in.
ASKED_FOR = {"cy", "ur", "pa", "ro", "so", "ta", "bn", "gu", "zh", "ar"}


def test_the_nine_languages_with_formulas_and_the_ten_without_are_all_there() -> None:
    assert set(SCORED) == {"es", "it", "fr", "de", "nl", "pl", "pt", "ru", "tr"}
    assert set(COUNTED) == ASKED_FOR


@pytest.mark.parametrize("language", sorted(ASKED_FOR))
def test_a_language_without_a_validated_formula_says_why_in_one_sentence(language: str) -> None:
    why = why_not_scored(language)

    assert why is not None
    assert why.endswith(".")
    assert ". " not in why.replace("et al. ", "")
    assert syllable_counter(language) is None
    found = find(language)
    assert found is not None
    assert found.formulas == ()


@pytest.mark.parametrize(
    ("language", "phrase"),
    [
        ("bn", "none was validated on adults reading patient text"),
        ("gu", "none was validated on adults reading patient text"),
        ("zh", "disagree"),
        ("ar", "only against English formulas on parallel United Nations text"),
        ("cy", "no proof that there is none"),
    ],
)
def test_the_reason_is_that_language_s_own(language: str, phrase: str) -> None:
    assert phrase in (why_not_scored(language) or "")


@pytest.mark.parametrize("language", ["en", "en-GB", "es", "pt-BR", "de_AT", "FR"])
def test_a_scored_language_needs_no_excuse(language: str) -> None:
    assert why_not_scored(language) is None


def test_a_language_nobody_taught_is_not_scored_and_not_found() -> None:
    assert find("hi") is None
    assert formulas("hi") == ()
    assert "none is borrowed" in (why_not_scored("hi") or "")


def test_a_region_or_script_reads_as_its_language() -> None:
    assert find("pt-BR") is find("pt") is find("PT_pt")
    assert find("zh-Hans") is find("zh")


def test_chinese_counts_characters_and_says_so() -> None:
    assert word_unit("zh-Hant") == "character"
    assert word_unit("es") == word_unit("ta") == "word"


def test_a_chinese_sentence_is_held_to_characters_and_others_to_words(library: Library) -> None:
    limits = replace(library.limits, sentence_words=20, sentence_characters=32)

    assert sentence_limit("zh_Hans", limits) == sentence_limit("zh", limits) == 32
    assert sentence_limit("en", limits) == sentence_limit("ur", limits) == 20


def test_lix_is_offered_in_none_of_these_languages_and_where_it_was_tried_is_stated() -> None:
    names = {formula.name for code in SCORED for formula in formulas(code)}

    assert not names & {"lix", "rix"}
    assert set(LIX_TRIED) == {"sv", "en"}


def test_a_language_is_imported_only_when_it_is_asked_for() -> None:
    asked = (
        "import sys; from aftercare.score import languages\n"
        "loaded = lambda: sorted(m.rpartition('.')[2] for m in sys.modules"
        " if m.startswith('aftercare.score.languages.'))\n"
        "before = set(loaded()); languages.syllable_counter('es')\n"
        "assert 'spanish' not in before, before\n"
        "print(sorted(set(loaded()) & set(languages.SCORED.values())))"
    )
    answer = subprocess.run(
        [sys.executable, "-c", asked], capture_output=True, text=True, check=True
    )

    assert answer.stdout.strip() == "['spanish']"

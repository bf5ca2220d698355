"""The language files: whole, and as the outside says words are."""

from __future__ import annotations

import pytest
from babel import Locale
from num2words import num2words
from word.checks.seed import LANGUAGES

from aftercare.errors import BadContent
from aftercare.word.checks.tongues import Denial, code_of, known, tongue
from aftercare.word.checks.words import sentences

# Read by num2words 0.5.14, a library by others. It spells Bengali 35, 37, 44 and 66 in a way of its
# own, and Bengali 9, Romanian 9 and French 9 are also "is not" or "new": sure only before a unit.
READ = ("en", "pl", "ro", "es", "pt", "fr", "de", "ar", "bn")
LEFT_OUT = {"bn": {9, 35, 37, 44, 66}}


def test_every_language_of_the_service_has_a_file() -> None:
    assert known() == {"en", *LANGUAGES}


@pytest.mark.parametrize("code", LANGUAGES)
def test_a_file_says_all_that_the_checks_ask(code: str) -> None:
    one = tongue(code)

    assert all((one.numbers, one.units, one.weekdays, one.halves, one.looks.common))
    assert {"left", "right", "both"} <= {value for _, value in _entries(one.sides)}
    assert {"now", "today"} <= {value for _, value in _entries(one.urgent)}
    assert Denial.DENIES in {value for _, value in _entries(one.denials)}
    assert {"minute", "hour", "day", "week", "month"} <= {v for _, v in _entries(one.units)}


@pytest.mark.parametrize("code", READ)
def test_number_words_to_99_are_read_as_another_library_writes_them(code: str) -> None:
    wrong = {
        number: said
        for number in range(1, 100)
        if number not in LEFT_OUT.get(code, ())
        for said in [num2words(number, lang=code)]
        if [one.value for one in tongue(code).numbers.values(sentences(said))] != [number]
    }

    assert wrong == {}


@pytest.mark.parametrize("code", LANGUAGES)
def test_days_of_the_week_are_those_of_cldr(code: str) -> None:
    """CLDR through Babel; a day is told by its number, Monday 1."""
    days = Locale.parse(code).days["format"]["wide"]

    found = {day + 1: tongue(code).weekdays.values(sentences(name)) for day, name in days.items()}

    assert found == {day: [str(day)] for day in range(1, 8)}


@pytest.mark.parametrize(
    ("tag", "code"), [("zh_Hans", "zh"), ("pt-BR", "pt"), ("PL", "pl"), ("ur_PK", "ur")]
)
def test_script_and_territory_do_not_change_the_language(tag: str, code: str) -> None:
    assert code_of(tag) == code


def test_a_language_without_a_file_is_refused() -> None:
    with pytest.raises(BadContent, match=r"data/xx\.toml: not a usable language file"):
        tongue("xx")


def _entries(lexicon: object) -> list[tuple[str, object]]:
    phrases = lexicon._phrases  # type: ignore[attr-defined]
    return [(key, value) for key, listed in phrases.items() for _, value in listed]

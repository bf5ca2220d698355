"""Which catalogue a reader is written to from: explicit, by script, and never a mix."""

from __future__ import annotations

import pytest

from aftercare.errors import BadInput
from aftercare.library.fallback import best, chain


@pytest.mark.parametrize(
    ("language", "tried"),
    [
        ("ur_PK", ("ur_PK", "ur", "en")),
        ("ur", ("ur", "en")),
        ("cy", ("cy", "en")),
        ("pt_BR", ("pt_BR", "pt", "en")),
        ("en", ("en",)),
        ("en_GB", ("en_GB", "en")),
        # Scripts by CLDR's likely subtags: zh is written Hans, zh_TW and zh_HK Hant; pa Gurmukhi.
        ("zh", ("zh", "zh_Hans", "en")),
        ("zh_CN", ("zh_CN", "zh_Hans", "zh", "en")),
        ("zh_Hans_SG", ("zh_Hans_SG", "zh_Hans", "zh", "en")),
        ("zh_TW", ("zh_TW", "zh_Hant", "en")),
        ("zh_HK", ("zh_HK", "zh_Hant", "en")),
        ("pa", ("pa", "pa_Guru", "en")),
        ("pa_IN", ("pa_IN", "pa_Guru", "pa", "en")),
        ("pa_PK", ("pa_PK", "pa_Arab", "en")),
        ("pa_Arab", ("pa_Arab", "en")),
        ("sr_Latn", ("sr_Latn", "en")),
    ],
)
def test_a_reader_is_led_from_their_own_language_to_the_source(
    language: str, tried: tuple[str, ...]
) -> None:
    assert chain(language, "en") == tried


@pytest.mark.parametrize(
    ("language", "ready", "found"),
    [
        ("ur_PK", {"ur", "pl"}, "ur"),
        ("ur_PK", {"ur_PK", "ur"}, "ur_PK"),
        ("ur_PK", {"pl"}, "en"),
        ("ur_PK", set(), "en"),
        ("zh_TW", {"zh_Hans", "zh"}, "en"),
        ("pa_PK", {"pa"}, "en"),
    ],
)
def test_the_first_that_is_ready_is_taken_whole(language: str, ready: set[str], found: str) -> None:
    assert best(language, ready, "en") == found


@pytest.mark.parametrize("language", ["", "xx", "tlhx", "ur_XX", "../ur", "ur PK", "🙂"])
def test_what_is_no_language_is_refused(language: str) -> None:
    with pytest.raises(BadInput, match="no language is called"):
        chain(language, "en")

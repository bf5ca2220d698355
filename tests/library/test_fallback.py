"""Which catalogue a reader is written to from: explicit, by script, and never a mix."""

from __future__ import annotations

import pytest

from aftercare.errors import BadInput
from aftercare.library.fallback import base, best, chain, tidy


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
        ("zh_Hant_CN", ("zh_Hant_CN", "zh_Hant", "en")),
        ("zh_Hans_TW", ("zh_Hans_TW", "zh_Hans", "zh", "en")),
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


@pytest.mark.parametrize(
    ("tag", "named"),
    [
        ("ur", "ur"), ("EN", "en"), ("pt-BR", "pt_BR"), ("PT_br", "pt_BR"), ("ur-pk", "ur_PK"),
        ("zh-hans", "zh_Hans"), ("ZH-HANT-tw", "zh_Hant_TW"), ("es-419", "es_419"),
        ("pa-Guru-IN", "pa_Guru_IN"), ("sr_latn_rs", "sr_Latn_RS"),
    ],
)  # fmt: skip
def test_a_tag_is_read_however_its_letters_and_hyphens_are_written(tag: str, named: str) -> None:
    """RFC 5646, 2.1.1: case means nothing, and is by convention en, Latn, GB."""
    assert tidy(tag) == named
    assert base(named) == named[:2]
    chain(named, "en")


@pytest.mark.parametrize(
    "tag",
    ["", "e", "english", "xx", "zz-ZZ", "en-", "-en", "en--GB", "en GB", "en_GB.UTF-8", "../ur",
     "ur/../..", "zh-yue", "en-Latn-GB-oed", "x-private", "i-klingon", "\ud800", "🙂", "pt_BR\n",
     "ur_XX"],
)  # fmt: skip
def test_a_tag_that_is_none_is_refused(tag: str) -> None:
    with pytest.raises(BadInput, match="no language is called"):
        tidy(tag)

"""Dates, times and weeks by CLDR, and what of CLDR a message must not take over."""

from __future__ import annotations

import unicodedata
from datetime import date, time, timedelta

import pytest
from babel import Locale
from babel.dates import format_date, format_time

from aftercare.render.gsm import count
from aftercare.render.plain_text import make_safe
from aftercare.word.formats import (
    clock_time,
    first_weekday,
    full_date,
    reader_locale,
    short_date,
)
from aftercare.word.units import centimetres, inches

WEDNESDAY = date(2026, 3, 4)
LANGUAGES = ("en", "cy", "pl", "ro", "es", "pt", "fr", "de", "ar", "ur", "bn", "pa", "zh")
# CLDR 47 full dates, as unicode.org's charts "Date & Time" list them.
FULL = {
    "en": "Wednesday, 4 March 2026", "cy": "Dydd Mercher, 4 Mawrth 2026",
    "pl": "środa, 4 marca 2026", "ro": "miercuri, 4 martie 2026",
    "es": "miércoles, 4 de marzo de 2026", "pt": "quarta-feira, 4 de março de 2026",
    "fr": "mercredi 4 mars 2026", "de": "Mittwoch, 4. März 2026",
    "ar": "الأربعاء، 4 مارس 2026", "ur": "بدھ، 4 مارچ، 2026", "bn": "বুধবার, 4 মার্চ, 2026",
    "pa": "ਬੁੱਧਵਾਰ, 4 ਮਾਰਚ 2026", "zh": "2026年3月4日星期三",
}  # fmt: skip
# Locales whose own digits, marks or spaces CLDR would write, and a few territories of readers.
TRAPS = (
    "ar_EG", "ar_SA", "fa_IR", "bn_BD", "pa_Arab_PK", "ur_PK", "mr_IN", "my_MM", "en_US", "es_US",
    "so_SO", "lt_LT", "fr_FR", "fr_CH", "pl_PL", "gu_IN", "zh_Hant_TW", "en_NZ", "he_IL", "tr_TR",
)  # fmt: skip
DAYS = tuple(date(2026, 1, 1) + timedelta(days=9 * n) for n in range(41))
TIMES = (time(0, 5), time(9, 0), time(12, 0), time(14, 5), time(22, 45))


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_date_in_full_is_that_of_cldr(language: str) -> None:
    assert full_date(WEDNESDAY, reader_locale(language, "GB")) == FULL[language]


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_short_date_names_its_month_and_says_the_same_day(language: str) -> None:
    locale = reader_locale(language, "GB")
    month = format_date(WEDNESDAY, "MMM", locale=locale)

    told = short_date(WEDNESDAY, locale)

    assert month.rstrip(".") in told
    assert {"4", "2026"} <= set(_numbers(told))
    assert len(told) <= len(full_date(WEDNESDAY, locale))


def test_short_dates_are_those_of_cldr() -> None:
    told = {one: short_date(WEDNESDAY, reader_locale(one, "GB")) for one in ("en", "pl", "ar")}

    # CLDR 47, skeleton yMMMEd.
    assert told == {
        "en": "Wed, 4 Mar 2026", "pl": "śr., 4 mar 2026", "ar": "الأربعاء، 4 مارس 2026",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("language", "territory", "told"),
    [
        # CLDR 47, supplemental time data: preferred H in GB, IE, FR; h in US, NZ, PK, EG.
        ("en", "GB", "14:05"),
        ("en", "IE", "14:05"),
        ("en", "US", "2:05\u00a0PM"),
        ("en", "NZ", "2:05\u00a0pm"),
        ("ur", "GB", "14:05"),
        ("ur", "PK", "2:05 PM"),
        ("ar", "GB", "14:05"),
        ("ar", "EG", "2:05 م"),
        ("bn", "GB", "14:05"),
        ("pa", "GB", "14:05"),
        ("pl", "GB", "14:05"),
        ("pl", "US", "2:05\u00a0PM"),
        ("zh", "GB", "14:05"),
        ("de", "QQ", "2:05\u00a0PM"),  # English of the world, where CLDR knows no better
    ],
)
def test_a_territory_decides_whether_the_day_has_24_hours(
    language: str, territory: str, told: str
) -> None:
    locale = reader_locale(language, territory)

    assert clock_time(time(14, 5), locale, territory=territory) == told


@pytest.mark.parametrize("name", [*LANGUAGES, *TRAPS])
def test_one_digit_system_and_no_mark_that_steers_or_parts(name: str) -> None:
    locale = Locale.parse(name)
    territory = locale.territory or "GB"
    told = [
        *(full_date(day, locale) for day in DAYS),
        *(short_date(day, locale) for day in DAYS),
        *(clock_time(at, locale, territory=territory) for at in TIMES),
        *(clock_time(at, locale) for at in TIMES),
        centimetres(55, locale),
    ]

    for text in told:
        assert all(char in "0123456789" for char in text if unicodedata.category(char) == "Nd")
        assert not set(text) & set("\u200e\u200f\u061c\u202f\u2009"), text


def test_what_those_traps_are() -> None:
    """CLDR 47 through Babel, so that somebody learns of it when one of them is gone."""
    assert "\u202f" in format_time(time(14, 5), "short", locale="en_US")
    assert "\u200f" in format_date(WEDNESDAY, "short", locale="ar")
    assert Locale.parse("ar").first_week_day == 0  # Monday, for want of a territory


@pytest.mark.parametrize("name", ["en_GB", "en_US", "en_NZ", "es_US", "fr_FR", "de_DE", "es_ES"])
def test_nothing_told_turns_a_text_message_into_ucs2(name: str) -> None:
    """Names of months and days apart: letters are the language's own, spaces are not."""
    locale = Locale.parse(name)
    told = [clock_time(at, locale, territory=locale.territory) for at in TIMES]
    told += [centimetres(mm, locale) for mm in (1, 55, 100)]
    told += [inches(mm, locale) for mm in (6, 55, 100)]

    for text in told:
        whole = make_safe(f"Visit: {text}, see us.", language=locale.language).text
        assert count(whole).encoding == "GSM-7", ascii(whole)


@pytest.mark.parametrize(
    ("territory", "first"),
    [
        # CLDR 47, supplemental week data, firstDay.
        ("GB", 0), ("IE", 0), ("NZ", 0), ("AU", 0), ("FR", 0), ("CN", 0), ("US", 6), ("PK", 6),
        ("IN", 6), ("BD", 6), ("SA", 6), ("TW", 6), ("EG", 5), ("IR", 5), ("MV", 4),
    ],
)  # fmt: skip
def test_a_week_begins_as_the_territory_counts(territory: str, first: int) -> None:
    assert first_weekday(territory) == first


def _numbers(text: str) -> list[str]:
    return "".join(char if char.isdigit() else " " for char in text).split()

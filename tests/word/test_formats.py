"""Dates, times, lists and weeks by CLDR, and what of CLDR a message must not take over."""

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
    listed,
    opening_hours,
    reader_locale,
    short_date,
    weekday,
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


def test_short_dates_and_days_of_the_week_by_name() -> None:
    told = {one: short_date(WEDNESDAY, reader_locale(one, "GB")) for one in ("en", "pl", "ar")}

    # CLDR 47, skeleton yMMMEd.
    assert told == {
        "en": "Wed, 4 Mar 2026", "pl": "śr., 4 mar 2026", "ar": "الأربعاء، 4 مارس 2026",
    }  # fmt: skip
    assert weekday(2, Locale("cy")) == "Dydd Mercher"
    assert weekday(2, Locale("fr")) == "mercredi"


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
    assert str(Locale.parse("cy").list_patterns["standard"]["end"]) == "{0}, a(c) {1}"


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
    ("language", "told"),
    [
        # CLDR 47, list patterns, "and".
        ("en", "A, B and C"),
        ("pl", "A, B i C"),
        ("ro", "A, B și C"),
        ("de", "A, B und C"),
        ("ar", "A وB وC"),
        ("ur", "A، B، اور C"),
        ("pa", "A, B ਅਤੇ C"),
        ("zh", "A、B和C"),
        ("cy", "A, B, C"),  # this project's choice: "a" or "ac" hangs on the next sound
    ],
)
def test_things_in_a_row_are_joined_as_the_language_does(language: str, told: str) -> None:
    locale = reader_locale(language, "GB")

    assert listed(["A", "B", "C"], locale) == told
    assert listed(["A"], locale) == "A"
    assert listed([], locale) == ""


@pytest.mark.parametrize(
    ("last", "told"),
    [
        ("Isabel", "Ana, Luis e Isabel"), ("infección", "Ana, Luis e infección"),
        ("hinchazón", "Ana, Luis e hinchazón"), ("hielo", "Ana, Luis y hielo"),
        ("humo", "Ana, Luis y humo"),
    ],
)  # fmt: skip
def test_spanish_and_is_e_before_the_sound_of_i(last: str, told: str) -> None:
    """Real Academia, Ortografía (2010), under "y"; from memory. CLDR writes "y" everywhere."""
    assert listed(["Ana", "Luis", last], Locale("es")) == told
    assert listed(["Ana", last], Locale("es")) == told.replace(", Luis", "")
    assert listed([last], Locale("es")) == last


def test_no_other_language_takes_the_spanish_e() -> None:
    assert listed(["A", "Isabel"], Locale("pt")) == "A e Isabel"
    assert listed(["A", "Isabel"], Locale("pl")) == "A i Isabel"


THURSDAY_TOO, NINE_TO_HALF_PAST_FIVE = (3, 0), (time(9), time(17, 30))


@pytest.mark.parametrize(
    ("language", "told"),
    [
        # CLDR 47: interval format Hm, stand-alone weekdays, list pattern.
        ("en", "09:00–17:30 (Monday and Thursday)"),
        ("cy", "09:00\u00a0–\u00a017:30 (Dydd Llun, Dydd Iau)"),
        ("pl", "09:00–17:30 (poniedziałek i czwartek)"),
        ("es", "9:00–17:30 (lunes y jueves)"),
        ("de", "09:00–17:30 Uhr (Montag und Donnerstag)"),
        ("ar", "09:00–17:30 (الاثنين والخميس)"),
        ("ur", "09:00–17:30 (پیر اور جمعرات)"),
        ("zh", "09:00–17:30 (星期一和星期四)"),
    ],
)
def test_opening_hours_are_told_in_the_readers_language(language: str, told: str) -> None:
    assert opening_hours(THURSDAY_TOO, NINE_TO_HALF_PAST_FIVE, language, "GB") == told


def test_opening_hours_are_on_the_clock_of_the_clinics_country() -> None:
    told = opening_hours(THURSDAY_TOO, NINE_TO_HALF_PAST_FIVE, "es", "US")

    assert told == "9:00\u00a0a.m.\u00a0–\u00a05:30\u00a0p.m. (lunes y jueves)"


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

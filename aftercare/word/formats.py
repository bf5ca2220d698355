"""Dates, times of day, lists and weeks as a language writes them in the clinic's territory.

All from CLDR through Babel, with Latin digits alone: one message, one digit system. Spaces that
never break are told as U+00A0, which every face has; a text message says them plainly
(``render/plain_text.py``).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from datetime import date, time
from functools import lru_cache

from babel import Locale, UnknownLocaleError
from babel.dates import format_date, format_interval, format_skeleton, format_time
from babel.languages import get_official_languages
from babel.lists import format_list

from aftercare.word.spaces import firm

# English as it is written in the world at large, for a territory that CLDR knows nothing of.
_WORLD = "en_001"
# Not hielo, hiato: their i is half a consonant (Real Academia, Ortografia 2010; from memory).
_SOUNDS_I = re.compile(r"[ií]|h[ií](?![ae])", re.IGNORECASE)


@lru_cache(maxsize=128)
def reader_locale(language: str, territory: str) -> Locale:
    """The CLDR locale for a language read in a territory; the language alone if it has none.

    A language that names its own territory, such as ``pt_BR``, keeps it.
    """
    try:
        return Locale.parse(f"{language}_{territory}")
    except (UnknownLocaleError, ValueError):
        return Locale.parse(language)


@lru_cache(maxsize=4096)
def full_date(day: date, locale: Locale) -> str:
    """The date with its weekday, as CLDR writes it in full: ``Wednesday, 4 March 2026``."""
    return firm(format_date(day, format="full", locale=locale))


@lru_cache(maxsize=4096)
def short_date(day: date, locale: Locale) -> str:
    """The date with short names: ``Wed, 4 Mar 2026``. Never in figures alone.

    4/3 is March in one country and April in the next, and CLDR's Arabic one holds U+200F.
    """
    return firm(format_skeleton("yMMMEd", day, locale=locale))


def weekday(day: int, locale: Locale) -> str:
    """The name of a day of the week, Monday 0, as it stands alone: ``Wednesday``."""
    return str(locale.days["stand-alone"]["wide"][day])


@lru_cache(maxsize=4096)
def clock_time(at: time, locale: Locale, *, territory: str | None = None) -> str:
    """The time of day as CLDR writes it short; hours and minutes are never parted.

    Whether the day has 12 or 24 hours is the ``territory``'s custom in every language, as it is
    on the clinic's own clock; without one it is the locale's.
    """
    if territory is None or _of_24(territory) is _counts_24(locale):
        return firm(format_time(at, format="short", locale=locale))
    return firm(format_skeleton(_skeleton(territory), at, locale=locale))


def opening_hours(
    days: Iterable[int], times: tuple[time, time], language: str, territory: str
) -> str:
    """The hours and the days (Monday 0) of a week: ``09:00–17:00 (Monday and Thursday)``.

    By CLDR's patterns for a span of time and for things in a row: no grammar of ours.
    """
    locale = reader_locale(language, territory)
    hours = firm(str(format_interval(*times, skeleton=_skeleton(territory), locale=locale)))
    return f"{hours} ({listed([weekday(day, locale) for day in sorted(days)], locale)})"


def _skeleton(territory: str) -> str:
    return "Hm" if _of_24(territory) else "hm"


def _of_24(territory: str) -> bool:
    return _counts_24(_home(territory))


@lru_cache(maxsize=256)
def _home(territory: str) -> Locale:
    """A locale for the customs of a territory: the first of its languages that CLDR has there."""
    spoken = get_official_languages(territory, regional=True, de_facto=True)
    for language in (*spoken, "en"):
        try:
            return Locale.parse(f"{language}_{territory}")
        except (UnknownLocaleError, ValueError):
            continue
    return Locale.parse(_WORLD)


def _counts_24(locale: Locale) -> bool:
    return "H" in str(locale.time_formats["short"])


def listed(texts: Sequence[str], locale: Locale) -> str:
    """Things in a row: ``a, b and c``, by CLDR's pattern.

    Welsh "a" or "ac" hangs on the next sound, and CLDR writes "a(c)": there it is a row alone.
    Spanish "y" is "e" before the sound of i, which CLDR's pattern does not say.
    """
    if "(" in str(locale.list_patterns["standard"]["end"]):
        return ", ".join(texts)
    if locale.language == "es" and len(texts) > 1 and _SOUNDS_I.match(texts[-1]):
        return f"{', '.join(texts[:-1])} e {texts[-1]}"
    return format_list(texts, locale=locale)


def first_weekday(territory: str) -> int:
    """The day a week begins with in a territory, Monday 0.

    CLDR's first day is a territory's: a language alone would always say Monday.
    """
    return _home(territory).first_week_day

"""Dates, times of day and weeks as a language writes them in the clinic's territory.

All from CLDR through Babel, with Latin digits alone: one message, one digit system. Spaces that
never break are told as U+00A0, which every face has; a text message says them plainly
(``render/plain_text.py``).
"""

from __future__ import annotations

from datetime import date, time
from functools import lru_cache

from babel import Locale, UnknownLocaleError
from babel.dates import format_date, format_skeleton, format_time
from babel.languages import get_official_languages

from aftercare.word.spaces import firm

# English as it is written in the world at large, for a territory that CLDR knows nothing of.
_WORLD = "en_001"


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
    """The date with short names, for text messages: ``Wed, 4 Mar 2026``. Never in figures alone.

    4/3 is March in one country and April in the next, and CLDR's Arabic one holds U+200F.
    """
    return firm(format_skeleton("yMMMEd", day, locale=locale))


@lru_cache(maxsize=4096)
def clock_time(at: time, locale: Locale, *, territory: str | None = None) -> str:
    """The time of day as CLDR writes it short; hours and minutes are never parted.

    Whether the day has 12 or 24 hours is the ``territory``'s custom in every language, as it is
    on the clinic's own clock; without one it is the locale's.
    """
    if territory is None or _of_24(territory) is _counts_24(locale):
        return firm(format_time(at, format="short", locale=locale))
    skeleton = "Hm" if _of_24(territory) else "hm"
    return firm(format_skeleton(skeleton, at, locale=locale))


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


def first_weekday(territory: str) -> int:
    """The day a week begins with in a territory, Monday 0.

    CLDR's first day is a territory's: a language alone would always say Monday.
    """
    return _home(territory).first_week_day

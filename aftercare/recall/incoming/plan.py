"""How a list is read: its columns, words and limits, out of `shared/import.toml` and a mapping."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from aftercare.model import Clinic, Fact


class DateOrder(StrEnum):
    """How 03/04/1960 is meant. Only the clinic can say; asked, nobody guesses."""

    ASK = "ask"
    DAY_FIRST = "day-first"
    MONTH_FIRST = "month-first"


class Lines(StrEnum):
    """What a line of the list is about."""

    PEOPLE = "people"
    VISITS = "visits"


@dataclass(frozen=True, slots=True, kw_only=True)
class Longest:
    """The most characters of a cell, and the most years back of a day."""

    ref: int
    name: int
    email: int
    address: int
    cell: int
    oldest: int
    longest_ago: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ImportPlan:
    """Everything that is decided before a list is opened.

    ``columns`` are the headers of each field; ``words`` what cells may say, by kind;
    ``conditions`` and ``facts`` the vocabulary by every word for it; ``always`` the conditions
    that must not be left without a day. ``fiction`` matches numbers that belong to nobody.
    ``by`` is who takes the list in, and whoever held rows wait on.
    """

    columns: Mapping[str, tuple[str, ...]]
    words: Mapping[str, frozenset[str]]
    conditions: Mapping[str, Fact]
    facts: Mapping[str, Fact]
    languages: Mapping[str, str]
    always: tuple[Fact, ...]
    months_at_most: int
    longest: Longest
    fiction: re.Pattern[str]
    clinic: Clinic
    today: date
    by: str
    dates: DateOrder = DateOrder.ASK
    serials: int = 0
    lines: Lines = Lines.PEOPLE
    sheet: str = ""
    country: str = "GB"
    language: str = "en"
    agreed: str = ""

    def says(self, kind: str, word: str) -> bool:
        """Whether a cell's word is one of this kind."""
        return word in self.words[kind]


_BLANKS = re.compile(r"[\s._\-]+")


def plain(cell: str) -> str:
    """A word as lists are compared: small letters, single spaces, without . _ and -."""
    return _BLANKS.sub(" ", cell.casefold()).strip() or cell.strip()

"""Where lines and pages end, in every language: read by poppler, as it lays lines out."""

from __future__ import annotations

import re
import subprocess
from functools import cache
from itertools import pairwise

import pytest
from scripts.written import LANGUAGES, RIGHT_TO_LEFT, patient_letter, reminder, written

from aftercare.model import Channel, Moment

SIZES = ("print", "large")
LEFT_TO_RIGHT = [one for one in LANGUAGES if one not in RIGHT_TO_LEFT]
STEERING = re.compile("[\u200e\u200f\u202a-\u202e\u2066-\u2069]")
# A line of a list, whichever side it begins at.
ITEM = re.compile(r"^\s*(•|\d\.)\s|\s(•|\.\d|\d\.)\s*$")
NUMBER_LAST = re.compile(r"(?:^|[\s(])(?:\d+(?:[.,:]\d+)*[¼½¾]?|[¼½¾])$")

in_both_sizes = pytest.mark.parametrize("size", SIZES)
in_every_language = pytest.mark.parametrize("language", LANGUAGES)
left_to_right = pytest.mark.parametrize("language", LEFT_TO_RIGHT)


def read(pdf: bytes) -> list[list[str]]:
    """The lines of each page, without its foot."""
    command = ["pdftotext", "-layout", "-enc", "UTF-8", "-", "-"]
    text = subprocess.run(command, input=pdf, capture_output=True, check=True).stdout.decode()
    pages = [STEERING.sub("", page).splitlines() for page in text.split("\f") if page.strip()]
    told = [[line.rstrip() for line in page if line.strip()] for page in pages]
    return [page[:-1] for page in told] if len(told) > 1 else told


@cache
def leaflet(language: str, size: str) -> list[list[str]]:
    body = written(language).leaflets[size].body
    assert body is not None
    return read(body)


@cache
def letter(language: str) -> list[list[str]]:
    body = reminder(language, Moment.CHANGED, Channel.PRINT).body
    assert body is not None
    return read(body)


# --- lists --------------------------------------------------------------------------------


def alone_at_the_head(pages: list[list[str]]) -> list[str]:
    """The last item of a list that stands at the head of a page without another."""
    return [page[0] for page in pages[1:] if ITEM.search(page[0]) and not in_company(page)]


def in_company(page: list[str]) -> bool:
    """Whether the item at the head goes on, and another follows; its own lines are set in."""
    after = next((line for line in page[1:] if not line.startswith("  ")), "")
    return any(ITEM.search(line) for line in page[1 : page.index(after) + 1] if after)


@in_both_sizes
@in_every_language
def test_no_last_item_of_a_list_stands_alone_at_the_head_of_a_page(
    language: str, size: str
) -> None:
    pages = leaflet(language, size)

    assert sum(bool(ITEM.search(line)) for page in pages for line in page) > 12
    assert alone_at_the_head(pages) == []


def test_an_item_alone_would_be_seen() -> None:
    before = ["Wash", "1. Rub it in.", "2. Put it in."]
    heading = ["Next visit", "Come soon."]

    assert alone_at_the_head([before, ["3.   Take it out.", *heading]]) == ["3.   Take it out."]
    assert alone_at_the_head([before, ["3. Take it", "   out.", *heading]]) == ["3. Take it"]
    assert alone_at_the_head([["x"], ["1. Rub it in.", "2. Put it in.", *heading]]) == []


@in_every_language
@pytest.mark.parametrize("moment", [Moment.CANCELLED, Moment.BEFORE])
def test_no_greeting_is_sent_on_a_page_of_its_own(language: str, moment: Moment) -> None:
    pages = read(patient_letter(language, moment))
    regards = written(language).done.worded.frame["signoff"].text
    last = STEERING.sub("", regards).split()

    assert len(pages) <= 2
    for page in pages[1:]:
        # Poppler turns right-to-left words round, so they are counted.
        assert sorted(page[0].split()) != sorted(last)
        assert len(page) > 2


# --- words --------------------------------------------------------------------------------


@cache
def spoken(language: str) -> frozenset[tuple[str, str]]:
    """Each number in the words of leaflet and letter with the word it counts."""
    one = written(language)
    texts = [line.text for line in (*one.done.worded.lines(), *one.done.worded.frame.values())]
    pair = re.compile(r"(?<![^\s(])(\d+(?:[.,:]\d+)*[¼½¾]?|[¼½¾])[ \u00a0](?=([^\W\d_]+))")
    return frozenset(found for text in texts for found in pair.findall(text))


@in_both_sizes
@left_to_right
def test_no_number_is_parted_from_what_it_counts(language: str, size: str) -> None:
    lines = [line.strip() for page in leaflet(language, size) for line in page]
    counted = spoken(language)

    assert counted or language in ("zh",)
    assert parted(lines, counted) == []


def parted(lines: list[str], counted: frozenset[tuple[str, str]]) -> list[str]:
    return [
        f"{above} | {below}"
        for above, below in pairwise(lines)
        if NUMBER_LAST.search(above)
        and any(above.endswith(one) and re.match(rf"{word}\b", below) for one, word in counted)
    ]


def test_a_number_that_is_parted_would_be_seen() -> None:
    counted = frozenset({("72", "hours"), ("1½", "inches")})

    assert parted(["in three days (72", "hours)."], counted) == ["in three days (72 | hours)."]
    assert parted(["of 3.5 cm (1½", "inches)."], counted) == ["of 3.5 cm (1½ | inches)."]
    assert parted(["call 111", "hours"], counted) == []


def test_no_line_of_polish_ends_with_a_word_of_one_letter() -> None:
    lines = [line for size in SIZES for page in leaflet("pl", size) for line in page]

    assert sum(bool(re.search(r"\b[aiouwz] \w", line)) for line in lines) > 5
    assert [line for line in lines if re.search(r"\b[aiouwz]$", line, re.IGNORECASE)] == []


@left_to_right
def test_no_word_stands_alone_below_a_title(language: str) -> None:
    lines = [line.strip() for line in letter(language)[0]]
    first = next(at for at, line in enumerate(lines) if "Larkfield Clinic" in line)
    greeting = next(at for at, line in enumerate(lines) if at > first and "Robin Ash" in line)

    for below in lines[first + 1 : greeting]:
        assert len(below.split()) > 1


@pytest.mark.parametrize("size", SIZES)
@left_to_right
def test_hardly_a_word_stands_alone_on_a_last_line(language: str, size: str) -> None:
    """One only does where the word above would leave half of its line empty."""
    lines = [line.strip() for page in leaflet(language, size) for line in page]
    alone = [line for line in lines if re.fullmatch(r"[^\s•@]+[.?!।。]", line)]

    assert len(lines) > 60
    assert language == "zh" or len(alone) <= 1, alone

"""A table of clinics: what is read, and what is refused with its line."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date

import pytest

from aftercare.edges.clinics import Capacity, parse_clinics
from aftercare.errors import BadInput
from aftercare.model import Library
from aftercare.recall.catch_up import Span

Parse = Callable[[str | bytes], Capacity]
START = date(2026, 11, 30)
SKILLS = {
    "general": frozenset({"general"}),
    "cavity": frozenset({"cavity", "general"}),
    "child": frozenset({"child"}),
}
HEAD = "when,minutes,skill,slots\n"
GOOD = "2026-W50,20,general,3\n"


@pytest.fixture
def parse(library: Library) -> Parse:
    def parsed(text: str | bytes) -> Capacity:
        raw = text if isinstance(text, bytes) else text.encode()
        return parse_clinics("c.csv", raw, library.clinic, SKILLS, START)

    return parsed


def test_a_row_is_slots_on_a_day_or_in_a_week(parse: Parse) -> None:
    got = parse(HEAD + GOOD + "2026-12-03,30,cavity + child,2\n")

    week, day = got.openings
    assert week.when == Span(date(2026, 12, 7), date(2026, 12, 13))
    # The clinic of this checkout is open Monday to Thursday.
    assert (week.day, week.minutes, week.slots) == (date(2026, 12, 10), 20, 3)
    assert (day.day, day.skill) == (date(2026, 12, 3), "cavity + child")
    assert day.skills == {"cavity", "general", "child"}
    assert not week.shared
    assert got.notes == ()


def test_a_week_counts_as_its_last_open_day(parse: Parse) -> None:
    # 24 December is closed in shared/clinic.toml.
    assert parse(HEAD + "2026-W52,20,general,3\n").openings[0].day == date(2026, 12, 23)


@pytest.mark.parametrize(
    "text",
    [
        "\ufeffwhen,minutes,skill,slots,shared\n\n2026-12-03,60,cavity,2,yes\n",
        "slots;shared;when;skill;minutes\r\n2;YES;2026-12-03;cavity;60\r\n;;;;\r\n",
        "When\tMinutes\tSkill\tSlots\tShared\n2026-12-03\t60\t cavity \t2\tYes",
    ],
)
def test_a_mark_another_separator_and_another_order_are_read(parse: Parse, text: str) -> None:
    (one,) = parse(text).openings

    assert (one.minutes, one.slots, one.shared, one.skill) == (60, 2, True, "cavity")


def test_a_clinic_on_a_closed_day_is_taken_and_told(parse: Parse) -> None:
    got = parse(HEAD + "2026-12-05,20,general,2\n2026-12-25,20,general,2\n")

    assert len(got.openings) == 2
    assert got.notes == (
        "c.csv:2: the clinic is closed on Saturdays; taken as an extra clinic",
        "c.csv:3: the clinic is closed on Fridays; taken as an extra clinic",
    )


def test_a_cancelled_clinic_is_a_row_with_no_slots(parse: Parse) -> None:
    assert len(parse(HEAD + GOOD + "2026-W51,20,general,0\n").openings) == 1


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "c.csv:1: empty"),
        ("\n" + GOOD, "c.csv:1: empty"),
        (HEAD, "c.csv:1: no slots in it"),
        (HEAD + "2026-W50,20,general,0\n", "c.csv:1: no slots in it"),
        ("when,minutes,slots\n", "c.csv:1: no column 'skill'"),
        ("when,minutes,skill,slots,who\n", "c.csv:1: unknown column 'who'"),
        ("when,minutes,skill,slots,slots\n", "c.csv:1: the column 'slots' stands there twice"),
        (HEAD + "2026-W50,20,general\n", "c.csv:2: 3 cells under 4 columns"),
        (HEAD + GOOD + "2026-W51,20,general,-1\n", "c.csv:3: 'slots': -1 is not from 0 to 500"),
        (HEAD + "2026-W51,20,general,501\n", "c.csv:2: 'slots': 501"),
        (HEAD + "2026-W51,20,general,=2+3\n", "c.csv:2: 'slots': '=2+3' is not a whole number"),
        (HEAD + "2026-W51,20,general,٣\n", "is not a whole number"),
        (HEAD + "2026-W51,20,general,1e3\n", "is not a whole number"),
        (HEAD + "2026-W51,4,general,1\n", "c.csv:2: 'minutes': 4 is not from 5 to 480"),
        (HEAD + "2026-W51,20,laser,1\n", "c.csv:2: 'skill': unknown skill 'laser'"),
        (HEAD + "2026-W51,20,cavity+,1\n", "c.csv:2: 'skill': unknown skill ''"),
        (HEAD + "2026-11-29,20,general,1\n", "c.csv:2: 2026-11-29 is before 2026-11-30"),
        (HEAD + "2026-W48,20,general,1\n", "c.csv:2: 2026-W48 is before 2026-11-30"),
        (HEAD + "2036-W01,20,general,1\n", "more than three years ahead"),
        (HEAD + "03/12/2026,20,general,1\n", "'03/12/2026' is not a day like 2026-12-03"),
        (HEAD + "2026-02-30,20,general,1\n", "there is no day 2026-02-30"),
        (HEAD + "2027-W53,20,general,1\n", "there is no week 2027-W53"),
        (HEAD + GOOD + GOOD, "c.csv:3: the same slots as in c.csv:2"),
        (HEAD + '2026-W51,"20,general,1\n', "not a table"),
        ((HEAD + GOOD).encode("utf-16"), "is not UTF-8"),
        (HEAD.encode() + b"2026-W51,20,gen\x00eral,1\n", "c.csv:2: the character U+0000"),
        (HEAD.encode() + b"2026-W51,20,g\xe9n,1\n", "c.csv:2: the byte 0xE9 is not UTF-8"),
    ],
)  # fmt: skip
def test_what_cannot_be_planned_with_is_refused_with_its_line(
    parse: Parse, text: str | bytes, said: str
) -> None:
    with pytest.raises(BadInput) as refused:
        parse(text)
    assert said in str(refused.value)


def test_a_week_in_which_the_clinic_is_closed_is_refused(library: Library) -> None:
    days = frozenset(date(2026, 12, number) for number in range(28, 32))
    shut = replace(library.clinic, closed_dates=days)

    with pytest.raises(BadInput, match=r"c\.csv:2: the clinic is closed all of 2026-W53"):
        parse_clinics("c.csv", f"{HEAD}2026-W53,20,general,1\n".encode(), shut, SKILLS, START)


def test_every_fault_is_told_at_once_up_to_twenty(parse: Parse) -> None:
    rows = [f"2026-W51,{n},laser,1\n" for n in range(20, 45)]

    with pytest.raises(BadInput) as refused:
        parse(HEAD + "".join(rows))

    assert str(refused.value).startswith("c.csv: 25 faults:\n  c.csv:2: 'skill'")
    assert str(refused.value).count("unknown skill") == 20
    assert "and 5 more" in str(refused.value)

"""The longest leaflet: the one that was laid out is the one that is told."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any

import pytest
from made_up import TODAY
from made_up_blocks import block

from aftercare.errors import BadText
from aftercare.model import Library
from aftercare.proof.pages import Pages, boxes_that_do_not_fit, pages
from aftercare.proof.programme import Programme
from aftercare.proof.reach import Reach
from aftercare.proof.space import Asked
from aftercare.proof.spoken import PAGES, Speech
from aftercare.render.leaflet import Printed

Made = Callable[..., Library]
LONG = "Rest at home and drink water. " * 20
SHELF = (
    block("a-all", "A.\n", kind="urgent"),
    block("b-wax", LONG + "\n", given="condition:wax"),
    block("c-child", "C.\n", kind="water", given="age:child"),
    block("d-bar", LONG + "\n", kind="others", withheld="caution:diabetes"),
)


@dataclass
class Counting:
    """A press that counts a page for every 500 letters of its data, and keeps the data."""

    seen: list[str] = field(default_factory=list)

    def press(self, data: str) -> Printed:
        self.seen.append(data)
        return Printed(b"-", 1 + len(data) // 500)


def laid_out(library: Library, small: Any, *, routes: tuple[str, ...] = ("print",)) -> Any:
    cut = small(
        library, condition=("wax",), procedure=("suction",), caution=("diabetes",),
        format=("large-print",), routes=routes,
    )  # fmt: skip
    press = Counting()
    return pages(Speech(Reach(cut), "en", PAGES), Programme(cut), press, TODAY), press, cut


def test_the_case_told_is_the_one_that_was_laid_out_in_both_sizes(
    shelf_of: Made, small: Any
) -> None:
    found, press, cut = laid_out(shelf_of(*SHELF), small)

    standard, large = map(json.loads, press.seen)
    assert (found.standard, found.large) == tuple(1 + len(one) // 500 for one in press.seen)
    assert found.held in small.everybody(cut)
    for data in press.seen:
        assert data.count(LONG.strip()) == 2
    assert "Care after your child's visit" in press.seen[0]
    changed = {key for key in standard if standard[key] != large[key]}
    assert changed, "two sizes of print"
    assert all(isinstance(standard[key], int | float) for key in changed), changed
    assert Asked("age:child") in found.held
    assert Asked("condition:wax", next(a.side for a in found.held if a.side)) in found.held
    assert Asked("caution:diabetes") not in found.held


def test_no_leaflet_of_a_small_shelf_has_more_words(shelf_of: Made, small: Any) -> None:
    from aftercare.proof.witness import walk

    found, _, cut = laid_out(shelf_of(*SHELF), small)
    letters = {
        held: sum(len(line.text) for line in walk(held, "en", cut, TODAY).messages[0].lines)
        for held in small.everybody(cut)
    }

    assert letters[found.held] == max(letters.values())


def test_pages_over_a_limit_are_found_for_the_case_that_has_them(library: Library) -> None:
    held = frozenset({Asked("age:child"), Asked("route:print")})
    limits = replace(library.limits, print_pages=3, print_pages_large=5)
    clinic = replace(library, limits=limits)

    def told(standard: int | None, large: int | None) -> list[tuple[str, tuple[str, ...]]]:
        found = Pages(standard, large, held).findings(clinic, "en")
        return [(one.problem, one.case) for one in found]

    case = ("age:child", "route:print")
    assert told(3, 5) == []
    assert told(None, None) == []
    assert told(4, 5) == [("print: 4 pages in standard print, limit 3", case)]
    assert told(3, 6) == [("print: 6 pages in large print, limit 5", case)]
    assert len(told(4, 6)) == 2


def test_a_clinic_that_prints_nothing_has_no_pages(shelf_of: Made, small: Any) -> None:
    found, press, _ = laid_out(shelf_of(*SHELF), small, routes=("email",))

    assert found == Pages(None, None, frozenset())
    assert press.seen == []


class Refusing:
    """A press whose pages hold no box of more than so many lines."""

    def __init__(self, most: int) -> None:
        self.most = most

    def press(self, data: str) -> Printed:
        vital = json.loads(data)["vital"]
        lines = sum(len(p["lines"]) for section in vital for p in section["passages"])
        if lines > self.most:
            raise BadText("urgent signs and contact", "they do not fit", "shorten them")
        return Printed(b"-", 1)


@pytest.mark.parametrize(("most", "found"), [(2, 0), (1, 1)])
def test_the_fullest_box_there_can_be_is_laid_out(
    most: int, found: int, shelf_of: Made, small: Any
) -> None:
    signs = [
        block("s-all", "Call {emergency_number} now.\n", kind="urgent"),
        block("s-wax", "Call too for this.\n", kind="urgent", given="condition:wax"),
    ]
    cut = small(
        shelf_of(*signs), condition=("wax",), procedure=("suction",), format=("large-print",),
        routes=("print",),
    )  # fmt: skip
    speech = Speech(Reach(cut), "en", PAGES)

    told = list(boxes_that_do_not_fit(speech, Programme(cut), Refusing(most), TODAY))

    assert len(told) == found
    for one in told:
        assert one.problem == ("print: urgent signs and contact: they do not fit; shorten them")
        assert "left ear: condition:wax" in one.case or "right ear: condition:wax" in one.case


@pytest.mark.parametrize("more", [0, 3])
def test_a_longer_shelf_takes_more_pages(more: int, shelf_of: Made, small: Any) -> None:
    extra = [block(f"e-{n}", LONG + "\n", kind="normal") for n in range(more)]
    found, _, _ = laid_out(shelf_of(*SHELF, *extra), small)
    base, _, _ = laid_out(shelf_of(*SHELF), small)

    assert (found.standard > base.standard) is (more > 0)

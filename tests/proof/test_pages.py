"""No leaflet takes more pages than is proved, and the one that was found is a real one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from itertools import combinations
from random import Random
from typing import Any

import pytest
from made_up import TODAY
from made_up_blocks import block

from aftercare.edges.press import _CLOSEST, TypstPress, _job
from aftercare.flow import discharge
from aftercare.model import Channel, Kind, Library, Purpose
from aftercare.proof import heights
from aftercare.proof.heights import measured
from aftercare.proof.layout import Layout, boxes_of, joined, layout
from aftercare.proof.pages import (
    Pages,
    _ending_before,
    _sizes,
    pages,
    reckoned,
    tallest_of,
)
from aftercare.proof.programme import LooseProgramme, Programme
from aftercare.proof.reach import Reach
from aftercare.proof.space import Asked, Space
from aftercare.proof.spoken import PAGES, Speech
from aftercare.proof.witness import case_of
from aftercare.render.leaflet import Heights, Printed

Made = Callable[..., Library]
PRESS = TypstPress()
LONG = "Rest at home and drink water. " * 20
SHELF = (
    block("a-all", "A.\n", kind="urgent"),
    block("b-wax", LONG + "\n", given="condition:wax"),
    block("c-child", "C.\n", kind="water", given="age:child"),
    block("d-bar", LONG + "\n", kind="others", withheld="caution:diabetes"),
)
# The room above the words of a page, as the closest layout has it (templates/leaflet.typ).
TOP = 12 / 25.4 * 72


@dataclass
class Spy:
    """The press, and what it was given to lay out."""

    seen: list[str] = field(default_factory=list)

    def press(self, data: str) -> Printed:
        self.seen.append(data)
        return PRESS.press(data)

    def heights(self, data: str) -> Heights:
        return PRESS.heights(data)


def cut_of(library: Library, small: Any, routes: tuple[str, ...] = ("print",)) -> Library:
    made: Library = small(
        library, condition=("wax",), procedure=("suction",), caution=("diabetes",),
        format=("large-print",), routes=routes,
    )  # fmt: skip
    return made


def limited(library: Library, standard: int, large: int) -> Library:
    limits = replace(library.limits, print_pages=standard, print_pages_large=large)
    return replace(library, limits=limits)


def proved(library: Library) -> Pages:
    return pages(Speech(Reach(library), "en", PAGES), Programme(library), PRESS, TODAY)


def data_of(held: frozenset[Asked], language: str, library: Library) -> str:
    spy = Spy()
    discharge(
        case_of(held, language, TODAY), library, press=spy, today=TODAY, purpose=Purpose.SAMPLE,
        channels=[Channel.PRINT],
    )  # fmt: skip
    (data,) = spy.seen
    return data


# --- a small shelf, everybody one by one --------------------------------------------------

SIGNS = (
    block("s-now", "Call now for any of these.\n\n- A sign.\n", kind="urgent"),
    block("s-wax", "- Another sign of wax in this ear.\n" * 6, kind="urgent",
          given="condition:wax"),
    block("t-day", "Contact us the same day for these.\n\n- A sign.\n" + "- One more.\n" * 5,
          kind="urgent"),
    block("u-diabetes", "Contact us soon for these.\n\n- A sign.\n" + "- One more.\n" * 18,
          kind="urgent", given="caution:diabetes"),
    block("v-steps", "1. Sit.\n2. Rest.\n3. " + LONG + "\n", kind="care", given="age:child"),
)  # fmt: skip


def test_nobody_of_a_small_shelf_gets_more_pages_than_is_proved(shelf_of: Made, small: Any) -> None:
    """Every leaflet laid out, in layouts that a limit of one page lets nobody off."""
    library = limited(cut_of(shelf_of(*SHELF[1:], *SIGNS), small), 1, 1)
    standard, large = proved(library).sizes
    most: dict[bool, int] = {}
    for held in small.everybody(library):
        is_large = Asked("format:large-print") in held
        laid_out = PRESS.press(data_of(held, "en", library)).pages
        most[is_large] = max(most.get(is_large, 0), laid_out)

    assert (most[False], most[True]) == (standard.found, large.found)
    assert standard.found <= standard.most <= standard.found + 1
    assert large.found is not None
    assert 2 < large.found <= large.most <= large.found + 1


def test_the_case_told_is_the_one_that_was_laid_out_in_both_sizes(
    shelf_of: Made, small: Any
) -> None:
    cut, spy = cut_of(shelf_of(*SHELF), small), Spy()
    found = pages(Speech(Reach(cut), "en", PAGES), Programme(cut), spy, TODAY).sizes

    assert [one.size for one in found] == ["standard print", "large print"]
    assert [one.found for one in found] == [PRESS.press(data).pages for data in spy.seen]
    assert [data_of(one.held, "en", cut) for one in found] == spy.seen
    for one, data in zip(found, spy.seen, strict=True):
        assert one.held in small.everybody(cut)
        assert data.count(LONG.strip()) == 2
        assert (Asked("format:large-print") in one.held) is (one.size == "large print")
        assert Asked("age:child") in one.held
        assert Asked("caution:diabetes") not in one.held


def test_pages_over_a_limit_are_found_for_the_case_that_has_them(
    shelf_of: Made, small: Any
) -> None:
    extra = [block(f"e-{n}", LONG + "\n", kind="normal") for n in range(3)]
    cut = cut_of(shelf_of(*SHELF, *extra), small)
    generous = proved(limited(cut, 9, 9))
    standard, large = generous.sizes
    assert generous.findings == ()
    assert (standard.most, large.most) == (9, 9)

    strict = proved(limited(cut, 1, 9))
    (found,) = strict.findings
    assert strict.sizes[0].found is not None
    assert found.problem == f"print: {strict.sizes[0].found} pages in standard print, limit 1"
    assert found.case == tuple(map(str, sorted(strict.sizes[0].held)))
    assert proved(limited(cut, 9, 1)).findings[0].problem.endswith("in large print, limit 1")


def test_a_clinic_that_prints_nothing_has_no_pages(shelf_of: Made, small: Any) -> None:
    assert proved(cut_of(shelf_of(*SHELF), small, routes=("email",))).sizes == ()


@pytest.mark.parametrize(("many", "found"), [(10, False), (60, True)])
def test_a_box_that_outgrows_its_page_is_found(
    many: int, found: bool, shelf_of: Made, small: Any
) -> None:
    signs = block("s-wax", "- A sign to look out for at home.\n" * many, kind="urgent",
                  given="condition:wax")  # fmt: skip
    told = proved(limited(cut_of(shelf_of(SHELF[0], signs), small), 9, 9)).findings

    problems = [one.problem for one in told]
    fits = "print: a box under 'urgent' does not fit on its page in large print"
    assert (fits in problems) is found
    if found:
        # And the press refuses that very leaflet.
        assert any("do not fit on their pages" in problem for problem in problems)
    else:
        assert problems == []
    assert all(any(fact.endswith("condition:wax") for fact in one.case) for one in told)


# --- which lines share a box ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("more", "who"),
    [
        ((), None),
        # A list for somebody who is not told the line above it.
        ((block("t-more", "- Another.\n", kind="urgent", given="age:child"),),
         "age:child"),
        # Somebody is told the line and no list, and then the next such line.
        ((block("u-line", "Soon.\n", kind="urgent", given="condition:wax"),
          block("u-list", "- A sign.\n", kind="urgent", given="condition:wax, age:child"),
          block("v-end", "Some day.\n\n- End.\n", kind="urgent")), "condition:wax"),
    ],
)  # fmt: skip
def test_a_list_without_its_line_or_a_line_without_its_list_is_found(
    more: tuple[str, ...], who: str | None, shelf_of: Made, small: Any
) -> None:
    shelf = [
        block("s-now", "Call now for these.\n\n- A sign.\n", kind="urgent"),
        block("t-day", "Today.\n\n- A sign.\n", kind="urgent", given="condition:wax"),
        *more,
    ]
    cut = cut_of(shelf_of(*shelf), small)
    speech = Speech(Reach(cut), "en", PAGES)
    wrong = joined(speech)

    assert speech.space.anybody_fits(wrong) is (who is not None)
    told = proved(cut).findings
    assert bool(told) is (who is not None)
    assert all("is not proved" in one.problem for one in told)


def test_boxes_are_those_the_template_makes(library: Library) -> None:
    """Of whole leaflets: a box begins where a paragraph follows a list (templates/leaflet.typ)."""
    speech = Speech(Reach(library), "en", PAGES)
    boxes = boxes_of(speech)
    kinds = [one.kind for one in boxes]

    assert kinds == [Kind.URGENT] * 3 + [Kind.CONTACT]
    assert [one.headed for one in boxes] == [True, False, False, True]
    assert not speech.space.anybody_fits(joined(speech))


# --- the whole shelf, drawn at random -------------------------------------------------------


def anybody(space: Space, draw: Random) -> frozenset[Asked]:
    """Somebody, with few or many facts, nobody left out."""
    often, left, held = draw.choice((0.05, 0.2, 0.5, 0.9)), space.possible, set()
    left &= space.holds("route:print")
    for asked in draw.sample(space.questions, len(space.questions)):
        known = space.cube([asked])
        answer = known if draw.random() < often else ~known
        left &= answer if (left & answer).satisfiable() else ~answer
        if not (left & ~known).satisfiable():
            held.add(asked)
    return frozenset(held)


def lowest(held: frozenset[Asked], speech: Speech) -> tuple[int, float, Layout]:
    """The most pages of one visit, and the lowest it may end if its flow were unbroken."""
    size = _sizes(speech.library)[Asked("format:large-print") in held]
    found = measured(speech, PRESS, size.point)
    assert found is not None
    programme = LooseProgramme(speech.library)
    page, patient = layout(speech, found, programme), programme.fixed(held)
    tallest = [tallest_of(box, size, speech) for box in page.boxes]
    most = reckoned(page, tallest, patient, programme, enough=0)
    assert most is not None
    later = range(1, len(page.boxes))
    ways = (ends for many in later for ends in combinations(later, many))
    every = [most, *(_ending_before(ends, page, patient, programme) for ends in ways)]
    return most.pages, max(one.total for one in every if one), page


@pytest.mark.parametrize("language", ["en", "pl", "ur"])
def test_no_leaflet_drawn_at_random_ends_below_where_it_is_proved_to(
    language: str, library: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the last word stands, in points from the top of page 1, against what was added up."""
    monkeypatch.setattr(heights, "NAME", "A. Clinician")
    # Whoever is drawn reads this language: the line on help in another is not on their page.
    monkeypatch.setattr(heights, "_helps", lambda speech: iter([None]))
    reach = Reach(library)
    speech, draw = Speech(reach, language, PAGES), Random(language)  # noqa: S311
    slack = []
    for _ in range(12):
        plain = anybody(reach.space, draw) - {Asked("format:large-print")}
        for held in (plain, plain | {Asked("format:large-print")}):
            most, total, page = lowest(held, speech)
            sheet = PRESS._set(_job(data_of(held, language, library)), _CLOSEST)
            took = sheet.printed.pages
            ends = (took - 1) * page.room + sheet.filled * (page.room + TOP) - TOP

            assert took <= most
            slack.append(total + (took - 1) * page.chunk - ends)
    assert min(slack) >= 0
    # And what is proved is not far from what is so: less than three lines in one case at least.
    assert min(slack) < 60

"""The figure agreed for a condition, against what the clinic holds usual and allowed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_up import a_case, an_ear

from aftercare.model import Case, Interval, RecallMonths, Side
from aftercare.recall import Figure, Standing, confirmed, figures, unusual

KNOWN = {"condition:open-cavity": RecallMonths(usual=(6, 12), allowed=(3, 12))}
CAVITY = an_ear("condition:open-cavity", "procedure:suction")


def visit(agreed: Interval | None, *conditions: str) -> Case:
    ear = an_ear("procedure:suction", *conditions) if conditions else CAVITY
    return a_case(ears=(ear,), recall=agreed)


@pytest.mark.parametrize(
    ("agreed", "expected"),
    [
        ({"months": 2}, Standing.OUTSIDE),
        ({"months": 3}, Standing.ALLOWED),
        ({"months": 5}, Standing.ALLOWED),
        ({"months": 6}, Standing.USUAL),
        ({"months": 12}, Standing.USUAL),
        ({"months": 13}, Standing.OUTSIDE),
        ({"weeks": 12}, Standing.OUTSIDE),
        ({"weeks": 13}, Standing.ALLOWED),  # a quarter of a year
        ({"weeks": 25}, Standing.ALLOWED),
        ({"weeks": 26}, Standing.USUAL),  # half a year
        ({"weeks": 52}, Standing.USUAL),  # a year
        ({"weeks": 53}, Standing.OUTSIDE),
        ({"months": 2, "weeks": 4}, Standing.ALLOWED),
        ({"months": 12, "weeks": 1}, Standing.OUTSIDE),
    ],
)
def test_the_bounds_belong_to_what_they_bound_in_months_and_in_weeks(
    agreed: dict[str, int], expected: Standing
) -> None:
    interval = Interval(months=agreed.get("months", 0), weeks=agreed.get("weeks", 0))

    (figure,) = figures(visit(interval), KNOWN)

    assert figure.standing is expected


@given(least=st.integers(1, 59), span=st.integers(0, 12), months=st.integers(1, 60))
def test_whole_months_are_never_bent_by_counting_in_weeks(
    least: int, span: int, months: int
) -> None:
    known = RecallMonths(usual=(least, least + span), allowed=(least, least + span))
    figure = Figure("condition:open-cavity", Interval(months=months), known)

    assert (figure.standing is Standing.USUAL) == (least <= months <= least + span)


def test_a_usual_figure_is_told_nobody() -> None:
    assert list(unusual(visit(Interval(months=9)), KNOWN)) == []
    assert list(confirmed(visit(Interval(months=9)), KNOWN)) == []


def test_an_allowed_figure_is_told_and_not_kept() -> None:
    case = visit(Interval(weeks=20))

    assert list(unusual(case, KNOWN)) == [
        "recall in 20 weeks (about 4.6 months); 6 to 12 months is usual for "
        "condition:open-cavity (common practice, no source)"
    ]
    assert list(confirmed(case, KNOWN)) == []


def test_a_confirmed_figure_is_told_and_kept_with_who_and_why() -> None:
    case = visit(Interval(months=18, confirmed="dry for ten years"))

    assert list(unusual(case, KNOWN)) == list(confirmed(case, KNOWN))
    assert list(confirmed(case, KNOWN)) == [
        "recall in 18 months; 3 to 12 months is allowed, and 6 to 12 months is usual for "
        "condition:open-cavity (common practice, no source); confirmed by Idris Penhale, "
        "ear-care practitioner; reason: dry for ten years"
    ]


def test_a_figure_outside_that_nobody_confirmed_says_so() -> None:
    """The visit reader lets none through; another door may."""
    (told,) = unusual(visit(Interval(months=18)), KNOWN)

    assert told.endswith("; nobody has confirmed it")
    assert list(confirmed(visit(Interval(months=18)), KNOWN)) == []


def test_a_reason_nobody_had_to_give_is_kept_all_the_same() -> None:
    for case in (
        visit(Interval(months=9, confirmed="as agreed")),
        visit(Interval(months=1, confirmed="as agreed"), "condition:wax"),
    ):
        (kept,) = confirmed(case, KNOWN)
        assert kept.endswith(
            "; confirmed by Idris Penhale, ear-care practitioner; reason: as agreed"
        )
        assert list(unusual(case, KNOWN)) == []


def test_either_ear_s_condition_counts_and_is_told_once() -> None:
    right = an_ear("condition:open-cavity", "procedure:suction", side=Side.RIGHT)
    wax = an_ear("condition:wax", "procedure:suction")

    for ears in ((wax, right), (CAVITY, right)):
        case = a_case(ears=ears, recall=Interval(months=3))
        assert len(list(unusual(case, KNOWN))) == 1


def test_no_condition_with_figures_or_no_recall_has_nothing_to_tell() -> None:
    assert figures(visit(Interval(months=1), "condition:wax"), KNOWN) == ()
    assert figures(visit(None), KNOWN) == ()
    assert figures(visit(Interval(months=1)), {}) == ()

"""A catch-up plan for people: on a screen, and as a page to read, print and keep."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from aftercare.cli.lines import folded, steady
from aftercare.model import Clinic
from aftercare.recall.catch_up import Aim, Answer, LeftOut, Proof, Waiting

# More would not be read on a page; the table and the JSON have everybody.
ON_PAGE, ON_SCREEN = 300, 10
_FIGURES = (
    ("past_limit", "Past the hard limit"),
    ("past_already", "  of them before the first clinic"),
    ("past_days", "Weighted days past it from then on"),
    ("risk_days", "Risk-weighted overdue days"),
    ("planned", "With a place"),
    ("without_place", "Without a place"),
    ("median_wait", "Median wait, days"),
    ("longest_overdue", "Longest overdue, days"),
)


def proof_said(one: Proof) -> str:
    """What is proved of one aim."""
    name = one.aim.value
    if one.aim is Aim.PASSED and one.value:
        return _not_held(one)
    if one.exact:
        return f"{name}: {one.value:,}, and no plan has fewer: proved"
    return f"{name}: {one.value:,}, and no plan has fewer than {one.bound:,} ({one.gap:.3%} less)"


def _not_held(one: Proof) -> str:
    """Why limits are weighed although the clinic would hold them."""
    weighed = "so limits are weighed, and every day past one counts, whoever it is"
    if one.bound:
        return f"no plan keeps all within the hard limits, {one.bound:,} or more pass; {weighed}"
    return f"no plan was found that keeps all within the hard limits; {weighed}"


def _rows(answer: Answer) -> Iterator[tuple[str, list[str]]]:
    for field, heading in _FIGURES:
        cells = (getattr(one, field) for one in answer.measures.values())
        yield heading, ["over half never" if cell is None else f"{cell:,}" for cell in cells]


# --- on a screen ------------------------------------------------------------------------


def screen(answer: Answer, left_out: Sequence[LeftOut], notes: Sequence[str]) -> Iterator[str]:
    """What an admin reads first, a line at a time."""
    names = list(answer.measures)
    yield f"{'':36}" + "".join(f"{name:>18}" for name in names)
    for heading, cells in _rows(answer):
        yield f"{heading:36}" + "".join(f"{cell:>18}" for cell in cells)
    yield ""
    for proof in answer.plan.proofs:
        yield from folded(proof_said(proof), "  ")
    yield from _conditions(answer)
    yield from _moved(answer)
    yield ""
    yield "First in the queue"
    for one in answer.order[:ON_SCREEN]:
        yield from folded(f"{one.ref}: {answer.reasons[one.ref].said}", "  ")
    yield from _invitations(answer)
    yield from _others(left_out, notes)


def _conditions(answer: Answer) -> Iterator[str]:
    yield ""
    for one in answer.conditions:
        last = f", the last on {one.last}" if one.last else ""
        yield f"  {one.name}: {one.planned:,} of {one.people:,} have a place{last}; " + (
            f"{one.past_limit:,} past the limit" if one.past_limit else "all within the limit"
        )


def _moved(answer: Answer) -> Iterator[str]:
    moved = answer.told_and_moved
    if not moved:
        return
    yield ""
    yield f"Told a day and moved: {len(moved):,}. Tell them before anything else is done"
    for one in moved:
        yield from folded(f"{one.ref}: {_change(answer, one)}", "  ")


def _change(answer: Answer, one: Waiting) -> str:
    seat = answer.plan.places[one.ref]
    now = "no place now" if seat is None else f"now {seat.when}"
    return f"{now}; {answer.reasons[one.ref].moved}"


def _invitations(answer: Answer) -> Iterator[str]:
    yield ""
    yield "Invite, so that what comes fits the clinics"
    for one in answer.invitations[:ON_SCREEN]:
        yield f"  week of {one.first}: {one.invite:,} people for {one.planned:,} places"
    if len(answer.invitations) > ON_SCREEN:
        yield f"  and {len(answer.invitations) - ON_SCREEN} more weeks"


def _others(left_out: Sequence[LeftOut], notes: Sequence[str]) -> Iterator[str]:
    if left_out:
        yield ""
        yield f"Not planned for: {len(left_out):,}. A person decides"
        for one in left_out[:ON_SCREEN]:
            yield f"  {steady(one.ref)}: {steady(one.because)}"
        if len(left_out) > ON_SCREEN:
            yield f"  and {len(left_out) - ON_SCREEN:,} more, in plan.json"
    for note in notes:
        yield from folded(f"note: {note}", "")


# --- as a page --------------------------------------------------------------------------


def page(
    answer: Answer,
    left_out: Sequence[LeftOut],
    notes: Sequence[str],
    picture: str,
    clinic: Clinic,
) -> str:
    """The plan as one HTML page that loads nothing."""
    from jinja2 import Environment, PackageLoader, StrictUndefined
    from markupsafe import Markup

    shelf = Environment(
        loader=PackageLoader("aftercare.cli.recall"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
    )
    order = answer.order
    return shelf.get_template(
        "catch-up.html.j2"
    ).render(
        clinic=clinic.name,
        answer=answer,
        names=list(answer.measures),
        figures=list(_rows(answer)),
        proofs=[proof_said(one) for one in answer.plan.proofs],
        # Drawn by this package from numbers and its own words; escaped already.
        picture=Markup(picture),  # noqa: S704
        moved=[(one, _change(answer, one)) for one in answer.told_and_moved],
        queue=[_queued(answer, one) for one in order[:ON_PAGE]],
        more=max(0, len(order) - ON_PAGE),
        left_out=left_out[:ON_PAGE],
        left_out_more=max(0, len(left_out) - ON_PAGE),
        notes=notes,
    )


def _queued(answer: Answer, one: Waiting) -> dict[str, Any]:
    seat = answer.plan.places[one.ref]
    return {
        "ref": one.ref,
        "when": "no place" if seat is None else str(seat.when),
        "reason": answer.reasons[one.ref].said,
        "late": one.limit < answer.plan.day(one),
    }

"""Who waits: what the register or a file knows of them, as people to plan for."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date

from aftercare.errors import BadInput
from aftercare.model import Fact
from aftercare.recall.catch_up.values import Span, Waiting
from aftercare.recall.people import Person, Recall, RecallState, Standing
from aftercare.recall.promise import limit
from aftercare.recall.risk import RiskOrder


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """Somebody who is overdue and not planned for, and why: a person decides."""

    ref: str
    because: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """One thing somebody is due for. ``promised`` and ``told`` as in `Waiting`.

    ``limit`` is the last day that is not too late, None to count it from the due day.
    """

    ref: str
    conditions: tuple[Fact, ...]
    due: date
    limit: date | None = None
    promised: Span | None = None
    told: bool = False


def to_plan(listed: Iterable[Listed], risks: RiskOrder) -> tuple[Waiting, ...]:
    """The people to plan for, in the order they were listed.

    Somebody listed for several things comes once: due on the first of their days, with all their
    conditions, and no later than the nearest limit.
    """
    together: dict[str, list[Listed]] = {}
    for one in listed:
        together.setdefault(one.ref, []).append(one)
    return tuple(_waiting(at, rows, risks) for at, rows in enumerate(together.values()))


def _waiting(at: int, rows: list[Listed], risks: RiskOrder) -> Waiting:
    stake = risks.of(fact for row in rows for fact in row.conditions)
    kept = min(rows, key=lambda row: (not row.told, row.promised is None, row.due))
    return Waiting(
        ref=rows[0].ref,
        stake=stake,
        due=min(row.due for row in rows),
        limit=min(row.limit or risks.of(row.conditions).limit(row.due) for row in rows),
        listed=at,
        promised=kept.promised,
        told=kept.told,
    )


def from_register(
    open_recalls: Iterable[tuple[Recall, Person]],
    risks: RiskOrder,
    *,
    start: date,
    until: date,
    earlier: Collection[str],
) -> tuple[tuple[Listed, ...], tuple[LeftOut, ...]]:
    """Those due by ``until``, booked or in the ``earlier`` plan; and who is left out.

    In the order their recalls were opened. Left out are those who may not be contacted, who wait
    for somebody's decision, whose recall waits on a named person, or who were booked for a day
    before the ``start``; nobody is dropped without being named.
    """
    concerned = (
        (recall, person)
        for recall, person in open_recalls
        if recall.due <= until or recall.booked is not None or person.ref in earlier
    )
    listed, left_out = [], []
    for recall, person in sorted(concerned, key=lambda pair: pair[0].id):
        because = _not_planned(recall, person, start)
        if because:
            left_out.append(LeftOut(ref=person.ref, because=because))
        else:
            listed.append(_listed(recall, person, risks))
    return tuple(listed), tuple(left_out)


def _not_planned(recall: Recall, person: Person, start: date) -> str | None:
    if person.standing is Standing.SILENT:
        return "may not be contacted"
    if person.standing is Standing.HOLD:
        return "on hold until a person decides"
    # A day that was given is a place that is taken, whoever the recall waits on.
    if recall.state is RecallState.WAITING and recall.booked is None:
        return f"waits on {recall.waiting_on}"
    if recall.booked is not None and recall.booked.date() < start:
        return f"booked for {recall.booked.date()}, and nobody has said whether they came"
    return None


def _listed(recall: Recall, person: Person, risks: RiskOrder) -> Listed:
    booked = None if recall.booked is None else Span.day(recall.booked.date())
    return Listed(
        ref=person.ref,
        conditions=() if recall.condition is None else (recall.condition,),
        due=recall.due,
        limit=limit(recall, risks),
        promised=booked,
        told=recall.told and booked is not None,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Earlier:
    """What an earlier plan had for somebody, and whether they were told."""

    when: Span
    told: bool


def with_earlier(people: Iterable[Waiting], earlier: Mapping[str, Earlier]) -> tuple[Waiting, ...]:
    """The people with the days of an earlier plan, unless something newer is known of them.

    Raises ``BadInput`` for somebody who was told a day that nobody knows.
    """
    known = tuple(_with(one, earlier.get(one.ref)) for one in people)
    for one in known:
        if one.told and one.promised is None:
            told = f"'{one.ref}' was told a day, and it is not known which"
            raise BadInput("told", told, "give 'promised', or the plan with --previous")
    return known


def in_reach(
    people: Iterable[Waiting], start: date, beyond: date
) -> tuple[tuple[Waiting, ...], tuple[LeftOut, ...]]:
    """Those to plan for; and who was told a day that is past, or from ``beyond`` on and keeps it.

    A day before the ``start`` that nobody was told is forgotten: who still waits is planned anew.
    """
    near, left_out = [], []
    for one in people:
        because = _out_of_reach(one, start, beyond)
        if because:
            left_out.append(LeftOut(ref=one.ref, because=because))
        elif one.promised is not None and one.promised.last < start:
            near.append(replace(one, promised=None))
        else:
            near.append(one)
    return tuple(near), tuple(left_out)


def _out_of_reach(one: Waiting, start: date, beyond: date) -> str | None:
    if one.promised is None or not one.told:
        return None
    if one.promised.last < start:
        return f"was told {one.promised}, and nobody has said whether they came"
    if one.promised.first >= beyond:
        return f"was told {one.promised}, which is after the last clinic of this plan"
    return None


def _with(one: Waiting, was: Earlier | None) -> Waiting:
    if was is None:
        return one
    if one.promised is None:
        return replace(one, promised=was.when, told=was.told or one.told)
    if one.promised.meets(was.when):
        return replace(one, told=was.told or one.told)
    return one


def due_by(
    people: Iterable[Waiting], until: date
) -> tuple[tuple[Waiting, ...], tuple[LeftOut, ...]]:
    """Those due by ``until`` or told a day, which takes a place; and the others by name."""
    everybody = tuple(people)
    later = tuple(one for one in everybody if one.due > until and not one.told)
    names = {one.ref for one in later}
    return (
        tuple(one for one in everybody if one.ref not in names),
        tuple(LeftOut(ref=one.ref, because=f"not due before {one.due}") for one in later),
    )

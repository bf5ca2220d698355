"""A visit on its way into the register: who, what was seen, and the recall that was agreed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date

from aftercare.model import Case, Fact
from aftercare.recall.decide import CAME
from aftercare.recall.people import Person, Recall, RecallState, Standing
from aftercare.recall.port import IntakeRow

# What of the visit's facts about a person bears on how they are written to.
_GROUPS = frozenset({"need", "format", "texts", "caution"})


def visited(case: Case, ref: str, due: date | None, condition: Fact | None) -> IntakeRow:
    """The visit of somebody the register knows, with its recall for one condition.

    What was agreed is scheduled for ``due``; what was declined is kept closed, with its reason.
    """
    day = case.visit_date.isoformat()
    visit = IntakeRow(
        ref=ref,
        case=case.ref,
        seen=day,
        conditions=" ".join(sorted(conditions(case))),
        side=case.treated.value,
        clinician=case.clinician,
        condition=condition or "",
        anchor=day,
    )
    if case.recall is None or due is None:
        return visit._replace(
            months=0, weeks=0, due=day, state=RecallState.CLOSED.value,
            because=f"declined: {case.recall_declined}", closed=day,
        )  # fmt: skip
    return visit._replace(
        months=case.recall.months, weeks=case.recall.weeks, due=due.isoformat(),
        state=RecallState.SCHEDULED.value,
    )  # fmt: skip


def introduced(visit: IntakeRow, case: Case, *, mobile: str | None) -> IntakeRow:
    """The same with whose it is, for a register that does not know them. ``mobile`` is E.164.

    A visit has one name, as the patient is addressed; none of it is taken for a surname.
    """
    told, patient = _standing(case), case.patient
    return visit._replace(
        first_name=patient.name,
        last_name="",
        language=patient.language,
        mobile=mobile,
        email=patient.email,
        address="\n".join(patient.address),
        agreed=" ".join(sorted(patient.agreed)),
        facts=" ".join(sorted(one for one in patient.facts if one.partition(":")[0] in _GROUPS)),
        household=_household(case, mobile),
        standing=(Standing.SILENT if told else Standing.READY).value,
        reasons="\n".join(told),
    )


def conditions(case: Case) -> frozenset[Fact]:
    """The conditions of either ear."""
    facts = frozenset[Fact]().union(*(ear.facts for ear in case.ears))
    return frozenset(one for one in facts if one.startswith("condition:"))


def _standing(case: Case) -> tuple[str, ...]:
    """Why somebody may not be contacted; empty when they may."""
    status = sorted(one for one in case.patient.facts if one.startswith("status:"))
    if status:
        return tuple(one.partition(":")[2] for one in status)
    return () if case.patient.agreed else ("no consent",)


def _household(case: Case, mobile: str | None) -> str | None:
    """What people of one household share, written as a list's rows write it."""
    if mobile:
        return f"tel:{mobile}"
    return f"mailto:{case.patient.email.lower()}" if case.patient.email else None


def is_another(person: Person, case: Case) -> bool:
    """Whether no word of a name is the same: the reference is somebody else's, then."""
    known = f"{person.first_name} {person.last_name}".casefold().split()
    return not set(known) & set(case.patient.name.casefold().split())


def ended(recalls: Iterable[Recall], visit: date) -> Iterator[tuple[Recall, Recall]]:
    """The open recalls that a visit ends, before and after."""
    for one in recalls:
        if one.state is not RecallState.CLOSED and one.anchor < visit:
            yield (
                one,
                replace(one, state=RecallState.CLOSED, waiting_on=None, because=CAME, closed=visit),
            )

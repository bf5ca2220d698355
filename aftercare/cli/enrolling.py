"""What a discharge leaves in the recall register, where the clinic keeps one."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from aftercare.cli import DONE, FOUND, tell
from aftercare.cli.bootstrap import moment, open_recall_desk, open_register, register_place
from aftercare.errors import AftercareError
from aftercare.flow import Discharge
from aftercare.model import Case, Status

if TYPE_CHECKING:
    from aftercare.cli.bootstrap import RecallDesk
    from aftercare.edges.register.register import SqlRegister
    from aftercare.recall.port import Register


class Enrolment:
    """Puts released visits on the register, and remembers whether anything was in the way."""

    def __init__(self, register: Register | None, desk: RecallDesk | None) -> None:
        self._register, self._desk = register, desk
        self.code = DONE

    def take(self, done: Discharge) -> None:
        """The recall of one visit; what is in its way is told, and the messages stand."""
        if self._register is None or self._desk is None:
            return
        try:
            because = self._refused(done)
            if because is None:
                because = _enrol(self._register, self._desk, done)
        except AftercareError as refusal:
            because = str(refusal)
        if because is not None:
            tell(f"{done.case.ref}: the recall is not in the register: {because}")
            self.code = FOUND

    def _refused(self, done: Discharge) -> str | None:
        if all(message.status is Status.WITHHELD for message in done.messages):
            return "nothing was released"
        if done.case.patient.ref is None:
            return "the visit does not say whose it is; add 'ref' to [patient]"
        return None


@contextmanager
def enrolment(home: str | None) -> Iterator[Enrolment]:
    """An open register, or none where the clinic keeps none: nothing is loaded for it then.

    One that is there and cannot be opened is told of; the patients get their messages.
    """
    place = register_place(home)
    if place.file is not None and not place.file.exists():
        yield Enrolment(None, None)
        return
    register: SqlRegister | None = None
    try:
        register = open_register(home)
        desk = open_recall_desk(home)
    except AftercareError as refusal:
        tell(f"no recall is put in the register: {refusal}")
        desk = None
    found = Enrolment(register, desk)
    if desk is None:
        found.code = FOUND
    try:
        yield found
    finally:
        if register is not None:
            register.close()


def _enrol(register: Register, desk: RecallDesk, done: Discharge) -> str | None:
    """Take a visit in, once, and end what it ends; why not, if it was not done."""
    from aftercare.recall.enrol import conditions, ended, introduced, is_another, visited
    from aftercare.recall.people import Deed, What

    case, ref = done.case, done.case.patient.ref
    assert ref is not None  # noqa: S101
    known = register.person(ref)
    if known is not None and is_another(known, case):
        return "its reference is somebody else's; check 'ref' in [patient]"
    named = f"condition:{desk.risks.of(conditions(case)).condition}"
    condition = named if named in desk.conditions else None
    due = done.recall.on if done.recall else None
    visit = visited(case, ref, due, condition)
    row = visit if known is not None else introduced(visit, case, mobile=_dialled(case, desk))
    at, by = moment(), case.clinician
    with register.intake(Deed(what=What.OPENED, by=by, at=at)) as intake:
        intake.rows([row])
    recalls = register.recalls(ref)
    swaps = tuple(ended(recalls, case.visit_date))
    if swaps:
        day = (("on", case.visit_date.isoformat()),)
        register.change(Deed(what=What.DONE, by=by, at=at, details=day), *swaps)
    kept = [one for one in recalls if (one.anchor, one.condition) == (case.visit_date, condition)]
    if due is not None and kept and kept[0].due != due and kept[0].booked is None:
        return f"it has another day for this visit, {kept[0].due}, and keeps it"
    return None


def _dialled(case: Case, desk: RecallDesk) -> str | None:
    """The mobile number in E.164."""
    import phonenumbers

    if case.patient.mobile is None:
        return None
    number = phonenumbers.parse(case.patient.mobile, desk.clinic.territory)
    return str(phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.E164))

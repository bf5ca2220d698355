"""Calendar files beside a decision: visits that are off, and of which no e-mail will tell."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime

    from aftercare.cli.bootstrap import RecallDesk
    from aftercare.edges.register.register import SqlRegister
    from aftercare.recall.decide import Decided
    from aftercare.recall.entered import Entry

FOLDER, NAME = "calendar", "visit-off.ics"
_STANDS = "what was decided is on record; the calendar file alone is lacking"


def take_out(
    folder: Path,
    register: SqlRegister,
    desk: RecallDesk,
    decided: Sequence[Decided],
    now: datetime,
) -> dict[str, list[Path]]:
    """Write the files that take visits out of patients' calendars; where they are, by reference.

    There are no words in them, so that there is nothing to approve or to translate. Raises
    ``OutOfReach`` when one cannot be written; what was decided stands.
    """
    from aftercare.edges.folder import write_folder
    from aftercare.errors import OutOfReach

    found: dict[str, list[Path]] = {}
    for one in decided:
        for entry in _entries(register, one, now):
            own = folder / FOLDER / f"{entry.recall.id}-{entry.sequence}"
            try:
                write_folder(own, {NAME: _file(entry, desk, now)}, ours={NAME})
            except OutOfReach as error:
                raise OutOfReach(error.place, error.problem, _STANDS) from None
            found.setdefault(one.ref, []).append(own / NAME)
    return found


def _entries(register: SqlRegister, decided: Decided, now: datetime) -> list[Entry]:
    from aftercare.recall.entered import left_over
    from aftercare.recall.people import Recall

    swaps = [
        (before, after)
        for act in decided.acts
        for before, after in act.swaps
        if isinstance(before, Recall) and isinstance(after, Recall)
    ]
    person = register.person(decided.ref) if swaps else None
    if person is None:
        return []
    sent = register.reminders(decided.ref)
    found = (left_over(person, before, after, sent, now) for before, after in swaps)
    return [one for one in found if one is not None]


def _file(entry: Entry, desk: RecallDesk, now: datetime) -> bytes:
    from aftercare.render.calendar import Appointment, Method, calendar_file, uid_of

    clinic, condition = desk.clinic, entry.recall.condition
    return calendar_file(
        Appointment(
            uid=uid_of(entry.recall.id, clinic.sender.rpartition("@")[2]),
            sequence=entry.sequence,
            start=entry.start,
            zone=clinic.timezone,
            minutes=desk.risks.of([condition] if condition else []).minutes,
            stamp=now,
            summary=None,
            description=None,
            location=clinic.short_name,
            language="en",
            organizer=clinic.sender,
        ),
        Method.CANCEL,
    )

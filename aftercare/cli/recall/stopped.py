"""Runs of `recall write` to other folders that were stopped: finished, or told of."""

from __future__ import annotations

import platform
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from itertools import groupby
from pathlib import Path

from aftercare.cli import tell
from aftercare.cli.recall.write_list import AdminList, Listing
from aftercare.edges.outbox_files import NotHeld, held_again
from aftercare.edges.register.register import SqlRegister
from aftercare.errors import OutOfReach
from aftercare.recall.port import Underway


@dataclass(slots=True)
class Stopped:
    """What was found of other runs.

    ``completed`` are files put in place for them; ``lost`` are runs whose folder is gone, and
    ``elsewhere`` those of other machines, which may still write.
    """

    completed: int = 0
    lost: list[Underway] = field(default_factory=list)
    elsewhere: list[Underway] = field(default_factory=list)


def finish_others(register: SqlRegister, mine: str, now: datetime, listed: AdminList) -> Stopped:
    """Finish every other run that was stopped, where its folder is in reach; let go of the rest.

    Whoever had a message in a folder that is gone is listed for a person. The register forgets
    of it with `SqlRegister.given_up`, once that list is in place. Raises ``OutOfReach`` when a
    run is still writing.
    """
    found = Stopped()
    for outbox, parts in groupby(register.underway(), lambda run: run.outbox):
        if outbox != mine:
            _look_at(tuple(parts), register, now, listed, found)
    return found


def _look_at(
    parts: Sequence[Underway], register: SqlRegister, now: datetime, listed: AdminList,
    found: Stopped,
) -> None:  # fmt: skip
    """Look at one run, by all of its parts."""
    run = parts[0]
    with held_again(Path(run.folder), run.outbox) as outbox:
        if outbox is NotHeld.BUSY:
            raise OutOfReach(
                run.folder, "a run of the same register is writing there now",
                "wait until it has ended: two at once could write to one household twice in a day",
            )  # fmt: skip
        if outbox is not NotHeld.GONE:
            done = outbox.recover(register.digests)
            for one in parts:
                register.arrived(one)
            found.completed += done
            tell(f"a run to {run.folder} was stopped: {done:,} of its messages put in place there")
            return
    if run.host != platform.node() and now < run.until:
        found.elsewhere.append(run)
        tell(
            f"a run to {run.folder} on {run.host} has not ended; if it was stopped, run it again"
            f" there: what it holds is not written here before {run.until:%Y-%m-%d %H:%M} UTC"
        )
        return
    found.lost += parts
    lost = sum(_list_lost(one, register, listed) for one in parts)
    tell(
        f"a run to {run.folder} on {run.host} was stopped, and the folder is gone:"
        f" {lost:,} of its last messages are on the list, for a person to see to"
    )


def _list_lost(run: Underway, register: SqlRegister, listed: AdminList) -> int:
    """Put those on the list of whom nobody can say whether their message got there; how many."""
    register.release(run.worker)
    lost = () if run.batch is None else register.prepared_in(run.batch)
    because = (
        f"a message was written to {run.folder} on {run.host} by a run that was stopped, and the"
        " folder is gone: see whether it was sent, or tell the patient"
    )
    for reminder, person in lost:
        listed.add(Listing.PERSON, person, because, step=reminder.step, day=reminder.day)
    return len(lost)

"""``aftercare recall audit``: nobody is dropped, or who is."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from typing import TYPE_CHECKING, Any

import typer

from aftercare.cli.recall.options import AsJson, Home

if TYPE_CHECKING:
    from aftercare.cli.bootstrap import RecallDesk
    from aftercare.edges.register.copies import Checked
    from aftercare.edges.register.register import SqlRegister
    from aftercare.recall.people import RecallState

_SHOWN = 50


@dataclass(frozen=True, slots=True, kw_only=True)
class Dropped:
    """Somebody nobody follows, by reference, and why. ``recall`` is its number, if there is one."""

    ref: str
    because: str
    recall: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Audited:
    """What was found. ``late`` are followed by the rules, but nothing moves them on."""

    states: Mapping[RecallState, int]
    dropped: tuple[Dropped, ...]
    late: tuple[Dropped, ...]
    checked: Checked

    @property
    def sound(self) -> bool:
        """Whether nobody is dropped, and what happened is whole."""
        return self.checked.sound and not self.dropped


def audit(as_json: AsJson = False, home: Home = None) -> None:
    """Prove that nobody is dropped: every open recall is scheduled, waits on a named person, or is
    closed with a reason; every patient who may be contacted and has a condition that comes back
    for life ([recall.*] in shared/limits.toml) has a recall for it; and nobody altered what
    happened.

    Ends with 1 and the list otherwise. Recalls whose reminders are over and which wait on nobody
    by name are listed too, without that: 'aftercare recall hand-over' names somebody.
    """
    from contextlib import closing

    from aftercare.cli import DONE, FOUND
    from aftercare.cli.bootstrap import open_recall_desk, open_register
    from aftercare.edges.register.copies import verify

    desk = open_recall_desk(home)
    with closing(open_register(home)) as register:
        found = Audited(
            states=register.count_by_state(),
            dropped=tuple(_dropped(register, desk)),
            late=tuple(_late(register, desk)),
            checked=verify(register),
        )
    _say(found, as_json=as_json)
    raise typer.Exit(DONE if found.sound else FOUND)


def _dropped(register: SqlRegister, desk: RecallDesk) -> Iterator[Dropped]:
    for one in register.audit():
        yield Dropped(ref=one.person, because=one.because, recall=one.recall)
    for condition in sorted(desk.months):
        named = condition.rpartition(":")[2]
        for ref in register.unrecalled(condition):
            yield Dropped(ref=ref, because=f"{named}, and no recall for it is open")


def _late(register: SqlRegister, desk: RecallDesk) -> Iterator[Dropped]:
    """Scheduled recalls past the day of a person's turn, of which nothing was heard since."""
    plan = desk.planner.plan
    slack = timedelta(days=plan.late_days + plan.gap_days)
    since = desk.today - slack
    sequences = plan.sequences.values()
    last = since - timedelta(days=min(steps[-1].days for steps in sequences))
    moment = datetime.combine(since, time(), UTC)
    for recall, person in register.unattended(last, moment):
        if recall.booked is not None:
            day = recall.booked.date()
            because = f"booked for {day}, and nobody has said whether the patient came"
        elif recall.news is not None and recall.news.moment is not None:
            day = recall.news.on
            because = f"its visit was {recall.news.moment} on {day}, and it waits on nobody by name"
        else:
            day = recall.due + timedelta(days=plan.sequence(recall.condition)[-1].days)
            because = f"due on {recall.due}; its reminders are over, and it waits on nobody by name"
        if day <= since:
            yield Dropped(ref=person.ref, because=because, recall=recall.id)


def _say(found: Audited, *, as_json: bool) -> None:
    from aftercare.cli import say_json

    if as_json:
        say_json(_row(found))
    else:
        print("\n".join(_screen(found)))


def _row(found: Audited) -> dict[str, Any]:
    return {
        "sound": found.sound,
        "recalls": {state.value: count for state, count in found.states.items()},
        "dropped": [_one(one) for one in found.dropped],
        "late": [_one(one) for one in found.late],
        "broken": [{"row": one.seq, "because": one.because} for one in found.checked.broken],
        "damage": list(found.checked.damage),
    }


def _one(one: Dropped) -> dict[str, Any]:
    return {"ref": one.ref, "recall": one.recall, "because": one.because}


def _screen(found: Audited) -> Iterator[str]:
    from aftercare.cli.recall.options import wrapped

    counts = ", ".join(f"{count:,} {state.value}" for state, count in found.states.items())
    yield wrapped(f"{sum(found.states.values()):,} recalls: {counts}", "")
    yield from _list("nobody follows", found.dropped)
    for broken in found.checked.broken:
        yield wrapped(f"! what happened, row {broken.seq}: {broken.because}", "  ")
    for damage in found.checked.damage:
        yield wrapped(f"! {damage}", "  ")
    yield from _list("to be handed over, to somebody by name", found.late)
    if found.sound:
        yield "Nobody is dropped, and what happened is whole."


def _list(title: str, those: tuple[Dropped, ...]) -> Iterator[str]:
    from aftercare.cli.recall.options import wrapped

    if not those:
        return
    yield f"{title}: {len(those):,}"
    for one in those[:_SHOWN]:
        yield wrapped(f"{one.ref}: {one.because}", "  ")
    if len(those) > _SHOWN:
        yield f"  and {len(those) - _SHOWN:,} more; --json lists all"

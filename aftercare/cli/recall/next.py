"""``aftercare recall next``: what happens next for one patient, when and why."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Annotated, Any

import typer

from aftercare.cli.recall.options import AsJson, Home

if TYPE_CHECKING:
    from aftercare.recall.next_up import Outlook
    from aftercare.recall.people import Person, Recall


def next_(
    ref: Annotated[str, typer.Argument(metavar="REF", help="The clinic's reference.")],
    as_json: AsJson = False,
    home: Home = None,
) -> None:
    """What happens next for one patient: every message with its day and reason, and then whose
    turn it is. What is left out says why; what is closed says its reason.
    """
    from contextlib import closing

    from aftercare.cli import say_json
    from aftercare.cli.bootstrap import open_recall_desk, open_register
    from aftercare.cli.recall.options import nobody
    from aftercare.recall.next_up import outlook

    desk = open_recall_desk(home)
    with closing(open_register(home)) as register:
        person = register.person(ref)
        if person is None:
            raise nobody(ref)
        reminders = register.reminders(ref)
        looks = [
            outlook(recall, person, reminders, desk.planner, desk.today)
            for recall in register.recalls(ref)
        ]
    if as_json:
        say_json(_row(person, looks))
    else:
        print("\n".join(_screen(person, looks)))


def _row(person: Person, looks: Sequence[Outlook]) -> dict[str, Any]:
    return {
        "ref": person.ref,
        "name": f"{person.first_name} {person.last_name}".strip(),
        "standing": person.standing.value,
        "reasons": list(person.reasons),
        "opted_out": [
            {"topic": topic, "channel": channel.value}
            for topic, channel in sorted(person.opted_out)
        ],
        "recalls": [_recall(one) for one in looks],
    }


def _recall(one: Outlook) -> dict[str, Any]:
    recall = one.recall
    return {
        "id": recall.id,
        "condition": recall.condition,
        "anchor": f"{recall.anchor}",
        "due": f"{recall.due}",
        "state": recall.state.value,
        "waiting_on": recall.waiting_on,
        "because": recall.because,
        "closed": recall.closed and f"{recall.closed}",
        "booked": recall.booked and recall.booked.isoformat(),
        "next": [
            {
                "day": f"{event.day}",
                "what": event.what,
                "by": list(event.by),
                "who": event.who,
                "why": event.why,
            }
            for event in one.events
        ],
        "left_out": [{"step": left.step, "because": left.because} for left in one.left_out],
    }


def _screen(person: Person, looks: Sequence[Outlook]) -> Iterator[str]:
    from aftercare.cli.recall.options import wrapped

    yield wrapped(f"{person.ref} {person.first_name} {person.last_name}", "")
    reasons = f": {', '.join(person.reasons)}" if person.reasons else ""
    yield wrapped(f"{_STANDING[person.standing.value]}{reasons}", "  ")
    for topic, channel in sorted(person.opted_out):
        yield wrapped(f"opted out: {topic} by {channel}", "  ")
    if not looks:
        yield "  no recall, open or closed"
    for one in looks:
        yield wrapped(_state(one.recall), "  ")
        for event in one.events:
            who = f"{event.who}, " if event.who else ""
            by = ", ".join(event.by) or "no means on record"
            yield wrapped(f"{event.day} {event.what}: {who}{by}", "    ")
            yield wrapped(event.why, "      ")
        for left in one.left_out if one.recall.closed is None else ():
            yield wrapped(f"left out: {left.step}: {left.because}", "    ")


_STANDING = {
    "ready": "may be contacted",
    "silent": "may not be contacted",
    "hold": "not to be contacted until a person decides",
}


def _state(recall: Recall) -> str:
    named = (recall.condition or "any condition").rpartition(":")[2]
    if recall.closed is not None:
        return f"{named}: closed on {recall.closed}: {recall.because}"
    state = f"waits on {recall.waiting_on}" if recall.waiting_on else recall.state.value
    because = f": {recall.because}" if recall.because else ""
    return f"{named}: due {recall.due}, {state}{because}"

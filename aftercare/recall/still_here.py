"""Taking back that somebody has died or moved away: said of the wrong one, or they came back."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date

from aftercare.recall.decide import (
    AGREED,
    DIED,
    MOVED,
    Act,
    Decided,
    Known,
    called_off,
    named,
    waiting,
)
from aftercare.recall.people import Person, Recall, RecallState, Standing, What

# How a reason begins, the register's own or that of a list.
_GONE = (DIED, MOVED, "deceased")


@dataclass(frozen=True, slots=True, kw_only=True)
class StillHere:
    """The patient is here after all, ``because`` of something; ``by`` is who says so."""

    because: str
    by: str
    today: date

    def decide(self, known: Known) -> Decided:
        """Whatever was closed by it waits on who says so; nothing is sent before they decide."""
        person = known.person
        left = tuple(one for one in person.reasons if not one.startswith(_GONE))
        if left == person.reasons:
            raise known.refused(
                "nobody has said that they died or moved away", "check whose reference it is"
            )
        after = replace(person, standing=_standing(left), reasons=left)
        swaps = tuple(self._taken_up(known))
        numbers = ",".join(f"{before.id}" for before, _ in swaps[:8])
        act = Act(
            what=What.CORRECTED,
            swaps=((person, after), *swaps),
            details=(("recalls", numbers),),
        )
        return Decided(ref=person.ref, acts=(act,), said=tuple(self._said(after, known, swaps)))

    def _taken_up(self, known: Known) -> Iterator[tuple[Recall, Recall]]:
        """The last recall of each condition, if it was closed by it and no other is open."""
        conditions = {one.condition for one in known.open}
        for one in sorted(known.recalls, key=lambda recall: recall.anchor, reverse=True):
            if one.condition in conditions:
                continue
            conditions.add(one.condition)
            if one.state is RecallState.CLOSED and (one.because or "").startswith(_GONE):
                anew = replace(
                    one, closed=None, booked=None, told=False, news=called_off(one, self.today)
                )
                yield one, waiting(anew, self.by, f"here after all: {self.because}")

    def _said(
        self, after: Person, known: Known, swaps: tuple[tuple[Recall, Recall], ...]
    ) -> Iterator[str]:
        why = f" ({', '.join(after.reasons)})" if after.reasons else ""
        yield f"here after all: {after.standing}{why}"
        for before, _ in swaps:
            yield (
                f"{named(before)}: open again, was due {before.due}; waits on {self.by}: "
                "'recall snooze --until' or 'recall book' goes on with it"
            )
            if before.booked is not None and before.booked.date() >= self.today:
                at = f"{before.booked:%Y-%m-%d %H:%M}"
                yield f"{named(before)}: the visit on {at} was given up: tell them, or book it anew"
        if not swaps and not known.open:
            yield "no recall was closed by it, and none is open"


def _standing(reasons: tuple[str, ...]) -> Standing:
    """What the other reasons leave: silence for want of consent, else a person looks first."""
    others = [one for one in reasons if not one.startswith(AGREED)]
    if any("consent" in one for one in others):
        return Standing.SILENT
    return Standing.HOLD if others else Standing.READY

"""How the recalls stand on a day: every recall and every patient counted once, in one place."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from itertools import groupby

from aftercare.recall.decide import CAME
from aftercare.recall.people import Recall, RecallState
from aftercare.recall.port import Course
from aftercare.recall.promise import limit
from aftercare.recall.risk import OTHER, RiskOrder


class Place(StrEnum):
    """Where a recall stands. The order of the members is how much a patient's is pressing."""

    OVER_52 = "over 52 weeks overdue"
    TO_52 = "26 to 52 weeks overdue"
    TO_26 = "13 to 26 weeks overdue"
    TO_13 = "4 to 13 weeks overdue"
    TO_4 = "due, or up to 4 weeks overdue"
    WAITING = "waiting on a person"
    BOOKED = "a visit is booked"
    LATER = "not due yet"
    CAME = "came"
    ENDED = "closed for another reason"
    NONE = "no recall"


DUE = (Place.OVER_52, Place.TO_52, Place.TO_26, Place.TO_13, Place.TO_4)
OPEN = (*DUE, Place.WAITING, Place.BOOKED, Place.LATER)
CLOSED = (Place.CAME, Place.ENDED)
# Weeks from which on a recall is in a band, the longest first.
_BANDS = ((52, Place.OVER_52), (26, Place.TO_52), (13, Place.TO_26), (4, Place.TO_13))


@dataclass(slots=True)
class Tally:
    """Recalls by place, and of the open ones those reached and those lost, by place.

    Lost is whoever is past the hard limit without a visit booked.
    """

    places: Counter[Place] = field(default_factory=Counter)
    reached: Counter[Place] = field(default_factory=Counter)
    lost: Counter[Place] = field(default_factory=Counter)

    @property
    def total(self) -> int:
        """All of them."""
        return self.places.total()

    def of(self, places: Iterable[Place]) -> int:
        """How many are in these places."""
        return sum(self.places[one] for one in places)

    def add(self, other: Tally) -> None:
        """Count another's in."""
        self.places.update(other.places)
        self.reached.update(other.reached)
        self.lost.update(other.lost)


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """How the recalls stand: patients each once, recalls each once, and these by condition."""

    on: date
    patients: Counter[Place]
    conditions: Mapping[str, Tally]

    @property
    def everything(self) -> Tally:
        """The conditions together."""
        whole = Tally()
        for one in self.conditions.values():
            whole.add(one)
        return whole


def report(courses: Iterable[Course], risks: RiskOrder, on: date) -> Report:
    """Count what the register holds; the courses of one patient must come together.

    A patient is where the most pressing of their open recalls is, else the last that was closed.
    """
    patients: Counter[Place] = Counter()
    conditions: dict[str, Tally] = {}
    for _, theirs in groupby(courses, key=lambda one: one.patient):
        recalls = []
        for course in theirs:
            if course.recall is not None:
                recalls.append(course.recall)
                _count(conditions, course.recall, course.reached, risks, on)
        patients[_of_patient(recalls, on)] += 1
    return Report(on=on, patients=patients, conditions=dict(sorted(conditions.items())))


def _count(
    conditions: dict[str, Tally], recall: Recall, reached: bool, risks: RiskOrder, on: date
) -> None:
    name = (recall.condition or OTHER).rpartition(":")[2]
    tally, place = conditions.setdefault(name, Tally()), place_of(recall, on)
    tally.places[place] += 1
    if place in CLOSED:
        return
    tally.reached[place] += reached
    tally.lost[place] += place is not Place.BOOKED and on > limit(recall, risks)


def place_of(recall: Recall, on: date) -> Place:
    """Where a recall stands on a day."""
    if recall.state is RecallState.CLOSED:
        return Place.CAME if came(recall) else Place.ENDED
    if recall.state is RecallState.WAITING:
        return Place.WAITING
    if recall.booked is not None:
        return Place.BOOKED
    late = (on - recall.due).days
    if late < 0:
        return Place.LATER
    return next((place for weeks, place in _BANDS if late > weeks * 7), Place.TO_4)


def came(recall: Recall) -> bool:
    """Whether a closed recall ended with a visit."""
    return (recall.because or "").partition(":")[0] == CAME


def _of_patient(recalls: Iterable[Recall], on: date) -> Place:
    everything = tuple(recalls)
    if not everything:
        return Place.NONE
    open_ = [place_of(one, on) for one in everything if one.state is not RecallState.CLOSED]
    if open_:
        return min(open_, key=OPEN.index)
    return place_of(max(everything, key=lambda one: one.closed or date.min), on)

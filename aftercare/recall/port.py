"""The register as the house sees it: what may be asked of it, and what may be changed in it.

Every change is stored together with what happened, or not at all.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import date, datetime
from typing import NamedTuple, Protocol

from aftercare.model import Fact
from aftercare.recall.people import (
    Deed,
    Happened,
    Person,
    Recall,
    RecallState,
    Reminder,
    ReminderState,
    Seen,
)

Swap = tuple[Person | None, Person] | tuple[Recall | None, Recall]


class IntakeRow(NamedTuple):
    """One row on its way in: a person, a visit of theirs, a recall of theirs, or some of these.

    Texts alone, so that a million go in quickly; a plain tuple in this order does as well.
    Dates are ISO 8601. ``address`` and ``reasons`` have a line each; ``agreed``, ``facts`` and
    ``conditions`` are sorted and parted by spaces; an empty list is "".

    The person is given when ``first_name`` is not None, once for each ``ref`` of an intake; else
    ``ref`` must be known by then. A visit is given when ``seen`` is not None; it is one with the
    same (ref, seen, case), and ``case`` may be "". A recall is given when ``anchor`` is not None;
    it is one with the same (ref, anchor, condition), and ``condition`` may be "".
    """

    ref: str
    first_name: str | None = None
    last_name: str | None = None
    born: str | None = None
    language: str | None = None
    mobile: str | None = None
    email: str | None = None
    address: str | None = None
    agreed: str | None = None
    facts: str | None = None
    household: str | None = None
    zone: str | None = None
    standing: str | None = None
    reasons: str | None = None
    # the visit
    case: str | None = None
    seen: str | None = None
    conditions: str | None = None
    side: str | None = None
    clinician: str | None = None
    # the recall
    condition: str | None = None
    anchor: str | None = None
    months: int | None = None
    weeks: int | None = None
    due: str | None = None
    state: str | None = None
    waiting_on: str | None = None
    because: str | None = None
    closed: str | None = None
    # the standing of somebody who is silent for want of consent alone, if they had given it
    otherwise: str | None = None


class OptOutRow(NamedTuple):
    """Somebody does not want to hear of ``topic`` by ``channel``."""

    person: str
    topic: str
    channel: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """What an intake changed: people new, changed, as they were; visits, recalls, opt-outs new.

    ``handed_over`` counts the recalls that now wait on a person, ``silenced`` the people who had a
    consent on record and have it no more.
    """

    new: int = 0
    changed: int = 0
    same: int = 0
    visits: int = 0
    recalls: int = 0
    opt_outs: int = 0
    handed_over: int = 0
    silenced: int = 0

    @property
    def nothing(self) -> bool:
        """Whether the register is as it was."""
        return self == Taken(same=self.same)


class Intake(Protocol):
    """Rows on their way in, all in one transaction.

    A person the register has is brought up to date; visits and recalls it has are left as they
    are, since somebody may have worked on them. A scheduled recall of somebody who may not be
    contacted, or no longer, waits from then on whoever takes the rows in.
    """

    def rows(self, rows: Sequence[IntakeRow]) -> None:
        """Take rows in. Some ten thousand at a time are quickest."""
        ...

    def parcel(self, packed: bytes) -> None:
        """Take in what another process packed (`edges.register.parcel.pack`)."""
        ...

    def opt_outs(self, rows: Sequence[OptOutRow]) -> None:
        """Add opt-outs of people who are in; none is ever taken back by an intake."""
        ...

    def taken(self) -> Taken:
        """What changed so far."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Claimed:
    """One reminder a worker holds for a while, with everything its words need.

    ``number`` is the register's own, 0 for one it has not.
    """

    reminder: Reminder
    recall: Recall
    person: Person
    number: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """What became of a claimed reminder: PREPARED with a digest, or SKIPPED with a reason.

    ``at`` is the moment it counts for, None for that of the deed: what is written in the evening
    for the morning is the household's message of the day it is for.
    """

    key: str
    state: ReminderState
    because: str | None = None
    digest: str | None = None
    at: datetime | None = None


class Part(NamedTuple):
    """A part of a register, from 0, of so many: some of its households, each whole in one part.

    Somebody without a household is one alone.
    """

    number: int = 0
    of: int = 1


WHOLE = Part()


class InBatch(NamedTuple):
    """A batch of files, by its own name and that of the run it is of."""

    run: str
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Underway:
    """A run that writes reminders, or was stopped while it did; of one in parts, one part.

    ``outbox`` names its folder, wherever that is now; ``folder`` and ``host`` are where it was.
    ``until`` is when what it holds is anybody's. ``batch`` was settled last: only the folder can
    tell how much of it is in place.
    """

    outbox: str
    folder: str
    host: str
    until: datetime
    batch: str | None = None
    part: int = 0

    @property
    def name(self) -> str:
        """What the register knows it by, whichever run it is of that folder."""
        return f"{self.outbox}/{self.part}" if self.part else self.outbox

    @property
    def worker(self) -> str:
        """The name it claims by."""
        return f"recall-write-{self.name}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Loose:
    """An open recall that nobody would follow, and why. ``person`` is the clinic's reference."""

    recall: int
    person: str
    because: str


class Course(NamedTuple):
    """One recall, or somebody who has none. ``patient`` is the register's own number.

    The recall does not say whose it is. ``reached`` says whether a message about it was written,
    or the patient told or booked.
    """

    patient: int
    recall: Recall | None
    reached: bool


class Register(Protocol):
    """Patients, visits, recalls, preferences, reminders, and what happened."""

    # --- reading ------------------------------------------------------------------------

    def person(self, ref: str) -> Person | None:
        """Who has this reference."""
        ...

    def people(self, refs: Iterable[str] | None = None) -> Iterator[Person]:
        """Those with these references, or everybody, by reference; streamed."""
        ...

    def standings(self) -> Iterator[tuple[str, str, str, date | None, str]]:
        """Everybody's reference, names, birth and standing, in no order; streamed."""
        ...

    def visits(self, ref: str) -> tuple[Seen, ...]:
        """The visits of one person, the oldest first."""
        ...

    def recalls(self, ref: str) -> tuple[Recall, ...]:
        """The recalls of one person, open and closed, the oldest anchor first."""
        ...

    def reminders(self, ref: str) -> tuple[Reminder, ...]:
        """The reminders of one person, by day."""
        ...

    def history(self, ref: str) -> tuple[Happened, ...]:
        """What happened to one person, the oldest first."""
        ...

    def due(self, first: date | None, last: date) -> Iterator[tuple[Recall, Person]]:
        """Scheduled recalls due from ``first`` (or ever) to ``last``, by day; streamed."""
        ...

    def open_due(self, first: date | None, last: date) -> Iterator[tuple[Recall, Person]]:
        """Open recalls, waiting ones too, due from ``first`` (or ever) to ``last``; streamed."""
        ...

    def count_open_before(self, day: date) -> int:
        """How many open recalls were due before a day."""
        ...

    def open_recalls(self) -> Iterator[tuple[Recall, Person]]:
        """Every recall that is not closed, by day due; streamed."""
        ...

    def all_recalls(self, *, part: Part = WHOLE) -> Iterator[tuple[Recall, Person]]:
        """Every recall of a part, closed ones too, by number; streamed."""
        ...

    def all_reminders(self, *, part: Part = WHOLE) -> Iterator[Reminder]:
        """Every reminder of a part, by recall and day; streamed."""
        ...

    def written_to(self, first: datetime, last: datetime, *, part: Part = WHOLE) -> Iterator[str]:
        """The household of each reminder prepared from ``first`` up to ``last``; streamed.

        Somebody without a household stands for themselves, by reference.
        """
        ...

    def digests(self, keys: Iterable[str], batch: str) -> dict[str, str]:
        """The digest of each of these reminders that was prepared in a batch, by key."""
        ...

    def audit(self) -> Iterator[Loose]:
        """Open recalls that are not followed by anybody; nothing when nobody is lost."""
        ...

    def unrecalled(self, condition: Fact) -> Iterator[str]:
        """Those who may be contacted, come back for a condition, and have no recall for it.

        One that is open counts, and one that was closed with another reason than a visit since
        the condition was last seen.
        """
        ...

    def unattended(self, last: date, since: datetime) -> Iterator[tuple[Recall, Person]]:
        """Scheduled recalls due by ``last``, or booked, called off or missed before ``since``, of
        which no reminder is planned, and none was prepared or skipped since; by day, streamed.
        """
        ...

    def courses(self) -> Iterator[Course]:
        """Every recall of everybody, somebody's together, and who has none; streamed.

        Whoever was forgotten is left out.
        """
        ...

    def count_by_state(self) -> dict[RecallState, int]:
        """How many recalls are in each state."""
        ...

    # --- writing ------------------------------------------------------------------------

    def intake(self, deed: Deed) -> AbstractContextManager[Intake]:
        """Take many rows in: all of them when the block ends well, else none.

        ``deed`` is kept with the counts when anything changed, and not otherwise.
        """
        ...

    def change(self, deed: Deed, *swaps: Swap) -> None:
        """Put each second value in the place of the first (None: it is new), all or none.

        Raises ``BadInput`` when somebody changed one of the first values meanwhile.
        """
        ...

    def change_all(self, changes: Iterable[tuple[Deed, Sequence[Swap]]]) -> None:
        """As `change`, each deed with its own swaps, all in one transaction or none."""
        ...

    def plan(self, reminders: Iterable[Reminder], deed: Deed) -> int:
        """Keep reminders to be written; those whose key is known already are left. How many new."""
        ...

    def claim(
        self, day: date, *, worker: str, now: datetime, until: datetime, limit: int,
        after: Claimed | None = None, part: Part = WHOLE,
    ) -> tuple[Claimed, ...]:  # fmt: skip
        """Planned reminders for ``day`` or earlier that nobody else holds, held to ``until``.

        They come by day; ``after`` is the last that was claimed before, so that none is looked
        at twice. Only those of a part are looked at.
        """
        ...

    def release(self, worker: str) -> int:
        """Let go of whatever a worker still holds, as one that was killed does. How many."""
        ...

    def settle(
        self, settled: Iterable[Settled], deed: Deed, *, batch: InBatch | None = None
    ) -> int:
        """Say what became of planned reminders, once. How many were not settled before.

        ``batch`` is where the files of those prepared wait to be put in place. The patient is
        told of a visit, as the recall says, when a message about it as it is was prepared.
        """
        ...

    def hand_over(self, swaps: Iterable[tuple[Recall, Recall]], deed: Deed) -> int:
        """Put recalls on somebody by name, each with its own word in the chain.

        Unlike `change`, one that somebody changed meanwhile is left as it is. How many were put.
        """
        ...

    def underway(self) -> tuple[Underway, ...]:
        """The runs that write, or were stopped while they did."""
        ...

    def set_out(self, run: Underway) -> None:
        """Say where a run writes to, before it claims anything."""
        ...

    def arrived(self, run: Underway) -> None:
        """A run has ended, and all it settled is in place; what it held is let go of."""
        ...

    def given_up(self, run: Underway) -> None:
        """A run's folder is lost: its last batch is never put in place, and it holds nothing."""
        ...

    def prepared_in(self, batch: str) -> tuple[tuple[Reminder, Person], ...]:
        """What was settled with a batch, with whose it is."""
        ...

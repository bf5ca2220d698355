"""The register as the house sees it: what may be asked of it, and what may be changed in it.

Every change is stored together with what happened, or not at all.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import date, datetime
from typing import NamedTuple, Protocol

from aftercare.recall.people import (
    Deed,
    Happened,
    Person,
    Recall,
    Reminder,
    ReminderState,
    Seen,
)

Swap = tuple[Person | None, Person] | tuple[Recall | None, Recall]


class PersonRow(NamedTuple):
    """A `Person` as the register stores it: texts alone, so that a million go in quickly.

    Plain tuples in this order are welcome too. Dates are ISO 8601; ``address`` and ``reasons``
    have a line each, ``agreed`` and ``facts`` are sorted and parted by spaces; nothing known is
    None for the optional ones and "" for the lists. Opt-outs go through `Intake.opt_outs`.
    """

    ref: str
    first_name: str
    last_name: str
    born: str | None
    language: str
    mobile: str | None
    email: str | None
    address: str
    agreed: str
    facts: str
    household: str | None
    zone: str | None
    standing: str
    reasons: str


class SeenRow(NamedTuple):
    """A `Seen` as it is stored; ``conditions`` sorted and parted by spaces.

    One visit is one (person, on, case); ``case`` may be "".
    """

    person: str
    case: str
    on: str
    conditions: str
    side: str | None
    clinician: str | None


class RecallRow(NamedTuple):
    """A `Recall` as it is stored. One recall is one (person, condition, anchor).

    ``condition`` is "" for none. A recall the register has is left as it is, since somebody may
    have worked on it.
    """

    person: str
    condition: str
    anchor: str
    months: int
    weeks: int
    due: str
    state: str
    waiting_on: str | None
    because: str | None
    closed: str | None


class OptOutRow(NamedTuple):
    """Somebody does not want to hear of ``topic`` by ``channel``."""

    person: str
    topic: str
    channel: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """What an intake changed: people new, changed, as they were; visits, recalls, opt-outs new."""

    new: int = 0
    changed: int = 0
    same: int = 0
    visits: int = 0
    recalls: int = 0
    opt_outs: int = 0


class Intake(Protocol):
    """Rows on their way in, all in one transaction. People go in before what is theirs.

    In one call a reference stands once; a later call wins over an earlier one.
    """

    def people(self, rows: Sequence[PersonRow]) -> None:
        """Add people, or bring those with the same ``ref`` up to date."""
        ...

    def visits(self, rows: Sequence[SeenRow]) -> None:
        """Add visits the register does not have."""
        ...

    def recalls(self, rows: Sequence[RecallRow]) -> None:
        """Add recalls the register does not have."""
        ...

    def opt_outs(self, rows: Sequence[OptOutRow]) -> None:
        """Add opt-outs; none is ever taken back by an import."""
        ...

    def taken(self) -> Taken:
        """What changed so far."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Claimed:
    """One reminder a worker holds for a while, with everything its words need."""

    reminder: Reminder
    recall: Recall
    person: Person


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """What became of a claimed reminder: PREPARED with a digest, or SKIPPED with a reason."""

    key: str
    state: ReminderState
    because: str | None = None
    digest: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Loose:
    """An open recall that nobody would follow, and why. ``person`` is the clinic's reference."""

    recall: int
    person: str
    because: str


class Register(Protocol):
    """Patients, visits, recalls, preferences, reminders, and what happened."""

    # --- reading ------------------------------------------------------------------------

    def person(self, ref: str) -> Person | None:
        """Who has this reference."""
        ...

    def people(self, refs: Iterable[str] | None = None) -> Iterator[Person]:
        """Those with these references, or everybody, by reference; streamed."""
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

    def open_recalls(self) -> Iterator[tuple[Recall, Person]]:
        """Every recall that is not closed, by day due; streamed."""
        ...

    def all_recalls(self) -> Iterator[tuple[Recall, Person]]:
        """Every recall, closed ones too, by number; streamed."""
        ...

    def all_reminders(self) -> Iterator[Reminder]:
        """Every reminder, by recall and day; streamed."""
        ...

    def audit(self) -> Iterator[Loose]:
        """Open recalls that are not followed by anybody; nothing when nobody is lost."""
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

    def plan(self, reminders: Iterable[Reminder], deed: Deed) -> int:
        """Keep reminders to be written; those whose key is known already are left. How many new."""
        ...

    def claim(
        self, day: date, *, worker: str, now: datetime, until: datetime, limit: int
    ) -> tuple[Claimed, ...]:
        """Planned reminders for ``day`` or earlier that nobody else holds, held to ``until``."""
        ...

    def settle(self, settled: Iterable[Settled], deed: Deed) -> int:
        """Say what became of planned reminders, once. How many were not settled before."""
        ...

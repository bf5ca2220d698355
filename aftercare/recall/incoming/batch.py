"""Rows that were judged: what goes into the register, and what there is to say of each."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from aftercare.recall.incoming.trouble import Note
from aftercare.recall.people import Standing
from aftercare.recall.port import IntakeRow

SHARES = Note(Standing.READY, "mobile: the same as in another row")
_KEPT = Note(Standing.SILENT, "the register keeps them silent")
_WORST = {Standing.READY: 0, Standing.HOLD: 1, Standing.SILENT: 2}
_FIELDS = (
    "first_name", "last_name", "born", "language", "mobile", "email", "address", "agreed",
    "seen", "case", "conditions", "side", "clinician", "condition", "months", "weeks", "due",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Judged:
    """One row and what became of it; ``ref`` is None when it can be nobody's."""

    row: int
    ref: str | None
    outcome: Standing
    reasons: tuple[str, ...]
    fields: dict[str, Any]


@dataclass(frozen=True, slots=True)
class Batch:
    """Rows that go in, and what there is to say about rows, by place in the batch.

    ``outside`` are rows that cannot go in at all; of these, ``blank`` hold nothing or are the
    header again. ``shares`` are rows whose mobile others have too: so many in some lists that a
    note for each would take longer than all the rest. ``kept`` are rows of people whom the
    register keeps silent whatever a list says, with reasons of its own. ``columns`` are those of
    an ``IntakeRow``.
    """

    first: int
    columns: Sequence[Sequence[Any]]
    notes: dict[int, list[Note]]
    outside: frozenset[int]
    blank: frozenset[int]
    shares: frozenset[int]
    kept: frozenset[int]
    count: int

    def taken_in(self) -> Sequence[Sequence[Any]]:
        """The columns of the rows that go in."""
        if not self.outside:
            return self.columns
        kept = [n for n in range(self.count) if n not in self.outside]
        return [[column[n] for n in kept] for column in self.columns]

    def outcome(self, place: int) -> Standing:
        """The outcome of a row."""
        own = outcome_of(self.notes.get(place, ()))
        return Standing.SILENT if place in self.kept else own

    def notes_of(self, place: int) -> list[Note]:
        """All there is to say about a row."""
        shares = [SHARES] if place in self.shares else []
        own = self.notes.get(place, [])
        kept = place in self.kept and outcome_of(own) is not Standing.SILENT
        return [*own, *shares, *([_KEPT] if kept else [])]

    def judged(self) -> Iterator[Judged]:
        """Every row with its outcome."""
        names = IntakeRow._fields
        for n, row in enumerate(zip(*self.columns, strict=True)):
            if n in self.blank:
                continue
            said = dict(zip(names, row, strict=True))
            notes = self.notes_of(n)
            yield Judged(
                self.first + n,
                said["ref"] or None,
                outcome_of(notes),
                tuple(dict.fromkeys(note.said for note in notes)),
                {name: _shown(name, said[name]) for name in _FIELDS},
            )


def outcome_of(notes: Iterable[Note]) -> Standing:
    """What becomes of a row by the worst there is to say of it."""
    return max((note.standing for note in notes), key=_WORST.__getitem__, default=Standing.READY)


def _shown(name: str, value: Any) -> Any:
    if name in ("agreed", "conditions"):
        return (value or "").split()
    return value if value != "" else None

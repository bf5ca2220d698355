"""Lists to judged rows: once through for what comes twice, once more to judge and pack."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from itertools import accumulate
from typing import TYPE_CHECKING

from aftercare.edges.incoming.crew import crew
from aftercare.edges.incoming.source import Block, Source
from aftercare.edges.incoming.spool import KeySpool
from aftercare.edges.register.parcel import pack_columns
from aftercare.errors import BadInput
from aftercare.recall.incoming.batch import SHARES, Batch, Judged
from aftercare.recall.incoming.judge import KEYED, Judge
from aftercare.recall.incoming.layout import Layout, lay_out
from aftercare.recall.incoming.plan import ImportPlan
from aftercare.recall.incoming.repeats import Repeats, find_repeats, keys_of_standings
from aftercare.recall.incoming.trouble import kind_of
from aftercare.recall.people import Standing

if TYPE_CHECKING:
    from aftercare.recall.incoming.repeats import Keys

SHOWN = 20  # rows named for each reason


@dataclass
class Found:
    """What there is to say of many rows: how many of each outcome, and each reason with rows."""

    outcomes: Counter[Standing] = field(default_factory=Counter)
    reasons: dict[tuple[Standing, str], tuple[int, list[str]]] = field(default_factory=dict)
    outside: list[str] = field(default_factory=list)

    def add(self, other: Found) -> None:
        """The rows of another as well."""
        self.outcomes.update(other.outcomes)
        for reason, (count, rows) in other.reasons.items():
            so_far, known = self.reasons.get(reason, (0, []))
            self.reasons[reason] = (so_far + count, (known + rows)[:SHOWN])
        self.outside.extend(other.outside[: SHOWN - len(self.outside)])


@dataclass(frozen=True, slots=True)
class Answer:
    """One part of a list: rows packed for the register, as JSON if wanted, and what to say."""

    parcel: bytes | None
    lines: bytes
    found: Found


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a list, its number, and that of its first row in all lists together."""

    source: int
    block: Block
    number: int
    first: int


@dataclass(frozen=True, slots=True)
class Registered:
    """Everybody the register has, by key, and the keys of references it keeps silent."""

    people: KeySpool
    silent: Keys


def registered(standings: Iterable[tuple[str, str, str, date | None, str]]) -> Registered:
    """The keys of everybody there is."""
    import numpy as np

    people, silent = KeySpool(), [np.empty(0, np.int64)]
    for keys, kept in keys_of_standings(standings):
        people.add(keys)
        silent.append(kept)
    return Registered(people, np.concatenate(silent))


class Lists:
    """Several lists read as one. ``packed`` and ``told`` say what is made of each part."""

    def __init__(
        self,
        sources: Sequence[Source],
        plan: ImportPlan,
        known: Registered,
        *,
        hands: int,
        packed: bool,
        told: bool,
    ) -> None:
        self._sources, self._plan, self._hands = sources, plan, hands
        self._packed, self._told = packed, told
        self.layouts = [lay_out(one.place, one.headers, plan) for one in sources]
        self._keyed = KeySpool()
        self._parts, count = self._first_look()
        repeats = find_repeats(self._keyed.chunks, known.people.chunks, known.silent, count)
        self._judges = [self._judge(layout, repeats) for layout in self.layouts]

    @contextmanager
    def answers(self) -> Iterator[Iterator[Answer]]:
        """What became of each part, in order. The processes are there before it is entered."""
        with crew(self._answer, self._hands) as each:
            yield each(self._parts)

    def _judge(self, layout: Layout, repeats: Repeats) -> Judge:
        return Judge(self._plan, layout, repeats, self._name)

    def _first_look(self) -> tuple[list[Part], int]:
        """The parts with their first rows, and how many rows there are; their keys are kept."""
        self._judges = [self._judge(layout, Repeats()) for layout in self.layouts]
        blocks = [(n, one) for n, source in enumerate(self._sources) for one in source.blocks()]
        counts = list[int]()
        with crew(self._keys, self._hands) as each:
            for keys in each(blocks):
                counts.append(keys.shape[1])
                self._keyed.add(keys)
        firsts = [0, *accumulate(counts)]
        self._bases = self._starts(blocks, firsts)
        for n, source in enumerate(self._sources):
            if not sum(c for (m, _), c in zip(blocks, counts, strict=True) if m == n):
                raise BadInput(source.place, "nobody in it", "write a row for each person")
        parts = zip(blocks, firsts, strict=False)
        return [
            Part(n, block, number, first) for number, ((n, block), first) in enumerate(parts)
        ], firsts[-1]

    def _starts(self, blocks: Sequence[tuple[int, Block]], firsts: Sequence[int]) -> list[int]:
        starts = [0] * len(self._sources)
        for (n, _), first in reversed(list(zip(blocks, firsts, strict=False))):
            starts[n] = first
        return starts

    def _keys(self, at: tuple[int, Block]) -> Keys:
        number, block = at
        layout = self.layouts[number].at
        places = {place for field in KEYED for place in layout.get(field, ())}
        return self._judges[number].keys(self._sources[number].some_cells(block, places))

    def _answer(self, part: Part) -> Answer:
        cells = self._sources[part.source].cells(part.block)
        keys = self._keyed.chunk(part.number)
        batch = self._judges[part.source].batch(part.first, cells, keys)
        parcel = pack_columns(batch.taken_in()) if self._packed else None
        lines = self._lines(part, batch) if self._told else b""
        return Answer(parcel, lines, self._say(batch))

    # --- rows by the names people know them by ----------------------------------------

    def _row(self, ordinal: int) -> tuple[int, int]:
        """The list a row is in, and its number there."""
        n = max(n for n, base in enumerate(self._bases) if base <= ordinal)
        return n, ordinal - self._bases[n] + self._sources[n].first_row

    def _name(self, ordinal: int) -> str:
        n, row = self._row(ordinal)
        return f"{row}" if len(self._sources) == 1 else f"{row} of {self._sources[n].place}"

    def _lines(self, part: Part, batch: Batch) -> bytes:
        told = [self._object(part.source, one) for one in batch.judged()]
        return "".join(json.dumps(one) + "\n" for one in told).encode()

    def _object(self, source: int, one: Judged) -> dict[str, object]:
        named = {"file": self._sources[source].place} if len(self._sources) > 1 else {}
        return {
            **named,
            "row": self._row(one.row)[1],
            "ref": one.ref,
            "outcome": one.outcome.value,
            "reasons": list(one.reasons),
            "fields": one.fields,
        }

    def _say(self, batch: Batch) -> Found:
        found = Found()
        ready = batch.count - len(batch.blank)
        for n in sorted({*batch.notes, *batch.kept}):
            if n in batch.blank:
                continue
            notes = [note for note in batch.notes_of(n) if note is not SHARES]
            outcome = batch.outcome(n)
            if outcome is not Standing.READY:
                found.outcomes[outcome] += 1
                ready -= 1
            for note in {(note.standing, kind_of(note.said)) for note in notes}:
                count, rows = found.reasons.get(note, (0, []))
                shown = [*rows, self._name(batch.first + n)] if len(rows) < SHOWN else rows
                found.reasons[note] = (count + 1, shown)
        if batch.shares:
            few = [self._name(batch.first + n) for n in sorted(batch.shares)[:SHOWN]]
            found.reasons[SHARES.standing, SHARES.said] = (len(batch.shares), few)
        found.outcomes[Standing.READY] += ready
        out = sorted(batch.outside - batch.blank)[:SHOWN]
        found.outside = [self._name(batch.first + n) for n in out]
        return found


Progress = Callable[[Answer], None]

"""Orders become files, on record and in place."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date, datetime
from pathlib import Path
from typing import NamedTuple

from aftercare.edges.outbox_files import Outbox, name_of, write_batch
from aftercare.edges.records import RecordFile
from aftercare.edges.register.register import SqlRegister
from aftercare.model import Channel, Message, Record, Status
from aftercare.recall.people import Deed, ReminderState, What
from aftercare.recall.port import InBatch, Settled, Underway
from aftercare.reminding import Forms, Order, record

BY = "recall-write"


class Made(NamedTuple):
    """What became of one order: whether its file is in place, and what is worth a person's look."""

    key: str
    channel: Channel
    placed: bool
    because: tuple[str, ...]
    findings: tuple[str, ...]


class Maker:
    """Makes batches of orders for ``run``, for the day ``on``; ``moment`` gives the moment."""

    def __init__(
        self, writer: Forms, register: SqlRegister, outbox: Outbox, run: Underway, on: date,
        moment: Callable[[], datetime],
    ) -> None:  # fmt: skip
        self._writer, self._register, self._outbox = writer, register, outbox
        self._run, self._on, self._moment = run, on, moment
        self._store = RecordFile(outbox.folder / "record.jsonl")

    def make(self, orders: tuple[Order, ...]) -> list[Made]:
        """Write orders aside, put them on record, in the register and in place, in this order."""
        at, folder = self._moment().isoformat(), self._outbox.batch()
        written = [(order, self._writer.write(order)) for order in orders]
        records = [record(order, one, self._writer.library, at) for order, one in written]
        write_batch(folder, _files(written))
        self._store.add(records)
        settled = [
            _settled(order, one) for order, one in zip(orders, records, strict=True)
            if one.digest is not None
        ]  # fmt: skip
        placed = self._settle(settled, folder)
        self._outbox.place(folder, placed)
        return [
            Made(order.key, one.channel, order.key in placed, one.withheld_because, one.findings)
            for order, one in written
        ]

    def _settle(self, settled: list[Settled], folder: Path) -> set[str]:
        """The keys of those the register has from us now."""
        details = (("on", str(self._on)),)
        deed = Deed(what=What.PREPARED, by=BY, at=self._moment(), details=details)
        within = InBatch(self._run.name, folder.name)
        keys = {one.key for one in settled}
        if self._register.settle(settled, deed, batch=within) == len(settled):
            return keys
        # Somebody else settled one meanwhile: only what the register has from us is ours.
        known = self._register.digests(keys, folder.name)
        return {one.key for one in settled if known.get(one.key) == one.digest}


def _files(written: list[tuple[Order, Message]]) -> Iterator[tuple[str, bytes]]:
    for order, message in written:
        if message.status is Status.RELEASED and message.body is not None:
            yield name_of(order.key, order.channel), message.body


def _settled(order: Order, one: Record) -> Settled:
    return Settled(
        key=order.key, state=ReminderState.PREPARED, digest=one.digest, at=order.not_before
    )

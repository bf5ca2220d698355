"""Orders become files, on record and in place: in this process, or in one beside it.

A second process alone: to claim and to judge takes this one about as long as all the rest does.
"""

from __future__ import annotations

import multiprocessing
import os
import threading
from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from multiprocessing import reduction
from multiprocessing.connection import wait
from pathlib import Path
from typing import Any, NamedTuple, Protocol

from aftercare.cli.bootstrap import moment, open_house, open_register
from aftercare.edges.outbox_files import Outbox, name_of, write_batch
from aftercare.edges.records import RecordFile
from aftercare.edges.register.register import SqlRegister
from aftercare.errors import OutOfReach
from aftercare.model import Channel, Message, Purpose, Record, Status
from aftercare.recall.people import Deed, ReminderState, What
from aftercare.recall.port import InBatch, Settled
from aftercare.reminding import Forms, Order, Reminding, record

BY = "recall-write"
# How many batches wait for the process beside at most.
_ROOM = 2


class Made(NamedTuple):
    """What became of one order: whether its file is in place, and what is worth a person's look."""

    key: str
    channel: Channel
    placed: bool
    because: tuple[str, ...]
    findings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Batch:
    """Orders on their way, and the folder aside that their files go to."""

    orders: tuple[Order, ...]
    folder: Path


class Maker:
    """Makes batches for the day ``on``. ``moment`` gives the moment in UTC."""

    def __init__(
        self, writer: Forms, register: SqlRegister, outbox: Outbox, on: date,
        moment: Callable[[], datetime],
    ) -> None:  # fmt: skip
        self._writer, self._register, self._outbox = writer, register, outbox
        self._on, self._moment = on, moment
        self._store = RecordFile(outbox.folder / "record.jsonl")

    def make(self, batch: Batch) -> list[Made]:
        """Write a batch aside, put it on record, in the register and in place, in this order."""
        at = self._moment().isoformat()
        written = [(order, self._writer.write(order)) for order in batch.orders]
        records = [record(order, one, self._writer.library, at) for order, one in written]
        write_batch(batch.folder, _files(written))
        self._store.add(records)
        settled = [
            _settled(order, one) for order, one in zip(batch.orders, records, strict=True)
            if one.digest is not None
        ]  # fmt: skip
        placed = self._settle(settled, batch.folder.name)
        self._outbox.place(batch.folder, placed)
        return [
            Made(order.key, one.channel, order.key in placed, one.withheld_because, one.findings)
            for order, one in written
        ]

    def _settle(self, settled: list[Settled], name: str) -> set[str]:
        """The keys of those the register has from us now."""
        details = (("on", str(self._on)),)
        deed = Deed(what=What.PREPARED, by=BY, at=self._moment(), details=details)
        within = InBatch(self._outbox.name, name)
        keys = {one.key for one in settled}
        if self._register.settle(settled, deed, batch=within) == len(settled):
            return keys
        # Somebody else settled one meanwhile: only what the register has from us is ours.
        known = self._register.digests(keys, name)
        return {one.key for one in settled if known.get(one.key) == one.digest}


def _files(written: list[tuple[Order, Message]]) -> Iterator[tuple[str, bytes]]:
    for order, message in written:
        if message.status is Status.RELEASED and message.body is not None:
            yield name_of(order.key, order.channel), message.body


def _settled(order: Order, one: Record) -> Settled:
    return Settled(
        key=order.key, state=ReminderState.PREPARED, digest=one.digest, at=order.not_before
    )


class Makers(Protocol):
    """Takes batches and gives them back in order, made."""

    def submit(self, batch: Batch) -> Iterator[list[Made]]:
        """Take a batch on, and give back those that are ready and must make room."""
        ...

    def rest(self) -> Iterator[list[Made]]:
        """Those that are still on their way."""
        ...


class Here:
    """Makes each batch in this process, at once."""

    def __init__(self, maker: Maker) -> None:
        self._maker = maker

    def submit(self, batch: Batch) -> Iterator[list[Made]]:
        """The batch itself, made."""
        yield self._maker.make(batch)

    def rest(self) -> Iterator[list[Made]]:
        """Nothing is ever on its way."""
        return iter(())


class Beside:
    """Makes batches in a process of its own; some wait for it at most."""

    def __init__(self, pool: ProcessPoolExecutor) -> None:
        self._pool = pool
        self._waiting: deque[Future[list[Made]]] = deque()

    def submit(self, batch: Batch) -> Iterator[list[Made]]:
        """Those whose place the batch takes."""
        self._waiting.append(self._pool.submit(_make, batch))
        while len(self._waiting) > _ROOM:
            yield self._waiting.popleft().result()

    def rest(self) -> Iterator[list[Made]]:
        """Wait for what is on its way."""
        while self._waiting:
            yield self._waiting.popleft().result()


@contextmanager
def beside(home: str | None, outbox: Outbox, on: date) -> Iterator[Beside]:
    """A maker in another process, which reads the clinic's folder for itself.

    It holds the outbox too: should this process be killed, no other run begins before that one
    has ended as well.
    """
    spawn = multiprocessing.get_context("spawn")
    given = (home, outbox.folder, outbox.name, _Shared(outbox.lock), on)
    with ProcessPoolExecutor(1, spawn, initializer=_start, initargs=given) as pool:
        try:
            yield Beside(pool)
        except BrokenProcessPool:
            raise OutOfReach(
                "recall write", "a process that wrote messages was ended from outside",
                "see that memory is enough and run it again: it goes on from here, nothing is lost",
            ) from None  # fmt: skip
        except BaseException:
            pool.shutdown(cancel_futures=True)
            raise


def cores() -> int:
    """How many processes can work at once here."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


# --- in a process beside ------------------------------------------------------------------------

_maker: Maker | None = None


class _Shared:
    """An open file on its way to a process that is started, where it arrives as its number."""

    def __init__(self, descriptor: int) -> None:
        self._descriptor = descriptor

    def __reduce__(self) -> tuple[Any, ...]:
        return _taken, (reduction.DupFd(self._descriptor),)


def _taken(passed: Any) -> int:
    return int(passed.detach())


def _start(home: str | None, folder: Path, name: str, lock: Any, on: date) -> None:
    global _maker
    threading.Thread(target=_end_with_parent, daemon=True).start()
    outbox, house = Outbox(folder, name, lock), open_house(home)
    writer = Forms(Reminding(house.library, house.press, Purpose.PATIENT))
    _maker = Maker(writer, open_register(home), outbox, on, moment)


def _end_with_parent() -> None:
    """End when the run does, however: an executor's process would wait for ever."""
    parent = multiprocessing.parent_process()
    assert parent is not None  # noqa: S101 - `beside` started this one
    wait([parent.sentinel])
    os._exit(1)


def _make(batch: Batch) -> list[Made]:
    assert _maker is not None  # noqa: S101 - `_start` ran
    return _maker.make(batch)

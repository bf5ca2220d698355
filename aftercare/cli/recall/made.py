"""Orders become files: in this process, or in one beside it for each core."""

from __future__ import annotations

import multiprocessing
import os
import threading
from collections import deque
from collections.abc import Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass
from multiprocessing.connection import wait
from pathlib import Path
from typing import Protocol

from aftercare.cli.bootstrap import open_house
from aftercare.edges.outbox_files import name_of, write_batch
from aftercare.errors import OutOfReach
from aftercare.model import Purpose, Record, Status
from aftercare.reminding import Forms, Order, Reminding, record


@dataclass(frozen=True, slots=True)
class Made:
    """What became of one order: its record, and what is worth a person's look."""

    record: Record
    findings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Batch:
    """Orders on their way, and the folder aside that their files go to."""

    orders: tuple[Order, ...]
    folder: Path


Done = tuple[Batch, list[Made]]


def make(writer: Forms, batch: Batch, at: str) -> list[Made]:
    """Write the messages of a batch aside, flushed."""
    files: list[tuple[str, bytes]] = []
    made: list[Made] = []
    for order in batch.orders:
        message = writer.write(order)
        if message.status is Status.RELEASED and message.body is not None:
            files.append((name_of(order.key, order.channel), message.body))
        made.append(Made(record(order, message, writer.library, at), message.findings))
    write_batch(batch.folder, files)
    return made


class Makers(Protocol):
    """Takes batches and gives them back in order, made."""

    def submit(self, batch: Batch, at: str) -> Iterator[Done]:
        """Take a batch on, and give back those that are ready and must make room."""
        ...

    def rest(self) -> Iterator[Done]:
        """Those that are still on their way."""
        ...


class Here:
    """Makes each batch in this process, at once."""

    def __init__(self, writer: Forms) -> None:
        self._writer = writer

    def submit(self, batch: Batch, at: str) -> Iterator[Done]:
        """The batch itself, made."""
        yield batch, make(self._writer, batch, at)

    def rest(self) -> Iterator[Done]:
        """Nothing is ever on its way."""
        return iter(())


class Beside:
    """Makes batches in processes of their own, one for each core; two wait for each at most."""

    def __init__(self, pool: ProcessPoolExecutor, workers: int) -> None:
        self._pool, self._room = pool, 2 * workers
        self._waiting: deque[tuple[Batch, Future[list[Made]]]] = deque()

    def submit(self, batch: Batch, at: str) -> Iterator[Done]:
        """Those whose place the batch takes."""
        self._waiting.append((batch, self._pool.submit(_make, batch, at)))
        while len(self._waiting) > self._room:
            yield self._next()

    def rest(self) -> Iterator[Done]:
        """Wait for what is on its way."""
        while self._waiting:
            yield self._next()

    def _next(self) -> Done:
        batch, future = self._waiting.popleft()
        return batch, future.result()


@contextmanager
def beside(home: str | None, workers: int) -> Iterator[Beside]:
    """Makers in other processes, each of which reads the clinic's folder for itself."""
    spawn = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(workers, spawn, initializer=_start, initargs=(home,)) as pool:
        try:
            yield Beside(pool, workers)
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

_writer: Forms | None = None


def _start(home: str | None) -> None:
    global _writer
    threading.Thread(target=_end_with_parent, daemon=True).start()
    house = open_house(home)
    _writer = Forms(Reminding(house.library, house.press, Purpose.PATIENT))


def _end_with_parent() -> None:
    """End when the run does, however: an executor's process would wait for ever."""
    parent = multiprocessing.parent_process()
    assert parent is not None  # noqa: S101 - `beside` started this one
    wait([parent.sentinel])
    os._exit(1)


def _make(batch: Batch, at: str) -> list[Made]:
    assert _writer is not None  # noqa: S101 - `_start` ran
    return make(_writer, batch, at)

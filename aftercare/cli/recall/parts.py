"""The parts of a run, each in a process of its own and the first in this one."""

from __future__ import annotations

import multiprocessing
import os
import threading
from collections.abc import Callable
from multiprocessing.connection import Connection, wait
from typing import Any, TypeVar

from aftercare.cli import fault_of_ours, tell
from aftercare.errors import AftercareError, OutOfReach

Answer = TypeVar("Answer")
# Two were measured; each has its turn at the register a tenth of the time, so more wait more.
MOST = 4


def cores() -> int:
    """How many parts can be worked at once here: one where a process cannot be split in two."""
    if "fork" not in multiprocessing.get_all_start_methods():
        return 1
    return min(MOST, len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else 1)


def in_parts(work: Callable[[int], Answer], count: int) -> list[Answer]:
    """What ``work`` gives of each part, by its number from 0.

    ``work`` finds everything in the other processes as it is here and now, so nothing may be
    connected to a register. They end when this process does, however that ends. What a part
    raises is raised; ``OutOfReach`` when its process was ended from outside.
    """
    beside = [_Beside(work, number) for number in range(1, count)]
    try:
        return [work(0), *(one.answer() for one in beside)]
    finally:
        for one in beside:
            one.end()


class _Beside:
    """One part in a process of its own."""

    def __init__(self, work: Callable[[int], Any], number: int) -> None:
        fork = multiprocessing.get_context("fork")
        self._pipe, theirs = fork.Pipe(duplex=False)
        self._process = fork.Process(target=_serve, args=(work, number, theirs), daemon=True)
        self._process.start()
        theirs.close()

    def answer(self) -> Any:
        try:
            well, answer = self._pipe.recv()
        except EOFError:
            raise OutOfReach(
                "recall write", "a process that wrote messages was ended from outside",
                "see that memory is enough and run it again: it goes on from here, nothing is lost",
            ) from None  # fmt: skip
        if not well:
            raise answer
        return answer

    def end(self) -> None:
        """End it where it is; the next run goes on from there."""
        self._process.kill()
        self._process.join()
        self._pipe.close()


def _serve(work: Callable[[int], Any], number: int, pipe: Connection) -> None:
    threading.Thread(target=_end_with_parent, daemon=True).start()
    try:
        pipe.send((True, work(number)))
    except (AftercareError, OSError) as refused:
        pipe.send((False, refused))
    except Exception as fault:
        tell(fault_of_ours(fault))
        pipe.send((False, RuntimeError(type(fault).__name__)))
    # Without what a test or a library would do at the end of the process it was split from.
    os._exit(0)


def _end_with_parent() -> None:
    """End when the run does, whatever ended it."""
    parent = multiprocessing.parent_process()
    assert parent is not None  # noqa: S101 - `_Beside` started this one
    wait([parent.sentinel])
    os._exit(1)

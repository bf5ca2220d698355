"""Work on the parts of a list by several processes, in order, and never far ahead of whoever takes.

A worker ends by itself when the process that started it is gone, killed or not.
"""

from __future__ import annotations

import gc
import multiprocessing
import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from multiprocessing.connection import Connection
from typing import Any, TypeVar

Part = TypeVar("Part")
Answer = TypeVar("Answer")
Each = Callable[[Iterable[Part]], Iterator[Answer]]
AHEAD = 2  # parts a worker may have before it: enough never to wait, few enough to hold


def hands() -> int:
    """How many processes may work at once: one where the system cannot split one in two."""
    if "fork" not in multiprocessing.get_all_start_methods():
        return 1
    return min(4, len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else 1)


@contextmanager
def crew(work: Callable[[Any], Any], count: int) -> Iterator[Callable[[Iterable[Any]], Any]]:
    """What does ``work`` on parts, by ``count`` processes; by this one if it is fewer than two.

    ``work`` and all it holds are there in the workers as they were at this moment, so nothing but
    parts and answers travels. An error of a part is raised where its answer is taken.
    """
    if count < 2:
        yield lambda parts: map(work, parts)
        return
    workers = _start(work, count)
    try:
        yield lambda parts: _each(workers, iter(parts))
    finally:
        for pipe, _ in workers:
            pipe.close()
        for _, process in workers:
            process.join()


def _start(work: Callable[[Any], Any], count: int) -> list[tuple[Connection, Any]]:
    fork = multiprocessing.get_context("fork")
    workers: list[tuple[Connection, Any]] = []
    for _ in range(count):
        mine, theirs = fork.Pipe()
        process = fork.Process(target=_serve, args=(work, theirs, [mine, *(p for p, _ in workers)]))
        process.daemon = True
        process.start()
        theirs.close()
        workers.append((mine, process))
    return workers


def _serve(work: Callable[[Any], Any], pipe: Connection, others: list[Connection]) -> None:
    """Answer parts until nobody asks any more."""
    for other in others:  # held open here, they would hide that the asker is gone
        other.close()
    gc.disable()  # rows make no rings, and looking for some among so many costs half the time
    try:
        while True:
            part = pipe.recv()
            try:
                answer = (True, work(part))
            except Exception as refused:
                answer = (False, refused)
            pipe.send(answer)
    except (EOFError, OSError, KeyboardInterrupt):
        os._exit(0)


def _each(workers: list[tuple[Connection, Any]], parts: Iterator[Any]) -> Iterator[Any]:
    pipes = [pipe for pipe, _ in workers]
    asked: deque[Connection] = deque()
    for number, part in enumerate(parts):
        if len(asked) >= AHEAD * len(pipes):
            yield _taken(asked.popleft())
        pipe = pipes[number % len(pipes)]
        pipe.send(part)
        asked.append(pipe)
    while asked:
        yield _taken(asked.popleft())


def _taken(pipe: Connection) -> Any:
    well, answer = pipe.recv()
    if not well:
        raise answer
    return answer

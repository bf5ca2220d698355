"""Parts in processes of their own: what comes of them, and that none outlives the run."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from aftercare.cli.recall.parts import MOST, cores, in_parts
from aftercare.errors import BadInput, OutOfReach

LONG = 60.0


def test_each_part_is_worked_at_in_a_process_and_the_first_in_this_one() -> None:
    answers = in_parts(lambda number: (number, os.getpid()), 3)

    assert [number for number, _ in answers] == [0, 1, 2]
    assert answers[0][1] == os.getpid()
    assert len({process for _, process in answers}) == 3


def test_as_many_as_may_be_used_and_no_more(monkeypatch: pytest.MonkeyPatch) -> None:
    for there, used in ((1, 1), (2, 2), (64, MOST)):
        monkeypatch.setattr(os, "sched_getaffinity", lambda _, there=there: set(range(there)))
        assert cores() == used
    monkeypatch.setattr("multiprocessing.get_all_start_methods", lambda: ["spawn"])
    assert cores() == 1


def beside(deed: Callable[[], object]) -> Callable[[int], int]:
    """Work that does something in the second part."""

    def work(number: int) -> int:
        if number:
            deed()
        return number

    return work


def refuse() -> None:
    raise BadInput("here", "is wrong", "mend it")


def fail() -> None:
    raise OSError(28, "No space left on device")


def test_what_a_part_raises_is_raised_and_one_that_is_gone_told_of() -> None:
    with pytest.raises(BadInput, match="here: is wrong; mend it"):
        in_parts(beside(refuse), 2)
    with pytest.raises(OSError, match="No space left"):
        in_parts(beside(fail), 2)
    with pytest.raises(OutOfReach, match="ended from outside"):
        in_parts(beside(lambda: os.kill(os.getpid(), signal.SIGKILL)), 2)


def test_when_this_part_is_refused_the_others_are_ended_at_once(tmp_path: Path) -> None:
    process = tmp_path / "process"

    def work(number: int) -> int:
        if number:
            process.write_text(str(os.getpid()))
            process.rename(tmp_path / "begun")
            time.sleep(LONG)
        while not (tmp_path / "begun").exists():
            time.sleep(0.01)
        raise BadInput("here", "is wrong")

    began = time.monotonic()
    with pytest.raises(BadInput, match="here: is wrong"):
        in_parts(work, 2)

    assert time.monotonic() - began < LONG / 2
    with pytest.raises(ProcessLookupError):
        os.kill(int((tmp_path / "begun").read_text()), 0)

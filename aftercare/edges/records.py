"""The record on disk: one JSON line for each decision, only ever added to."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Sequence
from dataclasses import fields
from pathlib import Path

from aftercare.errors import OutOfReach
from aftercare.model import Record


class RecordFile:
    """A Store in one file beside what was written. It holds references, never names."""

    def __init__(self, path: Path) -> None:
        self._path = path

    def add(self, records: Sequence[Record]) -> None:
        """Append the records as whole lines, all or none, and flush them.

        Raises ``OutOfReach`` with the file as long as it was.
        """
        lines = "".join(map(_line, records))
        try:
            self._path.parent.mkdir(parents=True, exist_ok=True)
            descriptor = os.open(self._path, os.O_RDWR | os.O_CREAT | os.O_APPEND, 0o600)
            try:
                _lock(descriptor)
                _append(descriptor, lines.encode())
            finally:
                os.close(descriptor)
        except OSError as error:
            raise OutOfReach(
                str(self._path), error.strerror or "cannot be written", "nothing was released"
            ) from None


_NAMES = tuple(one.name for one in fields(Record))
_ENCODER = json.JSONEncoder(ensure_ascii=False)


def _line(record: Record) -> str:
    # `asdict` copies every value, which takes longer than all the rest.
    return _ENCODER.encode({name: getattr(record, name) for name in _NAMES}) + "\n"


def _lock(descriptor: int) -> None:
    """Wait until no other run is adding; closing the file lets the next one in."""
    if sys.platform != "win32":
        import fcntl

        fcntl.flock(descriptor, fcntl.LOCK_EX)


def _append(descriptor: int, lines: bytes) -> None:
    """Add the lines or, when the disk is full or fails, nothing."""
    before = os.fstat(descriptor).st_size
    lines = _line_end_owed(descriptor, before) + lines
    try:
        written = 0
        while written < len(lines):
            written += os.write(descriptor, lines[written:])
        os.fsync(descriptor)
    except OSError:
        os.ftruncate(descriptor, before)
        raise


def _line_end_owed(descriptor: int, size: int) -> bytes:
    """A line end, if a run that was killed left its last line without one."""
    os.lseek(descriptor, max(size - 1, 0), os.SEEK_SET)
    return b"" if os.read(descriptor, 1) in (b"", b"\n") else b"\n"

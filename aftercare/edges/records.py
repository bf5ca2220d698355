"""The record on disk: one JSON line for each decision, only ever added to."""

from __future__ import annotations

import json
import os
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path

from aftercare.errors import OutOfReach
from aftercare.model import Record


class RecordFile:
    """A Store in one file beside what was written. It holds references, never names."""

    def __init__(self, path: Path) -> None:
        self._path = path

    def add(self, records: Sequence[Record]) -> None:
        """Append the records in one write and flush it. Raises ``OutOfReach``."""
        lines = "".join(json.dumps(asdict(record), ensure_ascii=False) + "\n" for record in records)
        try:
            self._path.parent.mkdir(parents=True, exist_ok=True)
            descriptor = os.open(self._path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
            try:
                os.write(descriptor, lines.encode())
                os.fsync(descriptor)
            finally:
                os.close(descriptor)
        except OSError as error:
            raise OutOfReach(
                str(self._path), error.strerror or "cannot be written", "nothing was released"
            ) from None

"""Keys of many rows, kept out of memory: in a file without a name, which is gone with the process.

A key is a hash by the secret of this process (unless PYTHONHASHSEED says otherwise): nobody can be
read from it.
"""

from __future__ import annotations

import os
import tempfile
import weakref
from collections.abc import Iterator
from typing import TYPE_CHECKING

from aftercare.errors import OutOfReach

if TYPE_CHECKING:
    from aftercare.recall.incoming.repeats import Keys

IN_MEMORY = 2_000_000  # bytes; more of them are written


class KeySpool:
    """Keys by the chunk. After a fork they can be read in another process."""

    def __init__(self) -> None:
        self._chunks: list[bytes | tuple[int, int]] = []
        self._file: int | None = None
        self._kept = self._written = 0

    def __len__(self) -> int:
        return len(self._chunks)

    def add(self, keys: Keys) -> None:
        """One more chunk. Raises ``OutOfReach`` when it cannot be written."""
        raw = keys.tobytes()
        if self._kept + len(raw) <= IN_MEMORY:
            self._kept += len(raw)
            self._chunks.append(raw)
        else:
            self._chunks.append((self._write(raw), len(raw)))

    def chunk(self, number: int) -> Keys:
        """The chunk that was added as this one, from 0."""
        import numpy as np

        there = self._chunks[number]
        raw = there if isinstance(there, bytes) else self._read(*there)
        return np.frombuffer(raw, np.int64).reshape(3, -1)

    def chunks(self) -> Iterator[Keys]:
        """All of them in order."""
        return map(self.chunk, range(len(self)))

    def _write(self, raw: bytes) -> int:
        try:
            if self._file is None:
                self._file = self._open()
            rest = memoryview(raw)
            while rest:  # a disk that is nearly full takes some of it
                rest = rest[os.write(self._file, rest) :]
        except OSError as error:
            raise OutOfReach(
                tempfile.gettempdir(),
                f"no room for keys of rows: {error.strerror}",
                "make room there, or name another folder in TMPDIR",
            ) from None
        self._written += len(raw)
        return self._written - len(raw)

    def _open(self) -> int:
        with tempfile.TemporaryFile() as file:
            number = os.dup(file.fileno())
        weakref.finalize(self, os.close, number)
        return number

    def _read(self, at: int, length: int) -> bytes:
        assert self._file is not None  # noqa: S101
        # By place, for processes that share a file share where they are in it.
        return os.pread(self._file, length, at)

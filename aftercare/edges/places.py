"""Numbers by their place: a few in memory, many in a file without a name, gone with the process.

What `sending.households` keeps in them are hashes by the secret of this process (unless
PYTHONHASHSEED says otherwise): nobody can be read from them.
"""

from __future__ import annotations

import os
import sys
import tempfile
import weakref
from array import array
from collections.abc import Iterator
from contextlib import contextmanager

from aftercare.errors import OutOfReach
from aftercare.sending.households import Places, in_memory

# More than this many are kept in a file: a megabyte.
IN_MEMORY = 131_072
_WIDTH, _BLOCK = 8, 65_536


def places(size: int) -> Places:
    """So many places, all of them zero, in memory that does not grow with them.

    Raises ``OutOfReach`` when there is no room for the file.
    """
    return in_memory(size) if size <= IN_MEMORY else PlacesInFile(size)


class PlacesInFile:
    """Places in a file without a name; one that was never written takes no room."""

    def __init__(self, size: int) -> None:
        with _refusals(), tempfile.TemporaryFile() as file:
            file.truncate(_WIDTH * size)
            self._size, self._file = size, os.dup(file.fileno())
        weakref.finalize(self, os.close, self._file)

    def __len__(self) -> int:
        return self._size

    def __getitem__(self, at: int, /) -> int:
        return int.from_bytes(os.pread(self._file, _WIDTH, _WIDTH * at), "little")

    def __setitem__(self, at: int, mark: int, /) -> None:
        with _refusals():
            os.pwrite(self._file, mark.to_bytes(_WIDTH, "little"), _WIDTH * at)

    def __iter__(self) -> Iterator[int]:
        for start in range(0, _WIDTH * self._size, _BLOCK):
            block = array("Q", os.pread(self._file, _BLOCK, start))
            if sys.byteorder == "big":
                block.byteswap()
            yield from block


@contextmanager
def _refusals() -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise OutOfReach(
            tempfile.gettempdir(),
            f"no room to count whom was written to: {error.strerror}",
            "make room there, or name another folder in TMPDIR",
        ) from None

"""Rows of separated values without anything to unquote or trim, cut by where their cells end.

Most blocks of most lists are so. What is asked of each byte is asked of all of them at once.
"""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Ends = NDArray[np.intp]

_BLANK, _CR, _LF = b" \r\n"


def one_line_end(raw: bytes) -> bytes:
    """The bytes with LF for CRLF, and one behind the last row; a lone CR stays."""
    import numpy as np

    if b"\r" in raw:
        codes = np.frombuffer(raw + b" ", np.uint8)
        if (codes[np.flatnonzero(codes == _CR) + 1] == _LF).all():
            raw = raw.replace(b"\r", b"")
    return raw if raw.endswith(b"\n") else raw + b"\n"


def cell_ends(raw: bytes, separator: bytes, width: int) -> Ends | None:
    """Where the cells end, rows by ``width``; None unless all can be taken as they stand."""
    import numpy as np

    codes = np.frombuffer(raw, np.uint8)
    ends = np.flatnonzero((codes == separator[0]) | (codes == _LF))
    lines = raw.count(b"\n")
    if b'"' in raw or b"\r" in raw or len(ends) != lines * width:
        return None
    if (codes[ends[width - 1 :: width]] != _LF).any():
        return None
    if raw[0] == _BLANK or (codes[ends - 1] == _BLANK).any():
        return None
    if (codes[ends[:-1] + 1] == _BLANK).any():
        return None
    return ends.reshape(-1, width)


def some_columns(raw: bytes, ends: Ends, places: Collection[int]) -> dict[int, bytes]:
    """The bytes of columns, each cell with the separator or line end behind it."""
    import numpy as np

    codes = np.frombuffer(raw, np.uint8)
    before = np.empty(ends.size, np.intp)
    before[0], before[1:] = -1, ends.ravel()[:-1]
    starts = before.reshape(ends.shape) + 1
    found = {}
    for place in places:
        lengths = ends[:, place] + 1 - starts[:, place]
        sums = np.cumsum(lengths)
        shift = starts[:, place] - (sums - lengths)
        found[place] = codes[np.repeat(shift, lengths) + np.arange(sums[-1])].tobytes()
    return found

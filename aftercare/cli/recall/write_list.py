"""The list for whoever works the recalls: whom to reach by hand, who waits, who got nothing.

Rows go straight to a file, so that a long list takes no memory. Each part of a run writes a list
of its own, and `join_lists` makes one of them, in the order it would have without parts.
"""

from __future__ import annotations

import csv
import heapq
import os
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from enum import StrEnum
from pathlib import Path
from typing import Any

from aftercare.cli.lines import folded, steady
from aftercare.errors import OutOfReach
from aftercare.recall.people import Person

TABLE, READABLE = "list.csv", "list.txt"
COLUMNS = ("what", "ref", "name", "mobile", "step", "day", "who", "how", "because")
# What a table program may take for a formula at the start of a cell (OWASP, CSV injection).
_FORMULA = ("=", "-", "@", "\t", "\r", "\n", "＝", "－", "＠", "＋")


class Listing(StrEnum):
    """Why somebody is on the list, in the order of the readable one."""

    PERSON = "for a person"
    WITHHELD = "not written"
    SKIPPED = "skipped"
    LATER = "later"
    WAITING = "waiting"


_HEADINGS = {
    Listing.PERSON: "To be reached by a person",
    Listing.WITHHELD: "Not written, though due: something is lacking",
    Listing.SKIPPED: "Not written, and not needed any more",
    Listing.LATER: "Not today; the next run asks again",
    Listing.WAITING: "Waiting on a named person",
}


class AdminList:
    """Takes the rows one by one and counts them. ``order`` is a text they are joined by."""

    def __init__(self, stream: Any) -> None:
        self._rows = csv.writer(stream)
        self.counts: Counter[Listing] = Counter()

    def add(
        self, what: Listing, person: Person, because: str, *, order: str = "", step: str = "",
        day: object = "", who: str = "", how: str = "",
    ) -> None:  # fmt: skip
        """Somebody, and why they are on the list."""
        self.counts[what] += 1
        name = f"{person.first_name} {person.last_name}".strip()
        cells = (
            what.value,
            person.ref,
            name,
            person.mobile or "",
            step,
            str(day),
            who,
            how,
            because,
        )
        self._rows.writerow([order, *(_inert(steady(cell)) for cell in cells)])


def _inert(cell: str) -> str:
    """A cell no table program takes for a formula; a number like +44 is none."""
    formula = cell.startswith(_FORMULA) or (cell.startswith("+") and not cell[1:].isdecimal())
    return f"'{cell}" if formula else cell


@contextmanager
def admin_list(folder: Path, name: str) -> Iterator[AdminList]:
    """A list to be joined with others, aside and flushed when the block ends well."""
    with _refusals(folder), _owned(_aside(folder, f"{TABLE}-{name}")) as stream:
        yield AdminList(stream)
        stream.flush()
        os.fsync(stream.fileno())


def join_lists(folder: Path, names: Iterable[str]) -> None:
    """Put lists in place as one, as a table and to be read."""
    aside, shown = _aside(folder, TABLE), _aside(folder, READABLE)
    some = [_aside(folder, f"{TABLE}-{name}") for name in names]
    with _refusals(folder):
        with _owned(aside) as stream:
            table = csv.writer(stream)
            table.writerow(COLUMNS)
            table.writerows(_joined(some))
            stream.flush()
            os.fsync(stream.fileno())
        with _owned(shown) as stream:
            stream.writelines(f"{line}\n" for line in _readable(aside))
        shown.replace(folder / READABLE)
        aside.replace(folder / TABLE)
        for one in some:
            one.unlink()


def _joined(tables: Sequence[Path]) -> Iterator[list[str]]:
    with ExitStack() as stack:
        opened = [stack.enter_context(one.open(encoding="utf-8", newline="")) for one in tables]
        for row in heapq.merge(*map(csv.reader, opened), key=lambda row: row[0]):
            yield row[1:]


def _aside(folder: Path, name: str) -> Path:
    return folder / f".{name}.aftercare-new"


@contextmanager
def _refusals(folder: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise OutOfReach(
            str(folder / TABLE), error.strerror or "cannot be written",
            "make room and run it again: it goes on from here, nothing is lost",
        ) from None  # fmt: skip


def _owned(path: Path) -> Any:
    """A new file for its owner alone, in the place of what a stopped run left."""
    path.unlink(missing_ok=True)
    descriptor = os.open(path, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600)
    return os.fdopen(descriptor, "w", encoding="utf-8", newline="")


def _readable(table: Path) -> Iterator[str]:
    """The table section by section."""
    for what, heading in _HEADINGS.items():
        rows = _of(table, what)
        first = next(rows, None)
        if first is None:
            continue
        yield from (heading, "=" * len(heading), "")
        yield from _entry(first)
        for row in rows:
            yield from _entry(row)


def _of(table: Path, what: Listing) -> Iterator[dict[str, str]]:
    with table.open(encoding="utf-8", newline="") as stream:
        yield from (row for row in csv.DictReader(stream) if row["what"] == what)


def _entry(row: dict[str, str]) -> Iterator[str]:
    told = [row["ref"], row["name"], row["mobile"]]
    told += [f"{row['who']} by {row['how']}"] if row["how"] else [row["who"]]
    yield "  ".join(filter(None, told))
    step = f"{row['step']}, {row['day']}: " if row["step"] else ""
    yield from folded(f"{step}{row['because']}", "    ")
    yield ""

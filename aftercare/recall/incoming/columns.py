"""One batch on its way: its columns as they stand, and what was found about its rows.

A column is one comprehension or one memo, and what holds of all its cells is asked of all at once;
only cells with something to say are looked at by themselves.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from aftercare.recall.incoming.cells import Cells
from aftercare.recall.incoming.layout import Layout
from aftercare.recall.incoming.memo import Joint, Memo, marked
from aftercare.recall.incoming.promises import NO_PROMISE
from aftercare.recall.incoming.trouble import Note, Trouble
from aftercare.recall.people import Standing

Column = list[Any]
ReadColumn = Callable[[Sequence[str]], list[Any]]
_FORMULA = ("=", "+", "-", "@")  # what spreadsheets evaluate (OWASP, CSV injection, from memory)
_UNEVEN = "as many cells as the header has are wanted, and there are"


class ColumnReader:
    """One batch on its way: its columns as they stand, and what was found about its rows."""

    def __init__(self, layout: Layout, cells: Cells) -> None:
        self.notes: dict[int, list[Note]] = {}
        self.waiting: dict[int, str] = {}
        self.later: set[int] = set()
        self.outside: set[int] = set()
        self.blank: set[int] = set()
        self.shares: frozenset[int] = frozenset()
        self.kept: frozenset[int] = frozenset()
        self.count = cells.count
        self._layout, self._columns = layout, cells.columns
        for n, width in cells.uneven.items():
            self._say_uneven(n, width)
        self._find_blank()

    def _say_uneven(self, n: int, width: int) -> None:
        """Of such a row nothing can be trusted, not even where the reference is."""
        if width:
            self.outside.add(n)
            more = "more" if width > self._layout.width else "fewer"
            self.note(n, Note(Standing.HOLD, f"{_UNEVEN} {more}"))

    def _find_blank(self) -> None:
        """Rows with nothing in them, and the header where lists were put one behind the other."""
        headers = self._layout.headers
        at = self._layout.at["ref"][0]
        refs = self._columns[at] if self.count else ()
        suspects = [n for n, cell in enumerate(refs) if not cell] if "" in refs else []
        if headers[at] in refs:
            suspects += [n for n, cell in enumerate(refs) if cell == headers[at]]
        for n in suspects:
            row = tuple(column[n] for column in self._columns)
            if row == headers or not (n in self.outside or any(row)):
                self.blank.add(n)

    def note(self, n: int, note: Note) -> None:
        """Something about the row at this place."""
        self.notes.setdefault(n, []).append(note)

    def say_empty(self, field: str, column: Sequence[str]) -> None:
        """Say of every row with nothing in a column that has to be filled."""
        for n, cell in enumerate(column):
            if not cell and not {n} & (self.outside | self.blank) and not self._said(n, field):
                self.note(n, Note(Standing.HOLD, f"{field}: empty"))

    def _said(self, n: int, field: str) -> bool:
        return any(note.said.startswith(f"{field}: ") for note in self.notes.get(n, ()))

    def cells(self, field: str) -> Sequence[str] | None:
        """The cells of a field with one column; None when the list has none."""
        at = self._layout.at.get(field)
        return self._columns[at[0]] if at and self.count else None

    def text(self, field: str, longest: int) -> Sequence[str]:
        """Words of people as they stand, blank where they cannot be taken."""
        cells = self.cells(field)
        if cells is None:
            return [""] * self.count
        if _all_fit(cells, " ".join(cells), longest):
            return cells
        found = list(cells)
        for n, cell in enumerate(cells):
            if said := unfit(cell, longest):
                self.note(n, Note(Standing.HOLD, f"{field}: {said}"))
                found[n] = ""
        return found

    def memo(self, field: str, memo: Memo) -> Column:
        """A field with few different cells, each read once."""
        cells = self.cells(field)
        found = [memo[""]] * self.count if cells is None else list(map(memo.__getitem__, cells))
        if memo.troubled:
            self._untroubled(field, found)
        return found

    def each(self, field: str, read: ReadColumn, empty: Callable[[str], bool]) -> Column:
        """A field whose cells all differ."""
        cells = self.cells(field)
        if cells is None:
            return [None] * self.count
        found = read(cells)
        if Trouble in set(map(type, found)):
            for n, value in enumerate(found):
                if value.__class__ is Trouble:
                    found[n] = marked(cells[n]) or (None if empty(cells[n]) else value)
            self._untroubled(field, found)
        return found

    def lines(self, field: str, longest: int) -> Sequence[str]:
        """The columns of a field as lines, those with something in them."""
        parts = [self._columns[n] for n in self._layout.at.get(field, ())]
        if not parts or not self.count:
            return [""] * self.count
        joined = list(map("\n".join, zip(*parts, strict=True)))
        if any("" in part for part in parts):
            joined = ["\n".join(filter(None, one.split("\n"))) for one in joined]
        if _all_fit(joined, " ".join(joined).replace("\n", " "), longest):
            return joined
        for n, cell in enumerate(joined):
            kept = "\n".join(line.strip() for line in cell.splitlines() if line.strip())
            said = unfit(kept.replace("\n", ""), longest)
            joined[n] = "" if said else kept
            if said:
                self.note(n, Note(Standing.HOLD, f"{field}: {said}"))
        return joined

    def together(self, memo: Joint, known: Mapping[str, Column]) -> Column:
        """Fields that say one thing together; ``known`` are those that were read already."""
        columns = [
            known[field] if field in known else self.cells(field) or [] for field in memo.fields
        ]
        varied = [column for column in columns if not _says_one_thing(column)]
        if len(varied) > 1 or not self.count:
            return list(map(memo.__getitem__, zip(*columns, strict=True)))
        if not varied:
            return [memo[tuple(column[0] for column in columns)]] * self.count
        return self._by_one(memo, columns, varied[0])

    def _by_one(
        self, memo: Joint, columns: Sequence[Sequence[Any]], varied: Sequence[Any]
    ) -> Column:
        """As `together`, where one column alone varies."""
        known = {
            one: memo[tuple(one if column is varied else column[0] for column in columns)]
            for one in set(varied)
        }
        return list(map(known.__getitem__, varied))

    def agreed(self, memo: Joint) -> Column:
        """As `together`, and what there is to say of it."""
        found = self.together(memo, {})
        if memo.troubled:
            self._untroubled("", found)
        return found

    def promised(self, memo: Joint, known: Mapping[str, Column]) -> list[Column]:
        """The recall each row promises: condition, anchor, months, weeks and due."""
        found = self.together(memo, known)
        for n, one in enumerate(found if memo.troubled else ()):
            if one.note:
                self.note(n, one.note)
            if one.waits:
                self.waiting[n] = one.waits
        values = [one.values for one in found]
        return [[one[n] for one in values] for n in range(len(NO_PROMISE.values))]

    def check_order(self, born: Column, seen: Column) -> None:
        """Nobody is seen before they are born."""
        for n, (first, second) in enumerate(zip(born, seen, strict=True)):
            if first and second and second < first:
                self.note(n, Note(Standing.HOLD, "seen: before the birth"))

    def _untroubled(self, field: str, found: Column) -> None:
        for n, value in enumerate(found):
            if value.__class__ is Trouble:
                found[n] = value.value
                if n not in self.outside and n not in self.blank:
                    said = f"{field}: {value.said}" if field else value.said
                    self.note(n, Note(value.standing, said))


def _says_one_thing(column: Sequence[Any]) -> bool:
    return not column or (column[0] == column[-1] and column.count(column[0]) == len(column))


def _all_fit(cells: Sequence[str], whole: str, longest: int) -> bool:
    """Whether all can be taken as they stand; ``whole`` is all of them, with blanks between."""
    if not whole.isprintable() or max(map(len, cells), default=0) > longest:
        return False
    if whole[:1] not in _FORMULA and not any(
        f" {mark}" in whole or f"'{mark}" in whole for mark in _FORMULA
    ):
        return True
    return not any(_is_formula(cell) for cell in cells)


def _is_formula(cell: str) -> bool:
    """Whether a spreadsheet would work it out, or was kept from it by an apostrophe alone."""
    return cell.lstrip("'")[:1] in _FORMULA and cell != "-"


def unfit(cell: str, longest: int) -> str | None:
    """Why words cannot be taken; None when they can."""
    if mark := marked(cell):
        return mark.said
    if len(cell) > longest:
        return "too long"
    # Joiners belong to names in several scripts; nothing else that cannot be seen does.
    if not cell.replace("\u200c", "").replace("\u200d", "").isprintable():
        return "a character that has no place in a list"
    if _is_formula(cell):
        return "begins like a formula"
    return None

"""Judge rows of a list, column by column: what is read alike is read once.

A million rows go through here, so a column is one comprehension or one memo, and only rows with
something to say are looked at by themselves.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import repeat
from typing import Any

from aftercare.recall.incoming.agreement import Agreement, Life
from aftercare.recall.incoming.cells import Cells
from aftercare.recall.incoming.contacts import email_reader, national_number, phone_reader
from aftercare.recall.incoming.layout import Layout
from aftercare.recall.incoming.memo import Memo, heeding, marked
from aftercare.recall.incoming.plan import ImportPlan, Lines, plain
from aftercare.recall.incoming.promises import Promises, Words
from aftercare.recall.incoming.repeats import Keys, Repeats, person_key
from aftercare.recall.incoming.trouble import Note, Trouble
from aftercare.recall.people import Standing
from aftercare.recall.port import IntakeRow

Columns = list[Any]
_FORMULA = frozenset("=+-@")  # what spreadsheets evaluate (OWASP, CSV injection, from memory)
SHARED_PHONE = "texts:shared-phone"
SHARES = Note(Standing.READY, "mobile: the same as in another row")
_KEPT = Note(Standing.SILENT, "the register keeps them silent")
_SAME_PERSON = "the same name and date of birth as"
_REGISTERED = "the same name and date of birth as somebody in the register"
_UNEVEN = "as many cells as the header has are wanted, and there are"
_WORST = {Standing.READY: 0, Standing.HOLD: 1, Standing.SILENT: 2}
_FIELDS = (
    "first_name", "last_name", "born", "language", "mobile", "email", "address", "agreed",
    "seen", "case", "conditions", "side", "clinician", "condition", "months", "weeks", "due",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Judged:
    """One row and what became of it; ``ref`` is None when it can be nobody's."""

    row: int
    ref: str | None
    outcome: Standing
    reasons: tuple[str, ...]
    fields: dict[str, Any]


@dataclass(frozen=True, slots=True)
class Batch:
    """Rows that go in, and what there is to say about rows, by place in the batch.

    ``outside`` are rows that cannot go in at all; of these, ``blank`` hold nothing or are the
    header again. ``shares`` are rows whose mobile others have too: so many in some lists that a
    note for each would take longer than all the rest. ``kept`` are rows of people whom the
    register keeps silent whatever a list says, with reasons of its own. ``columns`` are those of
    an ``IntakeRow``.
    """

    first: int
    columns: Columns
    notes: dict[int, list[Note]]
    outside: frozenset[int]
    blank: frozenset[int]
    shares: Sequence[int]
    kept: frozenset[int]
    count: int

    def taken_in(self) -> Columns:
        """The columns of the rows that go in."""
        if not self.outside:
            return self.columns
        kept = [n for n in range(self.count) if n not in self.outside]
        return [[column[n] for n in kept] for column in self.columns]

    def outcome(self, place: int) -> Standing:
        """The outcome of a row."""
        own = _outcome(self.notes.get(place, ()))
        return Standing.SILENT if place in self.kept else own

    def notes_of(self, place: int) -> list[Note]:
        """All there is to say about a row."""
        shares = [SHARES] if place in self.shares else []
        own = self.notes.get(place, [])
        kept = place in self.kept and _outcome(own) is not Standing.SILENT
        return [*own, *shares, *([_KEPT] if kept else [])]

    def judged(self) -> Iterator[Judged]:
        """Every row with its outcome."""
        names = IntakeRow._fields
        for n, row in enumerate(zip(*self.columns, strict=True)):
            if n in self.blank:
                continue
            said = dict(zip(names, row, strict=True))
            notes = self.notes_of(n)
            yield Judged(
                self.first + n,
                said["ref"] or None,
                _outcome(notes),
                tuple(dict.fromkeys(note.said for note in notes)),
                {name: _shown(name, said[name]) for name in _FIELDS},
            )


def _outcome(notes: Iterable[Note]) -> Standing:
    return max((note.standing for note in notes), key=_WORST.__getitem__, default=Standing.READY)


def _shown(name: str, value: Any) -> Any:
    if name in ("agreed", "conditions"):
        return (value or "").split()
    return value if value != "" else None


class Judge:
    """Judges batch after batch of one list; made once for each process that judges."""

    def __init__(
        self,
        plan: ImportPlan,
        layout: Layout,
        repeats: Repeats,
        named: Callable[[int], str] = str,
    ) -> None:
        """``named`` gives a row of the whole list, by its number, the name people call it by."""
        self._plan, self._layout, self._repeats, self._named = plan, layout, repeats, named
        words = Words(plan)
        self._empty = words.empty
        invented = bool(plan.fiction.fullmatch(_clinic_number(plan)))
        self._phone = phone_reader(plan.country, plan.fiction, invented=invented)
        self._email = email_reader(plan.longest.email)
        self._memos = {
            "born": Memo(heeding(words.born)),
            "seen": Memo(heeding(words.seen)),
            "due": Memo(heeding(words.due)),
            "language": Memo(heeding(words.language, plan.language)),
            "condition": Memo(heeding(words.conditions, "")),
            "side": Memo(heeding(words.side)),
            "needs": Memo(heeding(words.needs, "")),
        }
        self._agreement = Memo(heeding(Agreement(plan).read, ""))
        self._life = Memo(heeding(Life(plan).read))
        self._promises = Memo(Promises(plan).read)

    def keys(self, cells: Cells) -> Keys:
        """What `repeats` remembers of these rows."""
        from array import array

        work = _Work(self._layout, cells)
        refs = work.text("ref", self._plan.longest.ref)
        first = work.text("first_name", self._plan.longest.name)
        last = work.text("last_name", self._plan.longest.name)
        born = work.memo("born", self._memos["born"])
        mobiles = self._mobiles(work)
        return (
            array("q", [hash(ref) if ref else 0 for ref in refs]),
            array(
                "q",
                [
                    person_key(one, two, day) if day else 0
                    for one, two, day in zip(first, last, born, strict=True)
                ],
            ),
            array("q", [hash(mobile) if mobile else 0 for mobile in mobiles]),
        )

    def batch(self, first: int, cells: Cells) -> Batch:
        """Judge rows; ``first`` is the number of the first."""
        work = _Work(self._layout, cells)
        longest = self._plan.longest
        refs = work.text("ref", longest.ref)
        if "" in refs:
            work.say_empty("ref", refs)
        names = work.text("first_name", longest.name), work.text("last_name", longest.name)
        for field, column in zip(("first_name", "last_name"), names, strict=True):
            if "" in column:
                work.say_empty(field, column)
        days = {field: work.memo(field, self._memos[field]) for field in ("born", "seen", "due")}
        mobiles = self._mobiles(work)
        emails = work.each("email", self._email, self._empty)
        agreed = work.together(self._agreement, *Agreement.FIELDS)
        address = self._address(work)
        work.together(self._life, *Life.FIELDS)
        self._notes_on_numbers(work)
        conditions = work.memo("condition", self._memos["condition"])
        promised = work.promised(self._promises, days, conditions)
        self._reachable(work, agreed, mobiles, emails, address)
        facts, households = self._shared(work, refs, mobiles, emails, address)
        self._twice(work, first, refs, names, days["born"])
        work.check_order(days["born"], days["seen"])
        clinician = work.text("clinician", longest.name)
        columns = [
            refs, *names, days["born"],
            work.memo("language", self._memos["language"]),
            mobiles, emails, address, agreed, facts, households, repeat(None),
            None, None,
            work.text("case", longest.ref),
            days["seen"], conditions,
            work.memo("side", self._memos["side"]),
            [one or None for one in clinician],
            *promised,
            None, None, None, repeat(None),
        ]  # fmt: skip
        return self._finish(work, first, columns, promised, clinician)

    def _mobiles(self, work: _Work) -> list[str | None]:
        return work.each("mobile", self._phone, self._empty)

    def _address(self, work: _Work) -> list[str]:
        return work.lines("address", self._plan.longest.address)

    def _notes_on_numbers(self, work: _Work) -> None:
        if "national" in self._layout.at:
            work.each("national", national_number, self._empty)

    def _reachable(
        self, work: _Work, agreed: list[str], mobiles: Columns, emails: Columns, address: Columns
    ) -> None:
        """Somebody who agreed to what cannot reach them is nobody's to forget."""
        told = Note(Standing.HOLD, "agreed to, and nothing to reach them by")
        for n, ways in enumerate(agreed):
            if (
                ways
                and not (mobiles[n] and "sms" in ways)
                and not (emails[n] and "email" in ways)
                and not (address[n] and "print" in ways)
            ):
                work.note(n, told)

    def _shared(
        self, work: _Work, refs: Columns, mobiles: Columns, emails: Columns, address: Columns
    ) -> tuple[Any, list[str | None]]:
        """The facts of each person, and the household they belong to.

        A household is known by what its people share; RFC 3966 and 6068 name numbers and mailboxes.
        """
        households = [
            "tel:" + mobile
            if mobile
            else "mailto:" + email.lower()
            if email
            else "post:" + plain(lines)
            if lines
            else None
            for mobile, email, lines in zip(mobiles, emails, address, strict=True)
        ]
        facts = work.memo("needs", self._memos["needs"], "")
        shared = self._repeats.mobiles
        if shared:
            work.shares = [n for n, one in enumerate(mobiles) if one and hash(one) in shared]
            for n in work.shares:
                facts[n] = _with_shared_phone(facts[n]) if facts[n] else SHARED_PHONE
        return facts, households

    def _twice(
        self, work: _Work, first: int, refs: Columns, names: tuple[Columns, Columns], born: Columns
    ) -> None:
        if self._repeats.refs:
            self._same_ref(work, first, refs)
        if self._repeats.silent:
            silent = self._repeats.silent
            work.kept = frozenset(n for n, ref in enumerate(refs) if ref and hash(ref) in silent)
        if self._repeats.people or self._repeats.registered:
            for n, (ref, one, two, day) in enumerate(zip(refs, *names, born, strict=True)):
                key = person_key(one, two, day) if day else 0
                self._say_same(work, n, first, self._repeats.people.get(key, ()), _SAME_PERSON)
                self._say_registered(work, n, key, ref)

    def _say_registered(self, work: _Work, n: int, key: int, ref: str) -> None:
        others = self._repeats.registered.get(key, ())
        if others and hash(ref) not in others:
            work.note(n, Note(Standing.HOLD, _REGISTERED))

    def _same_ref(self, work: _Work, first: int, refs: Columns) -> None:
        for n, ref in enumerate(refs):
            rows = self._repeats.refs.get(hash(ref), ()) if ref else ()
            if rows:
                if self._plan.lines is Lines.PEOPLE:
                    self._say_same(work, n, first, rows, "ref: the same reference as")
                if rows[0] != first + n:
                    work.later.add(n)

    def _say_same(self, work: _Work, n: int, first: int, rows: Sequence[int], said: str) -> None:
        others = [self._named(row) for row in rows if row != first + n]
        if rows and others:
            word = "row" if len(others) == 1 else "rows"
            work.note(n, Note(Standing.HOLD, f"{said} {word} {', '.join(others)}"))

    def _finish(
        self, work: _Work, first: int, columns: Columns, promised: Columns, clinician: Columns
    ) -> Batch:
        at = IntakeRow._fields.index
        count = work.count
        standing = ["ready"] * count
        reasons = [""] * count
        for n in work.shares:
            reasons[n] = SHARES.said
        for n, notes in work.notes.items():
            standing[n] = _outcome(notes).value
            said = dict.fromkeys(note.said for note in notes)
            reasons[n] = "\n".join([*said, reasons[n]] if reasons[n] else said)
        columns[at("standing")], columns[at("reasons")] = standing, reasons
        columns[at("state")] = state = [
            None if due is None else "scheduled" for due in columns[at("due")]
        ]
        waiting: list[str | None] = [None] * count
        because: list[str | None] = [None] * count
        for n, why in work.waiting.items():
            state[n], because[n] = "waiting", why
            waiting[n] = clinician[n] or self._plan.by
        columns[at("waiting_on")], columns[at("because")] = waiting, because
        columns = [
            one if isinstance(one, list | tuple) else list(_some(one, count)) for one in columns
        ]
        for n in work.later:  # a person's own columns stand once; visits and recalls go in
            for column in range(1, 14):
                columns[column] = list(columns[column])
                columns[column][n] = None
        outside = frozenset(work.outside | work.blank)
        if "" in columns[0]:
            outside |= {n for n, ref in enumerate(columns[0]) if not ref}
        return Batch(
            first,
            columns,
            work.notes,
            outside,
            frozenset(work.blank),
            work.shares,
            work.kept,
            count,
        )


def _with_shared_phone(facts: str) -> str:
    return " ".join(sorted({*facts.split(), SHARED_PHONE}))


def _some(column: Any, count: int) -> Iterator[Any]:
    for _, value in zip(range(count), column, strict=False):
        yield value


def _clinic_number(plan: ImportPlan) -> str:
    from phonenumbers import PhoneNumberFormat, format_number, parse

    number = parse(plan.clinic.phone, plan.clinic.territory)
    return str(format_number(number, PhoneNumberFormat.E164))


class _Work:
    """One batch on its way: its columns as they stand, and what was found about its rows."""

    def __init__(self, layout: Layout, cells: Cells) -> None:
        self.notes: dict[int, list[Note]] = {}
        self.waiting: dict[int, str] = {}
        self.later: set[int] = set()
        self.outside: set[int] = set()
        self.blank: set[int] = set()
        self.shares: Sequence[int] = ()
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

    def text(self, field: str, longest: int) -> list[str]:
        """Words of people as they stand, blank where they cannot be taken."""
        cells = self.cells(field)
        if cells is None:
            return [""] * self.count
        found = list(cells)
        if (
            "".join(found).isprintable()
            and max(map(len, found)) <= longest
            and not _FORMULA & {cell[:1] for cell in found}
        ):
            return found
        for n, cell in enumerate(found):
            said = unfit(cell, longest)
            if said:
                self.note(n, Note(Standing.HOLD, f"{field}: {said}"))
                found[n] = ""
        return found

    def memo(self, field: str, memo: Memo, missing: Any = None) -> list[Any]:
        """A field with few different cells, each read once."""
        cells = self.cells(field)
        if cells is None:
            cells = [""] * self.count
        found = [memo[cell] for cell in cells]
        if memo.troubled:
            self._untroubled(field, found)
        return found

    def each(
        self, field: str, read: Callable[[str], str | Trouble], empty: Callable[[str], bool]
    ) -> list[str | None]:
        """A field whose cells all differ."""
        cells = self.cells(field)
        if cells is None:
            return [None] * self.count
        found: list[Any] = [read(cell) if cell else None for cell in cells]
        troubled = [n for n, value in enumerate(found) if value.__class__ is Trouble]
        for n in troubled:
            found[n] = marked(cells[n]) or (None if empty(cells[n]) else found[n])
        if troubled:
            self._untroubled(field, found)
        return found

    def lines(self, field: str, longest: int) -> list[str]:
        """The columns of a field as lines, those with something in them."""
        at = self._layout.at.get(field, ())
        if not at:
            return [""] * self.count
        parts = [self._columns[n] for n in at]
        joined = list(map("\n".join, zip(*parts, strict=True)))
        if any("" in part for part in parts):
            joined = ["\n".join(filter(None, one.split("\n"))) for one in joined]
        flat = "".join(joined).replace("\n", "")
        fits = flat.isprintable() and max(map(len, joined)) <= longest
        if fits and not _FORMULA & {cell[:1] for cell in joined}:
            return joined
        for n, cell in enumerate(joined):
            kept = "\n".join(line.strip() for line in cell.splitlines() if line.strip())
            said = unfit(kept.replace("\n", ""), longest)
            joined[n] = "" if said else kept
            if said:
                self.note(n, Note(Standing.HOLD, f"{field}: {said}"))
        return joined

    def together(self, memo: Memo, *fields: str) -> list[Any]:
        """Fields that say one thing together."""
        cells = [self.cells(field) for field in fields]
        if not any(cells):
            one = memo[("",) * len(fields)]
            found = [one] * self.count
        else:
            found = [memo[said] for said in zip(*(c or repeat("") for c in cells))]  # noqa: B905
        if memo.troubled:
            self._untroubled("", found)
        return found

    def promised(self, memo: Memo, days: dict[str, Columns], conditions: Columns) -> list[Columns]:
        """The recall each row promises: condition, anchor, months, weeks and due."""
        cells = [self.cells(field) or repeat("") for field in ("months", "weeks", "interval")]
        given = zip(days["seen"], days["due"], conditions, *cells)  # noqa: B905 - some never end
        found = [memo[said] for said in given]
        for n, one in enumerate(found if memo.troubled else ()):
            if one.note:
                self.note(n, one.note)
            if one.waits:
                self.waiting[n] = one.waits
        return [[one.values[n] for one in found] for n in range(5)]

    def check_order(self, born: Columns, seen: Columns) -> None:
        """Nobody is seen before they are born."""
        for n, (first, second) in enumerate(zip(born, seen, strict=True)):
            if first and second and second < first:
                self.note(n, Note(Standing.HOLD, "seen: before the birth"))

    def _untroubled(self, field: str, found: list[Any]) -> None:
        for n, value in enumerate(found):
            if value.__class__ is Trouble:
                found[n] = value.value
                if n not in self.outside and n not in self.blank:
                    said = f"{field}: {value.said}" if field else value.said
                    self.note(n, Note(value.standing, said))


def unfit(cell: str, longest: int) -> str | None:
    """Why words cannot be taken; None when they can."""
    if mark := marked(cell):
        return mark.said
    if len(cell) > longest:
        return "too long"
    # Joiners belong to names in several scripts; nothing else that cannot be seen does.
    if not cell.replace("\u200c", "").replace("\u200d", "").isprintable():
        return "a character that has no place in a list"
    if cell[:1] in _FORMULA and cell not in "-":
        return "begins like a formula"
    return None

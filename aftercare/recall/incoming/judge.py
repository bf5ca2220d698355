"""Judge rows of a list, column by column: what is read alike is read once.

A million rows go through here, so a column is one comprehension or one memo, and only rows with
something to say are looked at by themselves.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from aftercare.recall.consent import is_lack
from aftercare.recall.incoming.agreement import Agreement, Life
from aftercare.recall.incoming.batch import SHARES, Batch, outcome_of
from aftercare.recall.incoming.cells import Cells
from aftercare.recall.incoming.columns import Column, ColumnReader
from aftercare.recall.incoming.contacts import LOST_DIGITS, Emails, Phones, national_number
from aftercare.recall.incoming.layout import Layout
from aftercare.recall.incoming.memo import Joint, Memo, heeding
from aftercare.recall.incoming.plan import ImportPlan, Lines, plain
from aftercare.recall.incoming.promises import Promises, Words
from aftercare.recall.incoming.repeats import MOBILE, PERSON, REF, Repeats, keys_of
from aftercare.recall.incoming.trouble import Note
from aftercare.recall.people import Standing
from aftercare.recall.port import IntakeRow

if TYPE_CHECKING:
    from aftercare.recall.incoming.repeats import Keys

_ROUNDED = re.compile(r"\d[.,]?\d*e\+\d+", re.ASCII | re.IGNORECASE)
SHARED_PHONE = "texts:shared-phone"
KEYED = ("ref", "first_name", "last_name", "born", "mobile")  # what keys are made of
_SAME_PERSON = "the same name and date of birth as"
_REGISTERED = "the same name and date of birth as somebody in the register"


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
        self._phones = Phones(plan.country, plan.fiction, invented=invented)
        self._emails = Emails(plan.longest.email)
        self._memos = _memos(plan, words)
        there = layout.at
        self._agreement = Joint(
            heeding(Agreement(plan).read, ""), dict.fromkeys(Agreement.FIELDS, ""), there
        )
        self._life = Joint(heeding(Life(plan).read), dict.fromkeys(Life.FIELDS, ""), there)
        self._promises = Joint(Promises(plan).read, Promises.FIELDS, there)

    def keys(self, cells: Cells) -> Keys:
        """What `repeats` remembers of these rows; of the columns just those `KEYED` count."""
        work = ColumnReader(self._layout, cells)
        longest = self._plan.longest
        refs = work.text("ref", longest.ref)
        names = work.text("first_name", longest.name), work.text("last_name", longest.name)
        born = work.memo("born", self._memos["born"])
        return keys_of(refs, (*names, born), self._mobiles(work))

    def batch(self, first: int, cells: Cells, keys: Keys) -> Batch:
        """Judge rows; ``first`` is the number of the first, ``keys`` are what `keys` said."""
        work = ColumnReader(self._layout, cells)
        longest = self._plan.longest
        refs = work.text("ref", longest.ref)
        if "" in refs:
            work.say_empty("ref", refs)
        self._lost_digits(work, refs)
        names = work.text("first_name", longest.name), work.text("last_name", longest.name)
        for field, column in zip(("first_name", "last_name"), names, strict=True):
            if "" in column:
                work.say_empty(field, column)
        days = {field: work.memo(field, self._memos[field]) for field in ("born", "seen", "due")}
        mobiles = self._mobiles(work)
        emails = work.each("email", self._emails.column, self._empty)
        agreed = work.agreed(self._agreement)
        address = self._address(work)
        work.agreed(self._life)
        self._notes_on_numbers(work)
        conditions = work.memo("condition", self._memos["condition"])
        promised = work.promised(self._promises, {**days, "condition": conditions})
        self._reachable(work, agreed, mobiles, emails, address)
        facts = self._facts(work, keys)
        self._twice(work, first, keys)
        work.check_order(days["born"], days["seen"])
        clinician = work.text("clinician", longest.name)
        columns = [
            refs, *names, days["born"],
            work.memo("language", self._memos["language"]),
            mobiles, emails, address, agreed, facts,
            _households(mobiles, emails, address), None,
            None, None,
            work.text("case", longest.ref),
            days["seen"], conditions,
            work.memo("side", self._memos["side"]),
            [one or None for one in clinician],
            *promised,
            None, None, None, None, None,
        ]  # fmt: skip
        return self._finish(work, first, columns, clinician)

    def _lost_digits(self, work: ColumnReader, refs: Sequence[str]) -> None:
        """A long reference that a spreadsheet took for a number may be several people's by now."""
        if any("+" in ref for ref in refs):
            for n, ref in enumerate(refs):
                if _ROUNDED.fullmatch(ref):
                    work.note(n, Note(Standing.HOLD, f"ref: {LOST_DIGITS}"))

    def _mobiles(self, work: ColumnReader) -> Column:
        return work.each("mobile", self._phones.column, self._empty)

    def _address(self, work: ColumnReader) -> Sequence[str]:
        return work.lines("address", self._plan.longest.address)

    def _notes_on_numbers(self, work: ColumnReader) -> None:
        work.each("national", _national_numbers, self._empty)

    def _reachable(
        self,
        work: ColumnReader,
        agreed: Column,
        mobiles: Column,
        emails: Column,
        address: Sequence[str],
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

    def _facts(self, work: ColumnReader, keys: Keys) -> Column:
        """The facts of each person; that others have the same mobile is one of them."""
        facts = work.memo("needs", self._memos["needs"])
        shares = self._repeats.mobiles.places(keys[MOBILE]).tolist()
        for n in shares:
            facts[n] = _with_shared_phone(facts[n]) if facts[n] else SHARED_PHONE
        work.shares = frozenset(shares)
        return facts

    def _twice(self, work: ColumnReader, first: int, keys: Keys) -> None:
        self._same_ref(work, first, keys[REF])
        work.kept = frozenset(self._repeats.silent.places(keys[REF]).tolist())
        people = self._repeats.people
        again = people.places(keys[PERSON])
        for n, rows in zip(again.tolist(), people.rows_of(keys[PERSON, again]), strict=True):
            self._say_same(work, n, first, rows, _SAME_PERSON)
        for n in self._repeats.registered.places(keys[PERSON]).tolist():
            work.note(n, Note(Standing.HOLD, _REGISTERED))

    def _same_ref(self, work: ColumnReader, first: int, keys: Keys) -> None:
        refs = self._repeats.refs
        again = refs.places(keys)
        for n, rows in zip(again.tolist(), refs.rows_of(keys[again]), strict=True):
            if self._plan.lines is Lines.PEOPLE:
                self._say_same(work, n, first, rows, "ref: the same reference as")
            if rows[0] != first + n:
                work.later.add(n)

    def _say_same(
        self, work: ColumnReader, n: int, first: int, rows: Sequence[int], said: str
    ) -> None:
        others = [self._named(row) for row in rows if row != first + n]
        if others:
            word = "row" if len(others) == 1 else "rows"
            work.note(n, Note(Standing.HOLD, f"{said} {word} {', '.join(others)}"))

    def _finish(
        self, work: ColumnReader, first: int, columns: list[Any], clinician: Sequence[str]
    ) -> Batch:
        at, count = IntakeRow._fields.index, work.count
        columns[at("standing")], columns[at("reasons")] = _standings(work)
        columns[at("otherwise")] = _otherwise(work)
        state = [None if due is None else "scheduled" for due in columns[at("due")]]
        waiting: list[str | None] = [None] * count
        because: list[str | None] = [None] * count
        for n, why in work.waiting.items():
            state[n], because[n] = "waiting", why
            waiting[n] = clinician[n] or self._plan.by
        columns[at("state")], columns[at("waiting_on")] = state, waiting
        columns[at("because")] = because
        columns = [[None] * count if one is None else one for one in columns]
        if work.later:
            _leave_out_people(columns, work.later)
        outside = work.outside | work.blank
        if "" in columns[0]:
            outside |= {n for n, ref in enumerate(columns[0]) if not ref}
        return Batch(
            first=first,
            columns=columns,
            notes=work.notes,
            outside=frozenset(outside),
            blank=frozenset(work.blank),
            shares=work.shares,
            kept=work.kept,
            count=count,
        )


def _standings(work: ColumnReader) -> tuple[list[str], list[str]]:
    """The standing and the reasons of each row."""
    standing, reasons = ["ready"] * work.count, [""] * work.count
    for n in work.shares:
        reasons[n] = SHARES.said
    for n, notes in work.notes.items():
        standing[n] = outcome_of(notes).value
        # Whether it outlasts a consent on record is seen by how the first begins.
        ordered = sorted((note.said for note in notes), key=lambda said: not is_lack(said))
        said = dict.fromkeys(ordered)
        reasons[n] = "\n".join([*said, reasons[n]] if reasons[n] else said)
    return standing, reasons


def _otherwise(work: ColumnReader) -> list[str | None]:
    """What the standing of each would be with consent, where nothing else silences them."""
    found: list[str | None] = [None] * work.count
    for n, notes in work.notes.items():
        others = [note for note in notes if not is_lack(note.said)]
        without = outcome_of(others)
        if len(others) < len(notes) and without is not Standing.SILENT:
            found[n] = without.value
    return found


def _leave_out_people(columns: list[Any], later: set[int]) -> None:
    """A person's own columns stand once; visits and recalls go in with each row."""
    for column in range(1, 14):
        columns[column] = list(columns[column])
        for n in later:
            columns[column][n] = None


def _households(mobiles: Column, emails: Column, address: Sequence[str]) -> Column:
    """The household of each: known by what its people share, as RFC 3966 and 6068 name it."""
    return [
        "tel:" + mobile
        if mobile
        else "mailto:" + email.lower()
        if email
        else "post:" + plain(lines)
        if lines
        else None
        for mobile, email, lines in zip(mobiles, emails, address, strict=True)
    ]


def _memos(plan: ImportPlan, words: Words) -> dict[str, Memo]:
    return {
        "born": Memo(heeding(words.born)),
        "seen": Memo(heeding(words.seen)),
        "due": Memo(heeding(words.due)),
        "language": Memo(heeding(words.language, plan.language)),
        "condition": Memo(heeding(words.conditions, "")),
        "side": Memo(heeding(words.side)),
        "needs": Memo(heeding(words.needs, "")),
    }


def _national_numbers(cells: Sequence[str]) -> Column:
    return [national_number(cell) if cell else None for cell in cells]


def _with_shared_phone(facts: str) -> str:
    return " ".join(sorted({*facts.split(), SHARED_PHONE}))


def _clinic_number(plan: ImportPlan) -> str:
    from phonenumbers import PhoneNumberFormat, format_number, parse

    number = parse(plan.clinic.phone, plan.clinic.territory)
    return str(format_number(number, PhoneNumberFormat.E164))

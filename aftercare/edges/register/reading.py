"""What a register holds, as values; long answers are streamed."""

from __future__ import annotations

import zlib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import date, datetime
from itertools import islice
from typing import Any

from sqlalchemy import (
    BigInteger,
    ColumnElement,
    Connection,
    Engine,
    Executable,
    Select,
    and_,
    cast,
    event,
    exists,
    func,
    or_,
    select,
    text,
    true,
)

from aftercare.edges.register import rows
from aftercare.edges.register import tables as t
from aftercare.edges.register.engine import refusals
from aftercare.edges.register.place import Place
from aftercare.model import Fact, Moment
from aftercare.recall.people import Happened, Person, Recall, RecallState, Reminder, Seen
from aftercare.recall.port import WHOLE, Course, Loose, Part

AT_A_TIME = 1000
_SCHEDULED = text("recalls.state = 'scheduled'")  # as text, or SQLite would not use its index
_NO_VISIT = t.recalls.c.news.in_((Moment.CANCELLED.value, Moment.MISSED.value))
_OPEN = text("recalls.state <> 'closed'")
_WITH_PERSON = select(*rows.RECALL_COLUMNS, *rows.PERSON_COLUMNS).join_from(
    t.recalls, t.patients, t.recalls.c.pid == t.patients.c.pid
)
# A number for a text, the same in every process, on SQLite; PostgreSQL has one of its own.
_HASH = "aftercare_hash"
_HOUSEHOLD = func.coalesce(t.patients.c.household, t.patients.c.ref)
# Whose household a reminder is for, asked of each: joined, SQLite might begin with the patients.
OF_REMINDER = (
    select(_HOUSEHOLD)
    .select_from(t.recalls.join(t.patients))
    .where(t.recalls.c.rid == t.reminders.c.rid)
    .correlate(t.reminders)
    .scalar_subquery()
)


class Reader:
    """The reading half of a `Register`."""

    def __init__(self, place: Place, engine: Engine) -> None:
        self._place = place
        self._engine = engine
        if engine.dialect.name == "sqlite":
            event.listen(engine, "connect", _give_hash)

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        with refusals(self._place), self._engine.connect() as connection:
            yield connection

    def _stream(self, query: Executable) -> Iterator[Any]:
        with self._reading() as connection:
            yield from connection.execution_options(yield_per=AT_A_TIME).execute(query)

    def _all(self, query: Select[Any]) -> list[Any]:
        with self._reading() as connection:
            return list(connection.execute(query))

    def standings(self) -> Iterator[tuple[str, str, str, date | None, str]]:
        """Everybody's reference, names, birth and standing, in no order; streamed."""
        p = t.patients.c
        query = select(p.ref, p.first_name, p.last_name, p.born, p.standing)
        yield from map(tuple, self._stream(query.where(p.forgotten.is_(None))))

    def person(self, ref: str) -> Person | None:
        """Who has this reference."""
        return next(self._some([ref]), None)

    def people(self, refs: Iterable[str] | None = None) -> Iterator[Person]:
        """Those with these references, or everybody, by reference; streamed."""
        if refs is None:
            query = select(*rows.PERSON_COLUMNS).order_by(t.patients.c.ref)
            yield from map(rows.person, self._stream(query))
            return
        wanted = iter(sorted(set(refs)))
        while some := list(islice(wanted, AT_A_TIME // 2)):
            yield from self._some(some)

    def _some(self, refs: list[str]) -> Iterator[Person]:
        query = select(*rows.PERSON_COLUMNS).where(t.patients.c.ref.in_(refs))
        yield from map(rows.person, self._all(query.order_by(t.patients.c.ref)))

    def visits(self, ref: str) -> tuple[Seen, ...]:
        """The visits of one person, the oldest first."""
        query = select(t.visits).join(t.patients).where(t.patients.c.ref == ref)
        found = self._all(query.order_by(t.visits.c.seen, t.visits.c.case_ref))
        return tuple(rows.seen(one, ref) for one in found)

    def recalls(self, ref: str) -> tuple[Recall, ...]:
        """The recalls of one person, open and closed, the oldest anchor first."""
        joined = t.recalls.join(t.patients)
        query = select(*rows.RECALL_COLUMNS).select_from(joined).where(t.patients.c.ref == ref)
        found = self._all(query.order_by(t.recalls.c.anchor, t.recalls.c.rid))
        return tuple(rows.recall(one, ref) for one in found)

    def reminders(self, ref: str) -> tuple[Reminder, ...]:
        """The reminders of one person, by day."""
        joined = t.reminders.join(t.recalls).join(t.patients)
        query = select(*rows.REMINDER_COLUMNS).select_from(joined).where(t.patients.c.ref == ref)
        found = self._all(query.order_by(t.reminders.c.day, t.reminders.c.id))
        return tuple(map(rows.reminder, found))

    def history(self, ref: str) -> tuple[Happened, ...]:
        """What happened to one person, the oldest first."""
        query = select(t.happened).join(t.patients).where(t.patients.c.ref == ref)
        return tuple(map(rows.happened, self._all(query.order_by(t.happened.c.seq))))

    def due(self, first: date | None, last: date) -> Iterator[tuple[Recall, Person]]:
        """Scheduled recalls due from ``first`` (or ever) to ``last``, by day; streamed."""
        query = _WITH_PERSON.where(_OPEN, _SCHEDULED, t.recalls.c.due <= last)
        if first is not None:
            query = query.where(t.recalls.c.due >= first)
        return self._pairs(query.order_by(t.recalls.c.due, t.recalls.c.rid))

    def open_due(self, first: date | None, last: date) -> Iterator[tuple[Recall, Person]]:
        """Open recalls, waiting ones too, due from ``first`` (or ever) to ``last``; streamed."""
        query = _WITH_PERSON.where(_OPEN, t.recalls.c.due <= last)
        if first is not None:
            query = query.where(t.recalls.c.due >= first)
        return self._pairs(query.order_by(t.recalls.c.due, t.recalls.c.rid))

    def count_open_before(self, day: date) -> int:
        """How many open recalls were due before a day."""
        query = select(func.count()).select_from(t.recalls).where(_OPEN, t.recalls.c.due < day)
        return int(self._all(query)[0][0])

    def open_recalls(self) -> Iterator[tuple[Recall, Person]]:
        """Every recall that is not closed, by day due; streamed."""
        return self._pairs(_WITH_PERSON.where(_OPEN).order_by(t.recalls.c.due, t.recalls.c.rid))

    def all_recalls(self, *, part: Part = WHOLE) -> Iterator[tuple[Recall, Person]]:
        """Every recall of a part, closed ones too, by number; streamed."""
        return self._pairs(_WITH_PERSON.where(self._in(part, _HOUSEHOLD)).order_by(t.recalls.c.rid))

    def _pairs(self, query: Select[Any]) -> Iterator[tuple[Recall, Person]]:
        for row in self._stream(query):
            person = rows.person(row[rows.RECALL_WIDTH :])
            yield rows.recall(row[: rows.RECALL_WIDTH], person.ref), person

    def all_reminders(self, *, part: Part = WHOLE) -> Iterator[Reminder]:
        """Every reminder of a part, by recall and day; streamed."""
        order = (t.reminders.c.rid, t.reminders.c.day, t.reminders.c.id)
        query = select(*rows.REMINDER_COLUMNS).where(self._in(part, OF_REMINDER))
        yield from map(rows.reminder, self._stream(query.order_by(*order)))

    def written_to(self, first: datetime, last: datetime, *, part: Part = WHOLE) -> Iterator[str]:
        """The households a reminder was prepared for from ``first`` up to ``last``; streamed."""
        settled = t.reminders.c.settled
        query = (
            select(_HOUSEHOLD)
            .select_from(t.reminders.join(t.recalls).join(t.patients))
            .where(text("reminders.state = 'prepared'"), self._in(part, _HOUSEHOLD))
            .where(settled >= rows.moment(first), settled < rows.moment(last))
        )
        yield from (row[0] for row in self._stream(query))

    def _in(self, part: Part, household: ColumnElement[str]) -> ColumnElement[bool]:
        """Whether a household is in a part; true at once of the whole."""
        if part == WHOLE:
            return true()
        on_server = self._engine.dialect.name == "postgresql"
        hashed = func.hashtext(household) if on_server else getattr(func, _HASH)(household)
        # Made longer first: the least of a 32-bit number has no positive of its length.
        return func.abs(cast(hashed, BigInteger)) % part.of == part.number

    def digests(self, keys: Iterable[str], batch: str) -> dict[str, str]:
        """The digest of each of these reminders that was prepared in a batch, by key."""
        found: dict[str, str] = {}
        waiting, r = iter(keys), t.reminders.c
        # Before the third edition nothing said which batch it was.
        there = (
            text("reminders.state = 'prepared'"),
            r.claimed_by.is_(None) | (r.claimed_by == batch),
        )
        while some := list(islice(waiting, AT_A_TIME // 2)):
            query = select(r.key, r.digest).where(*there, r.key.in_(some))
            found.update((row.key, row.digest) for row in self._all(query))
        return found

    def audit(self) -> Iterator[Loose]:
        """Open recalls that are not followed by anybody; nothing when nobody is lost.

        The tables themselves refuse one that waits on nobody, but not one that is scheduled for
        somebody who may not be written to.
        """
        for query, because in _LOOSE:
            for row in self._stream(query):
                yield Loose(recall=row.rid, person=row.ref, because=because)

    def unrecalled(self, condition: Fact) -> Iterator[str]:
        """Those who may be contacted, come back for a condition, and have no recall for it.

        One that is open counts, and one that was closed with another reason than a visit since
        the condition was last seen.
        """
        for row in self._stream(_UNRECALLED.bindparams(condition=condition)):
            yield row.ref

    def unattended(self, last: date, since: datetime) -> Iterator[tuple[Recall, Person]]:
        """Scheduled recalls due by ``last``, or booked, called off or missed before ``since``, of
        which no reminder is planned, and none was prepared or skipped since; by day, streamed.
        """
        moment = rows.moment(since)
        r = t.reminders.c
        lively = select(r.id).where(
            r.rid == t.recalls.c.rid, or_(text("reminders.state = 'planned'"), r.settled >= moment)
        )
        over = or_(
            and_(t.recalls.c.booked.is_(None), t.recalls.c.due <= last),
            t.recalls.c.booked < moment,
            and_(t.recalls.c.booked.is_(None), t.recalls.c.news_on <= since.date(), _NO_VISIT),
        )
        query = _WITH_PERSON.where(_SCHEDULED, over, ~exists(lively))
        return self._pairs(query.order_by(t.recalls.c.due, t.recalls.c.rid))

    def courses(self) -> Iterator[Course]:
        """Every recall of everybody, somebody's together, and who has none; streamed.

        Whoever was forgotten is left out.
        """
        r = t.reminders.c
        written = exists().where(r.rid == t.recalls.c.rid, text("reminders.state = 'prepared'"))
        p = t.patients.c
        query = (
            select(p.pid, written, *rows.RECALL_COLUMNS)
            .select_from(t.patients.outerjoin(t.recalls))
            .where(p.forgotten.is_(None))
            .order_by(p.pid)
        )
        for number, reached, *row in self._stream(query):
            recall = None if row[0] is None else rows.recall(row, "")
            told = recall is not None and (recall.told or recall.booked is not None)
            yield Course(patient=number, recall=recall, reached=bool(reached) or told)

    def count_by_state(self) -> dict[RecallState, int]:
        """How many recalls are in each state."""
        query = select(t.recalls.c.state, func.count()).group_by(t.recalls.c.state)
        found = {state: int(count) for state, count in self._all(query)}
        return {one: found.get(one.value, 0) for one in RecallState}


def _give_hash(connection: Any, _: object) -> None:
    connection.create_function(_HASH, 1, lambda text: zlib.crc32(text.encode()))


# Who was seen with a condition, or came for it, and when last. A visit that ended a recall is
# told by its reason (`recall.decide.CAME`).
_UNRECALLED = text("""
SELECT p.ref FROM patients p WHERE p.standing = 'ready' AND EXISTS (
  SELECT 1 FROM (
    SELECT max(last) AS last FROM (
      SELECT v.seen AS last FROM visits v WHERE v.pid = p.pid
        AND ' ' || v.conditions || ' ' LIKE '% ' || :condition || ' %'
      UNION ALL
      SELECT r.closed FROM recalls r WHERE r.pid = p.pid AND r.condition = :condition
        AND r.state = 'closed' AND (r.because = 'came' OR r.because LIKE 'came:%')
    ) AS known
  ) AS latest WHERE latest.last IS NOT NULL AND NOT EXISTS (
    SELECT 1 FROM recalls r WHERE r.pid = p.pid AND r.condition = :condition
      AND (r.state <> 'closed'
        OR (r.because <> 'came' AND r.because NOT LIKE 'came:%' AND r.closed >= latest.last))
  )
) ORDER BY p.pid""")


def _loose(*where: Any) -> Select[Any]:
    joined = select(t.recalls.c.rid, t.patients.c.ref).join(t.patients).where(*where)
    return joined.order_by(t.recalls.c.rid)


_LOOSE = (
    (
        _loose(_SCHEDULED, t.patients.c.standing != "ready"),
        "scheduled, but the person may not be contacted: put it on somebody",
    ),
    (
        _loose(text("recalls.state = 'waiting'"), text("trim(coalesce(waiting_on, '')) = ''")),
        "waits, but on nobody",
    ),
    (
        _loose(text("recalls.state = 'closed'"), text("trim(coalesce(because, '')) = ''")),
        "closed without a reason",
    ),
    (
        _loose(text("recalls.state NOT IN ('scheduled', 'waiting', 'closed')")),
        "in no state there is",
    ),
)

"""The reminders that wait to be written: planned, claimed for a while, and settled once."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date, datetime
from itertools import islice
from typing import Any

from sqlalchemy import ColumnElement, Connection, delete, insert, select, text, update

from aftercare.edges.register import rows
from aftercare.edges.register import tables as t
from aftercare.edges.register.reading import AT_A_TIME, OF_REMINDER, Reader
from aftercare.edges.register.work import Work, working
from aftercare.recall.people import Deed, Person, Recall, Reminder, ReminderState
from aftercare.recall.port import WHOLE, Claimed, InBatch, Part, Settled, Underway
from aftercare.recall.steps import visit_mark

_PLANNED = text("reminders.state = 'planned'")
# The batch of what was prepared in a folder that is lost.
_LOST = "lost"
_IN_ORDER = (t.reminders.c.day, t.reminders.c.id)


class ReminderQueue(Reader):
    """The part of a `Register` that hands reminders out and takes them back."""

    def plan(self, reminders: Iterable[Reminder], deed: Deed) -> int:
        """Keep reminders to be written; those whose key is known already are left."""
        new, waiting = 0, iter(reminders)
        with working(self._place, self._engine) as work:
            while some := list(islice(waiting, AT_A_TIME)):
                new += _many(work, _PLAN, list(map(rows.planned_values, some)))
            if new:
                work.happened(_counted(deed, new))
        return new

    def claim(
        self, day: date, *, worker: str, now: datetime, until: datetime, limit: int,
        after: Claimed | None = None, part: Part = WHOLE,
    ) -> tuple[Claimed, ...]:  # fmt: skip
        """Planned reminders for ``day`` or earlier that nobody else holds, held to ``until``."""
        ours = _lapsed(now) & self._in(part, OF_REMINDER)
        held = {"claimed_by": worker, "claimed_until": rows.moment(until)}
        with working(self._place, self._engine) as work:
            ids = _free(work, ours, day, limit, after)
            for some in _some(ids):
                mine = update(t.reminders).where(t.reminders.c.id.in_(some))
                work.connection.execute(mine.values(held))
        # Read when they are ours: as long as that takes, nobody need wait for a turn to write.
        with self._reading() as connection:
            return tuple(_claimed(connection, ids))

    def release(self, worker: str) -> int:
        """Let go of whatever a worker still holds, as one that was killed does. How many."""
        with working(self._place, self._engine) as work:
            return _release(work, worker)

    def settle(
        self, settled: Iterable[Settled], deed: Deed, *, batch: InBatch | None = None
    ) -> int:
        """Say what became of planned reminders, once. How many were not settled before."""
        done, waiting = 0, iter(settled)
        with working(self._place, self._engine) as work:
            while some := list(islice(waiting, AT_A_TIME)):
                done += _settle(work, some, rows.moment(deed.at), batch)
                _tell(work, some)
            if batch is not None:
                this = t.outboxes.c.name == batch.run
                told = update(t.outboxes).where(this).values(batch=batch.name)
                work.connection.execute(told)
            if done:
                work.happened(_counted(deed, done))
        return done

    def hand_over(self, swaps: Iterable[tuple[Recall, Recall]], deed: Deed) -> int:
        """Put recalls on somebody by name; those changed meanwhile are left. How many were put."""
        done, waiting = 0, iter(swaps)
        with working(self._place, self._engine) as work:
            while some := list(islice(waiting, AT_A_TIME // 2)):
                done += _hand_over(work, some, deed)
        return done

    # --- who writes where ---------------------------------------------------------------

    def underway(self) -> tuple[Underway, ...]:
        """The runs that write, or were stopped while they did."""
        query = select(t.outboxes).order_by(t.outboxes.c.name)
        return tuple(map(rows.underway, self._all(query)))

    def set_out(self, run: Underway) -> None:
        """Say where a run writes to, before it claims anything."""
        with working(self._place, self._engine) as work:
            _forget_run(work, run)
            work.connection.execute(insert(t.outboxes).values(rows.underway_values(run)))

    def arrived(self, run: Underway) -> None:
        """A run has ended, and all it settled is in place; what it held is let go of."""
        with working(self._place, self._engine) as work:
            _release(work, run.worker)
            _forget_run(work, run)

    def given_up(self, run: Underway) -> None:
        """A run's folder is lost: its last batch is never put in place, and it holds nothing."""
        with working(self._place, self._engine) as work:
            this = text("reminders.state = 'prepared'"), t.reminders.c.claimed_by == run.batch
            work.connection.execute(update(t.reminders).where(*this).values(claimed_by=_LOST))
            _release(work, run.worker)
            _forget_run(work, run)

    def prepared_in(self, batch: str) -> tuple[tuple[Reminder, Person], ...]:
        """What was settled with a batch, with whose it is."""
        query = select(*rows.REMINDER_COLUMNS, *rows.PERSON_COLUMNS).select_from(
            t.reminders.join(t.recalls).join(t.patients)
        )
        prepared = text("reminders.state = 'prepared'"), t.reminders.c.claimed_by == batch
        width = rows.REMINDER_WIDTH
        found = self._all(query.where(*prepared).order_by(*_IN_ORDER))
        return tuple((rows.reminder(row[:width]), rows.person(row[width:])) for row in found)


def _counted(deed: Deed, count: int) -> Deed:
    return replace(deed, details=(*deed.details, ("count", str(count))))


def _some(ids: list[int]) -> Iterator[list[int]]:
    """So many at a time as a statement may name."""
    for start in range(0, len(ids), AT_A_TIME // 2):
        yield ids[start : start + AT_A_TIME // 2]


def _lapsed(now: datetime) -> ColumnElement[bool]:
    until = t.reminders.c.claimed_until
    return until.is_(None) | (until <= rows.moment(now))


def _free(
    work: Work, ours: ColumnElement[bool], last: date, limit: int, after: Claimed | None
) -> list[int]:
    """The numbers of those nobody holds, read on from ``after`` so that none is read twice.

    In two steps, the rest of its day and the days after it: SQLite does not find the place in its
    index when it is asked for both at once.
    """
    r = t.reminders.c
    if after is None:
        return _numbers(work, ours, r.day <= last, limit=limit)
    day, number = after.reminder.day, after.number
    found = _numbers(work, ours, r.day == day, r.id > number, limit=limit)
    if len(found) < limit:
        found += _numbers(work, ours, r.day > day, r.day <= last, limit=limit - len(found))
    return found


def _numbers(work: Work, *where: ColumnElement[bool], limit: int) -> list[int]:
    query = select(t.reminders.c.id).where(_PLANNED, *where).order_by(*_IN_ORDER)
    held = query.limit(limit).with_for_update(skip_locked=True)
    return list(work.connection.execute(held).scalars())


_CLAIMED = select(
    t.reminders.c.id, *rows.REMINDER_COLUMNS, *rows.RECALL_COLUMNS, *rows.PERSON_COLUMNS
).select_from(t.reminders.join(t.recalls).join(t.patients))


def _claimed(connection: Connection, ids: list[int]) -> Iterator[Claimed]:
    first, second = 1 + rows.REMINDER_WIDTH, 1 + rows.REMINDER_WIDTH + rows.RECALL_WIDTH
    for some in _some(ids):
        query = _CLAIMED.where(t.reminders.c.id.in_(some)).order_by(*_IN_ORDER)
        for row in connection.execute(query).all():
            person = rows.person(row[second:])
            yield Claimed(
                reminder=rows.reminder(row[1:first]),
                recall=rows.recall(row[first:second], person.ref),
                person=person,
                number=row[0],
            )


def _release(work: Work, worker: str) -> int:
    held = update(t.reminders).where(_PLANNED, t.reminders.c.claimed_by == worker)
    free = held.values(claimed_by=None, claimed_until=None)
    return int(work.connection.execute(free).rowcount)


def _forget_run(work: Work, run: Underway) -> None:
    work.connection.execute(delete(t.outboxes).where(t.outboxes.c.name == run.name))


# For the driver as they are: a built statement takes half as long again for each row, and engines
# do not say how many rows of it were new.
_PLAN = (
    "INSERT INTO reminders (rid, step, channel, day, key, not_before, not_after, state)"
    " VALUES (?, ?, ?, ?, ?, ?, ?, 'planned') ON CONFLICT (key) DO NOTHING"
)
_PUT_ON = "UPDATE recalls SET state = ?, waiting_on = ?, because = ? WHERE rid = ?"
_SETTLE = (
    "UPDATE reminders SET state = ?, because = ?, digest = ?, settled = ?, claimed_by = ?,"
    " claimed_until = NULL WHERE key = ? AND state = 'planned'"
)


def _many(work: Work, statement: str, values: list[tuple[Any, ...]]) -> int:
    """Run a statement for each of many rows; how many it changed."""
    if work.connection.dialect.name == "postgresql":
        statement = statement.replace("?", "%s")
    return int(work.connection.exec_driver_sql(statement, values).rowcount)


def _settle(work: Work, some: list[Settled], at: str, batch: InBatch | None) -> int:
    """Settle those that are still planned; a second word on the same one changes nothing."""
    if any(one.state is ReminderState.PLANNED for one in some):
        raise ValueError("a reminder is settled as prepared or skipped")
    name = None if batch is None else batch.name
    return _many(work, _SETTLE, [_row(one, at, name) for one in some])


def _tell(work: Work, some: list[Settled]) -> None:
    """Keep that patients know of a visit as it is, once a message about it is prepared."""
    keys = [one.key for one in some if one.state is ReminderState.PREPARED and "@" in one.key]
    told = []
    for few in _few(keys):
        query = _OF_RECALL.where(t.reminders.c.key.in_(few), t.recalls.c.told.is_(False))
        for key, *row in work.connection.execute(query):
            recall = rows.recall(row, "")
            if key.endswith(visit_mark(recall)):
                told.append(recall.id)
    for few_told in _some(told):
        of_these = update(t.recalls).where(t.recalls.c.rid.in_(few_told))
        work.connection.execute(of_these.values(told=True))


_OF_RECALL = select(t.reminders.c.key, *rows.RECALL_COLUMNS).select_from(
    t.reminders.join(t.recalls)
)


def _few(keys: list[str]) -> Iterator[list[str]]:
    for start in range(0, len(keys), AT_A_TIME // 2):
        yield keys[start : start + AT_A_TIME // 2]


def _hand_over(work: Work, some: list[tuple[Recall, Recall]], deed: Deed) -> int:
    """Put those that are as they were read on somebody, each with its row in the chain."""
    query = select(t.recalls.c.pid, t.patients.c.ref, *rows.RECALL_COLUMNS).select_from(
        t.recalls.join(t.patients)
    )
    mine = query.where(t.recalls.c.rid.in_([before.id for before, _ in some]))
    found = {
        row[2]: (row[0], rows.recall(row[2:], row[1]))
        for row in work.connection.execute(mine.with_for_update(of=t.recalls))
    }
    put = [(found[was.id][0], now) for was, now in some if found.get(was.id, (0, None))[1] == was]
    if put:
        values = [(one.state.value, one.waiting_on, one.because, one.id) for _, one in put]
        _many(work, _PUT_ON, values)
    for pid, _ in put:
        work.happened(deed, pid)
    return len(put)


def _row(one: Settled, at: str, batch: str | None) -> tuple[Any, ...]:
    moment = at if one.at is None else rows.moment(one.at)
    return one.state.value, one.because, one.digest, moment, batch, one.key

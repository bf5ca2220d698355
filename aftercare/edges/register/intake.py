"""Many rows at once: staged as they come, merged by whole statements, all in one transaction."""

# ruff: noqa: S608 - what is put into these statements are the names of columns, never a value

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from sqlalchemy import text

from aftercare.edges.register.control import Total, columns, of_recalls
from aftercare.edges.register.parcel import COLUMNS, pack, unpack
from aftercare.edges.register.work import Work
from aftercare.errors import BadInput
from aftercare.recall.consent import Want, lack
from aftercare.recall.decide import AGREED, SILENCED
from aftercare.recall.people import Deed, What
from aftercare.recall.port import IntakeRow, OptOutRow, Taken

_PERSON = COLUMNS[1:14]
# What somebody agreed to later, on record with a name, is not undone by a list that has no consent,
# which may only not know, nor by a no from before that day. Every other no undoes it: an undated
# one may be newer.
_ON_RECORD = f"patients.standing <> 'silent' AND patients.reasons LIKE '%{AGREED}%'"
_RECORD = f"substr(patients.reasons, {{find}}(patients.reasons, '{AGREED}'))"
_SINCE = f"substr({_RECORD}, {len(AGREED) + 1}, 10)"
_DATED = lack(Want.REFUSED, date.max).partition(str(date.max))[0]
_OLD_NO = f"(s.reasons LIKE '{_DATED}%' AND substr(s.reasons, {len(_DATED) + 1}, 10) < {_SINCE})"
_OUTLASTED = f"(s.reasons LIKE '{lack(Want.NOT_ASKED, None)}%' OR {_OLD_NO})"
_OUTLASTS = f"({_ON_RECORD} AND s.otherwise IS NOT NULL AND {_OUTLASTED})"
_UNDONE = f"({_ON_RECORD} AND s.standing = 'silent' AND NOT {_OUTLASTS})"
# The record goes on standing behind whatever else a list says of somebody who may be written to.
_BEFORE_RECORD = """CASE WHEN s.standing = 'silent'
THEN substr(s.reasons || '\n', {find}(s.reasons || '\n', '\n') + 1)
WHEN s.reasons = '' THEN '' ELSE s.reasons || '\n' END"""


def _weight(reasons: str) -> str:
    """How much the reasons of a silent person weigh, in SQL: a death outlasts a missing consent."""
    return f"""CASE WHEN {reasons} LIKE '%died%' OR {reasons} LIKE '%deceased%'
OR {reasons} LIKE '%moved away%' THEN 3
WHEN {reasons} LIKE '%{Want.REFUSED}%' OR {reasons} LIKE '%consent withdrawn%' THEN 2
WHEN {reasons} LIKE '%{Want.NOT_ASKED}%' THEN 0
WHEN {reasons} LIKE '%no consent%' THEN 1 ELSE 3 END"""


# A death or a withdrawn consent is not undone by the next list that does not mention it.
_KEPT = {
    "standing": f"CASE WHEN patients.standing = 'silent' THEN 'silent' WHEN {_OUTLASTS}"
    " THEN s.otherwise ELSE s.standing END",
    "reasons": f"CASE WHEN patients.standing = 'silent' AND (s.standing <> 'silent'"
    f" OR {_weight('patients.reasons')} > {_weight('s.reasons')}) THEN patients.reasons"
    f" WHEN {_ON_RECORD} AND NOT {_UNDONE} THEN {_BEFORE_RECORD} || {_RECORD}"
    " ELSE s.reasons END",
    "agreed": f"CASE WHEN {_OUTLASTS} THEN patients.agreed ELSE s.agreed END",
}
_STRANGER = """
SELECT count(*) FROM {source} s WHERE s.first_name IS NULL
AND NOT EXISTS (SELECT 1 FROM patients p WHERE p.ref = s.ref)"""
_NEW_PEOPLE = f"""
INSERT{{at_fault}} INTO patients (ref, {", ".join(_PERSON)})
SELECT ref, {", ".join(_PERSON)} FROM {{source}} WHERE first_name IS NOT NULL {{order}}
ON CONFLICT (ref) DO NOTHING"""
_CHANGED_PEOPLE = f"""
UPDATE{{at_fault}} patients
SET {", ".join(f"{one} = {_KEPT.get(one, f's.{one}')}" for one in _PERSON)}
FROM {{source}} s WHERE patients.ref = s.ref AND s.first_name IS NOT NULL
AND ({", ".join(f"patients.{one}" for one in _PERSON)})
{{differ}} ({", ".join(_KEPT.get(one, f"s.{one}") for one in _PERSON)})"""
_VISITS = """
INSERT{at_fault} INTO visits (pid, seen, case_ref, conditions, side, clinician)
SELECT {pid}, s.seen, coalesce(s."case", ''), coalesce(s.conditions, ''), s.side, s.clinician
FROM {whose} WHERE s.seen IS NOT NULL
ON CONFLICT DO NOTHING"""
_RECALLS = """
INSERT{at_fault} INTO recalls
(pid, condition, anchor, months, weeks, due, state, waiting_on, because, closed, told)
SELECT {pid}, coalesce(s.condition, ''), s.anchor, coalesce(s.months, 0), coalesce(s.weeks, 0),
s.due,
CASE WHEN s.state = 'scheduled' AND {standing} <> 'ready' THEN 'waiting' ELSE s.state END,
CASE WHEN s.state = 'scheduled' AND {standing} <> 'ready' THEN :by ELSE s.waiting_on END,
CASE WHEN s.state = 'scheduled' AND {standing} <> 'ready' THEN :why ELSE s.because END,
s.closed, false
FROM {whose} WHERE s.anchor IS NOT NULL
ON CONFLICT DO NOTHING"""
# Whose the rows are: of who has the same reference; or, where all are new and were numbered in the
# order of the rows, of the number that a row's place gives.
_BY_REF = {
    "pid": "p.pid",
    "standing": "p.standing",
    "whose": "{source} s {join} patients p ON p.ref = s.ref",
}
_BY_PLACE = {"pid": "s.rowid + {before}", "standing": "s.standing", "whose": "{source} s"}
_BEFORE = "SELECT max(pid) - (SELECT max(rowid) FROM {source}) FROM patients"
_SIZES = """
SELECT count(*), count(first_name), count(CASE WHEN standing <> 'ready' THEN 1 END) FROM {source}"""
_HAND_OVER = """
UPDATE{at_fault} recalls SET state = 'waiting', waiting_on = :by, because = :why
WHERE state = 'scheduled' AND pid IN (SELECT p.pid FROM {source} s {join} patients p
ON p.ref = s.ref WHERE s.first_name IS NOT NULL AND p.standing <> 'ready') RETURNING pid"""
_SILENCED = f"""
SELECT p.pid FROM {{source}} s {{join}} patients p ON p.ref = s.ref
WHERE s.otherwise IS NOT NULL AND {_UNDONE.replace("patients.", "p.")}"""
_OPT_OUT = """
INSERT INTO preferences (pid, topic, channel)
SELECT pid, :topic, :channel FROM patients WHERE ref = :ref ON CONFLICT DO NOTHING"""


class StagedIntake:
    """An `Intake` that fills a temporary table and merges it. Subclasses say how it is filled."""

    source = "temp.staged"
    # SQLite would sooner walk all patients for each chunk; CROSS keeps the order as written.
    join = "CROSS JOIN"
    differ = "IS NOT"
    # SQLite gives new rows the next numbers in the order it reads them. PostgreSQL may not.
    order = "ORDER BY rowid"
    # Whatever fails takes the whole transaction with it. To be able to undo one statement alone,
    # SQLite would keep each page that it changes in memory: more of them the larger the register.
    at_fault = " OR FAIL"
    find = "instr"

    def __init__(self, work: Work, deed: Deed, place: str) -> None:
        self._work = work
        self._deed = deed
        self._place = place
        self._taken = Taken()
        self._begin()

    def rows(self, rows: Sequence[IntakeRow]) -> None:
        """Take rows in."""
        self._stage(rows)
        self._merge()

    def parcel(self, packed: bytes) -> None:
        """Take in what another process packed."""
        self._stage(unpack(packed))
        self._merge()

    def opt_outs(self, rows: Sequence[OptOutRow]) -> None:
        """Add opt-outs."""
        for ref, topic, channel in rows:
            values = {"ref": ref, "topic": topic, "channel": channel}
            self._count(opt_outs=self._run(_OPT_OUT, **values))

    def taken(self) -> Taken:
        """What changed so far."""
        return self._taken

    def finish(self) -> None:
        """Say what was taken in, unless nothing changed."""
        self._end()
        if self._taken.nothing:
            return
        taken = self._taken
        self._work.moves(Total(people=taken.new, opt_outs=taken.opt_outs))
        counts = tuple((name, str(getattr(taken, name))) for name in Taken.__dataclass_fields__)
        self._work.happened(replace(self._deed, details=self._deed.details + counts))

    def _merge(self) -> None:
        rows, people, silenced = self._execute(_SIZES).one()
        new = self._run(_NEW_PEOPLE)
        blame = {"by": self._deed.by, "why": SILENCED}
        if self.order and 0 < new == rows:
            before = str(self._ask(_BEFORE))
            self._count(new=new)
            self._add(
                {name: part.replace("{before}", before) for name, part in _BY_PLACE.items()}, blame
            )
        else:
            if silenced:
                self._undo_consents()
            self._merge_people(new, people)
            self._add(_BY_REF, blame)
            if silenced:
                self._hand_over(blame)
        self._clear()

    def _merge_people(self, new: int, people: int) -> None:
        """Those who are there already, after those who are new."""
        changed = self._run(_CHANGED_PEOPLE) if new < people else 0
        if self._ask(_STRANGER):
            raise BadInput(self._place, "a visit or recall of somebody unknown", "nothing changed")
        self._count(new=new, changed=changed, same=people - new - changed)

    def _add(self, whose: dict[str, str], blame: dict[str, str]) -> None:
        """Visits and recalls that are not there yet."""
        visits, recalls = (_filled(sql, whose) for sql in (_VISITS, _RECALLS))
        new = self._add_recalls(recalls, blame)
        self._count(visits=self._run(visits), recalls=new.recalls)
        self._work.moves(new)

    def _add_recalls(self, sql: str, blame: dict[str, str]) -> Total:
        """Recalls alone; SQLite gives new ones higher numbers, and has one writer."""
        connection, key = self._work.connection, self._work.key
        last = self._ask("SELECT coalesce(max(rid), 0) FROM recalls")
        if not self._run(sql, **blame):
            return Total()
        return of_recalls(connection, key, "rid > :last", last=last)

    def _undo_consents(self) -> None:
        """Say of whom a list silences against a consent on record that it does."""
        found = self._execute(_SILENCED).scalars().all()
        details = (("consent", "refused"),)
        for pid in found:
            self._work.happened(replace(self._deed, what=What.OPTED_OUT, details=details), pid)
        self._count(silenced=len(found))

    def _hand_over(self, blame: dict[str, str]) -> None:
        found = self._execute(_HAND_OVER, **blame).scalars().all()
        for pid in found:
            self._work.happened(replace(self._deed, what=What.HANDED_OVER, details=()), pid)
        self._count(handed_over=len(found))

    def _count(self, **more: int) -> None:
        sums = {name: getattr(self._taken, name) + count for name, count in more.items()}
        self._taken = replace(self._taken, **sums)

    def _execute(self, sql: str, **values: str) -> Any:
        parts = ("source", "join", "differ", "order", "at_fault", "find")
        said = sql.format(**{name: getattr(self, name) for name in parts})
        return self._work.connection.execute(text(said), values)

    def _run(self, sql: str, **values: str) -> int:
        return int(self._execute(sql, **values).rowcount)

    def _ask(self, sql: str) -> int:
        return int(self._execute(sql).scalar_one())

    def _begin(self) -> None:
        columns = ", ".join(f'"{one}"' for one in COLUMNS)
        self._work.connection.exec_driver_sql(f"CREATE TEMP TABLE staged ({columns})")

    def _stage(self, rows: Iterable[Sequence[Any]]) -> None:
        holes = ", ".join("?" * len(COLUMNS))
        given = [tuple(one) for one in rows]
        if given:
            self._work.connection.exec_driver_sql(
                f"INSERT INTO temp.staged VALUES ({holes})",
                given,
            )

    def _clear(self) -> None:
        self._work.connection.exec_driver_sql(f"DELETE FROM {self.source}")

    def _end(self) -> None:
        self._work.connection.exec_driver_sql("DROP TABLE temp.staged")


def _filled(sql: str, whose: dict[str, str]) -> str:
    for name, part in whose.items():
        sql = sql.replace(f"{{{name}}}", part)
    return sql


class AttachedIntake(StagedIntake):
    """Plain SQLite: a parcel is opened as it is, without touching a row."""

    source = "parcel.staged"

    def rows(self, rows: Sequence[IntakeRow]) -> None:
        """Take rows in."""
        self.parcel(pack(rows))

    def parcel(self, packed: bytes) -> None:
        """Take in what another process packed."""
        self._open(packed)
        self._merge()

    def _open(self, packed: bytes) -> None:
        driver: Any = self._work.connection.connection.driver_connection
        driver.deserialize(packed, name="parcel")
        # What a parcel tells once is in its schema. A version of its own keeps statements that were
        # prepared for an earlier one from being taken for it.
        number = self._work.connection.info.get("parcels", 0) + 1
        self._work.connection.info["parcels"] = number
        driver.execute(f"PRAGMA parcel.schema_version = {number}")

    def _begin(self) -> None:
        """Nothing to make: each parcel brings its table."""

    def _clear(self) -> None:
        """Nothing to empty: the next parcel takes the place of this one."""

    def _end(self) -> None:
        self._open(pack(()))


class CopiedIntake(StagedIntake):
    """PostgreSQL: rows are copied into a temporary table of the same types."""

    source = "staged"
    join = "JOIN"
    differ = "IS DISTINCT FROM"
    order = ""
    at_fault = ""
    find = "strpos"

    _TYPES = {"born": "date", "seen": "date", "anchor": "date", "due": "date", "closed": "date"} | {
        "months": "integer",
        "weeks": "integer",
    }

    def _begin(self) -> None:
        columns = ", ".join(f'"{one}" {self._TYPES.get(one, "text")}' for one in COLUMNS)
        self._work.connection.exec_driver_sql(
            f"CREATE TEMP TABLE staged ({columns}) ON COMMIT DROP"
        )

    def _stage(self, rows: Iterable[Sequence[Any]]) -> None:
        driver: Any = self._work.connection.connection.driver_connection
        with driver.cursor() as cursor, cursor.copy("COPY staged FROM STDIN") as copy:
            for row in rows:
                copy.write_row(row)
        self._work.connection.exec_driver_sql("ANALYZE staged")

    def _add_recalls(self, sql: str, blame: dict[str, str]) -> Total:
        """Numbers of others who write at the same time lie between: only what came back is new."""
        both = columns("postgresql", self._work.key)
        said = f"WITH new AS ({sql} RETURNING recalls.*) SELECT {both} FROM new"
        count, days = self._execute(said, **blame).one()
        return Total(recalls=int(count), days=int(days))

    def _clear(self) -> None:
        self._work.connection.exec_driver_sql("TRUNCATE staged")

    def _end(self) -> None:
        """The end of the transaction takes the table away."""

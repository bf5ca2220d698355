"""The `Register` port on a database."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from enum import Enum
from pathlib import Path
from typing import Any

from sqlalchemy import Select, Table, delete, insert, select, text, update

from aftercare.edges.register import anchor, rows
from aftercare.edges.register import tables as t
from aftercare.edges.register.control import Total, of_recalls
from aftercare.edges.register.editions import NEWEST, bring_up_to, check_edition
from aftercare.edges.register.engine import open_engine, unlinked
from aftercare.edges.register.intake import AttachedIntake, CopiedIntake, StagedIntake
from aftercare.edges.register.place import Place
from aftercare.edges.register.queue import ReminderQueue
from aftercare.edges.register.work import Work, working
from aftercare.errors import BadInput, OutOfReach
from aftercare.recall.people import Deed, Person, Recall
from aftercare.recall.port import Intake, Swap

_PLANNED = text("reminders.state = 'planned'")
NO_REGISTER = "there is no register"
_LOOK = "look at it again and decide anew; nothing was changed"


def open_register(place: Place) -> SqlRegister:
    """The register at a place, brought up to this edition.

    Raises ``OutOfReach`` when there is none, when it is a newer aftercare's, or no register.
    """
    if place.file is not None and not place.file.exists():
        raise _none(place)
    return _opened(place, Missing.REFUSED)


def make_register(place: Place) -> SqlRegister:
    """The register at a place, made now if there is none; for its owner's eyes alone."""
    if place.file is not None and not place.file.exists():
        _make_file(place, place.file)
    return _opened(place, Missing.MADE)


class Missing(Enum):
    """What becomes of a register that has no tables yet."""

    REFUSED = "refused"
    MADE = "made"


def _opened(place: Place, missing: Missing) -> SqlRegister:
    register = SqlRegister(place)
    try:
        found = check_edition(place, register.engine)
        if found is None and missing is Missing.REFUSED:
            raise _none(place)
        return _ready(register, found)
    except BaseException:
        register.close()
        raise


def _ready(register: SqlRegister, edition: str | None) -> SqlRegister:
    if edition != NEWEST:
        bring_up_to(register.place, register.engine, NEWEST)
    # A key that is gone is never made anew: the chain would look forged from its first row on.
    place = register.place
    if (not place.key.exists() or anchor.is_gone(place)) and not register.has_happened():
        anchor.make_key(place)
        anchor.begin(place)
    return register


def _none(place: Place) -> OutOfReach:
    return OutOfReach(place.name, NO_REGISTER, "'aftercare recall import' makes one")


def _make_file(place: Place, file: Path) -> None:
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        file.touch(0o600)
    except OSError as error:
        raise OutOfReach(
            place.name, error.strerror or "cannot be made", "check the folder"
        ) from None


class SqlRegister(ReminderQueue):
    """A `Register` in SQLite or PostgreSQL. Open it with `open_register` or `make_register`."""

    def __init__(self, place: Place) -> None:
        self.engine = open_engine(place)
        self.place = place
        super().__init__(place, self.engine)

    def close(self) -> None:
        """Let go of every connection."""
        self.engine.dispose()

    def has_happened(self) -> bool:
        """Whether anything was ever said in the chain."""
        with self._reading() as connection:
            return connection.execute(select(t.happened.c.seq).limit(1)).first() is not None

    @contextmanager
    def intake(self, deed: Deed) -> Iterator[Intake]:
        """Take many rows in: all of them when the block ends well, else none."""
        with working(self.place, unlinked(self.engine)) as work:
            intake = self._intake_kind()(work, deed, self.place.name)
            yield intake
            intake.finish()

    def _intake_kind(self) -> type[StagedIntake]:
        if self.engine.dialect.name == "postgresql":
            return CopiedIntake
        return AttachedIntake if self.place.passphrase is None else StagedIntake

    # --- one change ---------------------------------------------------------------------

    def change(self, deed: Deed, *swaps: Swap) -> None:
        """Put each second value in the place of the first (None: it is new), all or none."""
        self.change_all([(deed, swaps)])

    def change_all(self, changes: Iterable[tuple[Deed, Sequence[Swap]]]) -> None:
        """As `change`, each deed with its own swaps, all in one transaction or none."""
        with working(self.place, self.engine) as work:
            for deed, swaps in changes:
                touched = {self._swap(work, before, after) for before, after in swaps}
                for pid in sorted(touched):
                    work.happened(deed, pid)

    def _swap(self, work: Work, before: Person | Recall | None, after: Person | Recall) -> int:
        """Store one value; the patient's number."""
        if isinstance(after, Person):
            assert before is None or isinstance(before, Person)  # noqa: S101
            return _put_person(work, before, after, self.place)
        assert before is None or isinstance(before, Recall)  # noqa: S101
        return _put_recall(work, before, after, self.place)


# --- People and recalls -----------------------------------------------------------------


def _put_person(work: Work, before: Person | None, after: Person, place: Place) -> int:
    connection, p = work.connection, t.patients
    if before is None:
        pid = connection.execute(insert(p).values(rows.person_values(after))).inserted_primary_key
        assert pid is not None  # noqa: S101
        number = int(pid[0])
        work.moves(Total(people=1))
    else:
        found = connection.execute(
            _locked(select(p.c.pid, *rows.PERSON_COLUMNS).where(p.c.ref == before.ref), p)
        ).first()
        if found is None or rows.person(found[1:]) != before:
            raise BadInput(place.name, "the person was changed by somebody else meanwhile", _LOOK)
        number = found.pid
        values = rows.person_values(after)
        connection.execute(update(p).where(p.c.pid == number).values(values))
    _put_opt_outs(work, number, after)
    return number


def _locked(query: Select[Any], table: Table) -> Select[Any]:
    """Hold the rows to the end of the transaction, where more than one may write.

    Not their keys: whoever tells the chain of the same patient would wait for us, and we for them.
    """
    return query.with_for_update(of=table, key_share=True)


def _put_opt_outs(work: Work, pid: int, after: Person) -> None:
    gone = work.connection.execute(delete(t.preferences).where(t.preferences.c.pid == pid))
    wanted = [
        {"pid": pid, "topic": topic, "channel": channel.value}
        for topic, channel in sorted(after.opted_out)
    ]
    if wanted:
        work.connection.execute(insert(t.preferences), wanted)
    work.moves(Total(opt_outs=len(wanted) - gone.rowcount))


def _put_recall(work: Work, before: Recall | None, after: Recall, place: Place) -> int:
    connection, r = work.connection, t.recalls
    if before is None:
        pid = _pid(work, after.person, place)
        values = rows.recall_values(after)
        new = connection.execute(insert(r).values(pid=pid, **values)).inserted_primary_key
        assert new is not None  # noqa: S101
        work.moves(of_recalls(connection, work.key, "rid = :rid", rid=new[0]))
        return pid
    query = (
        select(r.c.pid, t.patients.c.ref, *rows.RECALL_COLUMNS)
        .select_from(r.join(t.patients))
        .where(r.c.rid == before.id)
    )
    found = connection.execute(_locked(query, r)).first()
    if found is None or rows.recall(found[2:], found.ref) != before:
        raise BadInput(place.name, "the recall was changed by somebody else meanwhile", _LOOK)
    with work.moving("rid = :rid", rid=before.id):
        connection.execute(update(r).where(r.c.rid == before.id).values(rows.recall_values(after)))
    return int(found.pid)


def _pid(work: Work, ref: str, place: Place) -> int:
    query = select(t.patients.c.pid).where(t.patients.c.ref == ref)
    pid = work.connection.execute(query).scalar()
    if pid is None:
        raise BadInput(place.name, "nobody has the reference of this recall", "check it")
    return int(pid)

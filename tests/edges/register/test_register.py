"""What the register promises, on every engine it can be kept in."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from made_up_register import CAVITY, NOON, contents, deed, reminder, row, take_in
from sqlalchemy import exc, insert

from aftercare.edges.register import tables as t
from aftercare.edges.register.engine import writer
from aftercare.edges.register.parcel import pack
from aftercare.edges.register.register import SqlRegister
from aftercare.errors import BadInput
from aftercare.model import Channel, Interval, Side
from aftercare.recall.people import (
    Person,
    Recall,
    RecallState,
    ReminderState,
    Seen,
    Standing,
    What,
)
from aftercare.recall.port import IntakeRow, OptOutRow, Settled, Taken

REF = "P0000001"


def one(register: SqlRegister) -> Recall:
    """The only recall of the first person."""
    (found,) = register.recalls(REF)
    return found


# --- Taking in --------------------------------------------------------------------------


def test_what_goes_in_comes_out_as_values(register: SqlRegister) -> None:
    taken = take_in(
        register, row(facts="format:large-print needs:reads-lips", zone="Europe/Dublin")
    )

    assert taken == Taken(new=1, visits=1, recalls=1)
    assert register.person(REF) == Person(
        ref=REF,
        first_name="Nell",
        last_name="Invented1",
        born=date(1961, 4, 23),
        language="en",
        mobile="+447700900001",
        email="nell1@example.org",
        address=("1 Made-up Row", "Nowhere"),
        agreed=frozenset({Channel.SMS, Channel.EMAIL}),
        facts=frozenset({"format:large-print", "needs:reads-lips"}),
        household="h0",
        zone="Europe/Dublin",
    )
    assert register.visits(REF) == (
        Seen(
            person=REF,
            case="v-1",
            on=date(2026, 1, 31),
            conditions=frozenset({CAVITY}),
            side=Side.LEFT,
            clinician="Nurse Example",
        ),
    )
    found = one(register)
    assert found == Recall(
        id=found.id,
        person=REF,
        condition=CAVITY,
        anchor=date(2026, 1, 31),
        interval=Interval(months=6),
        due=date(2026, 7, 31),
    )


def test_the_same_rows_twice_change_nothing(register: SqlRegister) -> None:
    rows = [row(number) for number in range(50)]
    take_in(register, *rows)
    before = contents(register)

    again = take_in(register, *rows)

    assert again == Taken(same=50)
    assert contents(register) == before


def test_a_parcel_packed_elsewhere_is_the_same_as_its_rows(register: SqlRegister) -> None:
    rows = [row(number) for number in range(50)]
    with register.intake(deed()) as intake:
        intake.parcel(pack(rows[:20]))
        intake.parcel(pack(rows[20:]))
    assert intake.taken() == Taken(new=50, visits=50, recalls=50)
    assert take_in(register, *rows) == Taken(same=50)


def test_a_changed_row_changes_the_person_and_leaves_the_recall_somebody_worked_on(
    register: SqlRegister,
) -> None:
    take_in(register, row())
    was = one(register)
    snoozed = replace(was, due=date(2026, 9, 1))
    register.change(deed(What.SNOOZED), (was, snoozed))

    taken = take_in(register, row(mobile="+447700900777", due="2026-08-31"))

    assert taken == Taken(changed=1)
    person = register.person(REF)
    assert person is not None
    assert person.mobile == "+447700900777"
    assert one(register) == snoozed


def test_a_file_that_fails_half_way_leaves_nothing(register: SqlRegister) -> None:
    take_in(register, row(1))
    before = contents(register)

    def half_way() -> None:
        with register.intake(deed()) as intake:
            intake.rows([row(number) for number in range(2, 30)])
            intake.opt_outs([OptOutRow("P0000002", "recall", "sms")])
            raise RuntimeError("the reader stopped")

    with pytest.raises(RuntimeError):
        half_way()
    assert contents(register) == before


def test_a_visit_of_somebody_unknown_is_refused_and_nothing_stays(register: SqlRegister) -> None:
    stranger = IntakeRow("P0000009", case="v-9", seen="2026-01-31", conditions=CAVITY)

    with pytest.raises(BadInput, match="somebody unknown"):
        take_in(register, row(1), stranger)

    assert register.person(REF) is None


def test_a_second_visit_is_added_to_a_person_already_there(register: SqlRegister) -> None:
    later = IntakeRow(REF, case="v-2", seen="2026-08-02", conditions=CAVITY)

    assert take_in(register, row(1), later) == Taken(new=1, visits=2, recalls=1)
    assert [seen.on for seen in register.visits(REF)] == [date(2026, 1, 31), date(2026, 8, 2)]


def test_each_visit_and_recall_is_its_own_person_s(register: SqlRegister) -> None:
    """New people are numbered as their rows stand; those who were there keep their numbers."""
    take_in(register, row(5), row(3), row(4))
    take_in(register, row(9), row(3), row(1))
    later = IntakeRow("P0000001", case="v-2", seen="2026-08-02", conditions=CAVITY)
    take_in(register, row(8), later, row(2))
    take_in(register, row(7), row(6))

    for number in range(1, 10):
        ref = f"P{number:07}"
        cases = {seen.case for seen in register.visits(ref)}
        assert cases == {f"v-{number}"} | ({"v-2"} if number == 1 else set())
        assert [recall.person for recall in register.recalls(ref)] == [ref]


def test_an_intake_leaves_every_row_linked_and_the_links_watched(register: SqlRegister) -> None:
    take_in(register, row(1), row(2))
    take_in(register, row(3), row(1, case="v-9"), IntakeRow(REF, case="v-8", seen="2026-03-01"))

    with register.engine.connect() as connection:
        if connection.dialect.name == "sqlite":
            assert connection.exec_driver_sql("PRAGMA foreign_key_check").all() == []
    with (
        pytest.raises(exc.IntegrityError),
        writer(register.engine).connect() as connection,
        connection.begin(),
    ):
        connection.execute(
            insert(t.visits).values(pid=99, seen=date(2026, 1, 1), case_ref="", conditions="")
        )


def test_rows_that_are_all_alike_in_something_are_taken_in_with_their_own(
    register: SqlRegister,
) -> None:
    """What all rows of a parcel say is told once; the next parcel says something else."""
    languages = ("en", "cy", "ur", "en")
    with register.intake(deed()) as intake:
        for n, language in enumerate(languages):
            intake.rows(
                [row(10 * n + m, language=language, due=f"2026-0{n + 5}-01") for m in (1, 2)]
            )

    for n, language in enumerate(languages):
        for m in (1, 2):
            person = register.person(f"P{10 * n + m:07}")
            assert person is not None
            assert person.language == language
            (recall,) = register.recalls(person.ref)
            assert recall.due == date(2026, n + 5, 1)


def test_somebody_silent_stays_silent_whatever_the_next_list_says(register: SqlRegister) -> None:
    take_in(register, row(1))

    assert take_in(register, row(1, standing="silent", reasons="died")).handed_over == 1
    assert take_in(register, row(1)) == Taken(same=1)

    person = register.person(REF)
    assert person is not None
    assert (person.standing, person.reasons) == (Standing.SILENT, ("died",))
    waiting = one(register)
    assert (waiting.state, waiting.waiting_on) == (RecallState.WAITING, "Ann Admin")
    assert [it.deed.what for it in register.history(REF)] == [What.HANDED_OVER]


def test_a_hold_is_lifted_by_a_better_list(register: SqlRegister) -> None:
    take_in(register, row(1, standing="hold", reasons="mobile: not a number", mobile=None))

    assert one(register).state is RecallState.WAITING
    assert take_in(register, row(1)).changed == 1
    person = register.person(REF)
    assert person is not None
    assert (person.standing, person.mobile) == (Standing.READY, "+447700900001")


def test_an_opt_out_is_added_once_and_never_taken_back_by_a_list(register: SqlRegister) -> None:
    take_in(register, row(1))
    with register.intake(deed()) as intake:
        intake.opt_outs([OptOutRow(REF, "recall", "sms")] * 2)
    assert intake.taken() == Taken(opt_outs=1)

    take_in(register, row(1, first_name="Nella"))

    person = register.person(REF)
    assert person is not None
    assert person.opted_out == {("recall", Channel.SMS)}


# --- One change -------------------------------------------------------------------------


def test_a_change_is_stored_with_what_happened(register: SqlRegister) -> None:
    take_in(register, row(1))
    was = one(register)
    zone = ZoneInfo("Europe/London")
    booked = replace(was, booked=datetime(2026, 7, 31, 9, 30, tzinfo=zone), told=True)

    register.change(deed(What.BOOKED, ("to", "2026-07-31")), (was, booked))

    assert one(register) == booked
    when = one(register).booked
    assert when is not None
    assert when.tzinfo == zone
    (happened,) = register.history(REF)
    assert happened.deed == deed(What.BOOKED, ("to", "2026-07-31"))


def test_a_change_of_what_somebody_else_changed_meanwhile_is_refused(register: SqlRegister) -> None:
    take_in(register, row(1))
    seen = one(register)
    register.change(deed(What.SNOOZED), (seen, replace(seen, due=date(2026, 8, 15))))
    before = contents(register)

    with pytest.raises(BadInput, match="somebody else"):
        register.change(deed(What.SNOOZED), (seen, replace(seen, due=date(2026, 9, 15))))

    assert contents(register) == before


def test_a_person_whom_somebody_else_changed_meanwhile_is_not_overwritten(
    register: SqlRegister,
) -> None:
    take_in(register, row(1))
    seen = register.person(REF)
    assert seen is not None
    silent = replace(seen, standing=Standing.SILENT, reasons=("died",))
    register.change(deed(What.DECEASED), (seen, silent))
    before = contents(register)

    with pytest.raises(BadInput, match="somebody else"):
        register.change(deed(What.OPTED_OUT), (seen, replace(seen, mobile=None)))

    assert contents(register) == before


def test_a_person_and_their_recalls_change_together_or_not_at_all(register: SqlRegister) -> None:
    take_in(register, row(1))
    person, recall = register.person(REF), one(register)
    assert person is not None
    silent = replace(person, standing=Standing.SILENT, reasons=("died",), opted_out=frozenset())
    closed = replace(recall, state=RecallState.CLOSED, because="died", closed=date(2026, 11, 30))
    stale = replace(recall, due=date(2020, 1, 1))

    with pytest.raises(BadInput):
        register.change(deed(What.DECEASED), (person, silent), (stale, closed))
    assert register.person(REF) == person

    register.change(deed(What.DECEASED), (person, silent), (recall, closed))
    assert (register.person(REF), one(register)) == (silent, closed)
    assert len(register.history(REF)) == 1


def test_opt_outs_come_and_go_with_the_person(register: SqlRegister) -> None:
    take_in(register, row(1))
    person = register.person(REF)
    assert person is not None
    out = replace(person, opted_out=frozenset({("recall", Channel.SMS), ("care", Channel.EMAIL)}))

    register.change(deed(What.OPTED_OUT), (person, out))
    assert register.person(REF) == out
    register.change(deed(What.OPTED_IN), (out, person))
    assert register.person(REF) == person


def test_a_new_person_and_a_new_recall_are_changes_too(register: SqlRegister) -> None:
    person = Person(ref="N1", first_name="Ned", last_name="Invented", language="cy")
    recall = Recall(
        person="N1", anchor=date(2026, 2, 28), interval=Interval(weeks=6), due=date(2026, 4, 11)
    )

    register.change(deed(What.OPENED), (None, person), (None, recall))

    assert register.person("N1") == person
    (found,) = register.recalls("N1")
    assert found == replace(recall, id=found.id)
    with pytest.raises(BadInput):
        register.change(deed(What.OPENED), (None, person))


@pytest.mark.parametrize(
    "lost",
    [
        {"state": RecallState.WAITING},
        {"state": RecallState.WAITING, "waiting_on": "Ann Admin"},
        {"state": RecallState.WAITING, "waiting_on": " ", "because": "called"},
        {"state": RecallState.CLOSED, "because": "done"},
        {"state": RecallState.CLOSED, "closed": date(2026, 8, 1)},
        {"state": RecallState.CLOSED, "closed": date(2026, 8, 1), "because": ""},
        {"closed": date(2026, 8, 1)},
    ],
)
def test_the_tables_refuse_a_recall_that_nobody_follows(
    register: SqlRegister, lost: dict[str, object]
) -> None:
    take_in(register, row(1))
    was = one(register)

    with pytest.raises(BadInput, match="contradicts itself"):
        register.change(deed(What.CLOSED), (was, replace(was, **lost)))  # type: ignore[arg-type]

    assert one(register) == was


def test_prose_is_no_detail_of_what_happened(register: SqlRegister) -> None:
    take_in(register, row(1))
    was = one(register)

    with pytest.raises(ValueError, match="no prose"):
        register.change(deed(What.SNOOZED, ("why", "Nell Invented rang")), (was, was))


# --- Lists ------------------------------------------------------------------------------


def test_the_day_s_list_holds_what_is_scheduled_and_due_and_nothing_else(
    register: SqlRegister,
) -> None:
    days = ("2026-07-30", "2026-07-31", "2026-08-01", "2026-08-02")
    take_in(register, *(row(number, due=day) for number, day in enumerate(days)))
    (second,) = register.recalls("P0000001")
    register.change(
        deed(What.HANDED_OVER),
        (second, replace(second, state=RecallState.WAITING, waiting_on="Ann", because="rang")),
    )

    def due(first: date | None, last: date) -> list[str]:
        return [person.ref for _, person in register.due(first, last)]

    def listed(first: date | None, last: date) -> list[str]:
        return [person.ref for _, person in register.open_due(first, last)]

    # Whoever waits on somebody is open too.
    assert listed(None, date(2026, 8, 1)) == ["P0000000", "P0000001", "P0000002"]
    assert listed(date(2026, 7, 31), date(2026, 7, 31)) == ["P0000001"]
    assert register.count_open_before(date(2026, 8, 1)) == 2
    assert due(None, date(2026, 8, 1)) == ["P0000000", "P0000002"]
    assert due(date(2026, 8, 1), date(2026, 8, 2)) == ["P0000002", "P0000003"]
    assert len(list(register.open_recalls())) == 4
    assert [person.ref for person in register.people()] == [f"P000000{n}" for n in range(4)]
    assert [p.ref for p in register.people(["P0000003", "nobody", "P0000000"])] == [
        "P0000000",
        "P0000003",
    ]


def test_who_comes_back_for_life_and_has_no_recall_is_found(register: SqlRegister) -> None:
    bare = {"anchor": None, "months": None, "due": None, "state": None}
    over = {"state": "closed", "closed": "2026-08-02"}
    take_in(
        register,
        row(1),
        row(2, **bare),
        row(3, **bare, conditions=f"{CAVITY}-like condition:wax"),
        row(4, **over, because="came"),
        row(5, **over, because="declined"),
    )

    assert list(register.unrecalled(CAVITY)) == ["P0000002", "P0000004"]
    assert register.count_by_state() == {
        RecallState.SCHEDULED: 1,
        RecallState.WAITING: 0,
        RecallState.CLOSED: 2,
    }


def test_recalls_that_nothing_moves_on_are_found(register: SqlRegister) -> None:
    take_in(register, *(row(number) for number in range(1, 6)))
    (first,) = register.recalls("P0000001")
    (second,) = register.recalls("P0000002")
    (third,) = register.recalls("P0000003")
    register.plan([reminder(first.id), reminder(second.id, key="2")], deed(What.PLANNED))
    done = Settled(key="2", state=ReminderState.SKIPPED, because="too late")
    register.settle([done], deed(What.SKIPPED))
    booked = replace(third, booked=datetime(2026, 12, 1, tzinfo=UTC))
    register.change(deed(What.BOOKED), (third, booked))

    def found(last: date, since: datetime) -> list[str]:
        return [person.ref for _, person in register.unattended(last, since)]

    last, before, after = date(2026, 7, 31), NOON - timedelta(days=1), NOON + timedelta(days=1)
    assert found(last, before) == ["P0000004", "P0000005"]
    assert found(last, after) == ["P0000002", "P0000003", "P0000004", "P0000005"]
    assert found(date(2026, 7, 30), after) == ["P0000003"]


def test_courses_hold_everybody_and_each_recall_once(register: SqlRegister) -> None:
    from aftercare.edges.register.forgetting import forget

    bare = {"anchor": None, "months": None, "due": None, "state": None}
    again = row(1, anchor="2026-08-01", due="2027-02-01")
    take_in(register, row(1), row(2), row(3, **bare), row(4), again)
    forget(register, "P0000004", deed(What.FORGOTTEN))
    first, _ = register.recalls(REF)
    register.plan([reminder(first.id, key="1")], deed(What.PLANNED))
    done = Settled(key="1", state=ReminderState.PREPARED, digest="0" * 64)
    register.settle([done], deed(What.PREPARED))

    found = list(register.courses())

    assert [one.patient for one in found] == sorted(one.patient for one in found)
    dues = [(one.recall and f"{one.recall.due}", one.reached) for one in found]
    assert sorted(dues, key=str) == [
        ("2026-07-31", False),
        ("2026-07-31", True),
        ("2027-02-01", False),
        (None, False),
    ]
    assert len({one.patient for one in found}) == 3


def test_changes_with_a_deed_each_are_one_transaction(register: SqlRegister) -> None:
    take_in(register, row(1), row(2))
    (first,), (second,) = register.recalls(REF), register.recalls("P0000002")
    later = replace(first, due=date(2027, 1, 4))
    stale = replace(second, due=date(2020, 1, 1))
    with pytest.raises(BadInput, match="meanwhile"):
        register.change_all(
            [(deed(What.SNOOZED), [(first, later)]), (deed(What.DONE), [(stale, second)])]
        )
    assert register.recalls(REF) == (first,)
    register.change_all(
        [(deed(What.SNOOZED), [(first, later)]), (deed(What.DONE), [(later, first)])]
    )
    assert [one.deed.what for one in register.history(REF)] == [What.SNOOZED, What.DONE]


def test_the_audit_finds_who_would_be_dropped(register: SqlRegister) -> None:
    take_in(register, row(1), row(2))
    assert list(register.audit()) == []
    person = register.person("P0000002")
    assert person is not None

    register.change(deed(What.CORRECTED), (person, replace(person, standing=Standing.SILENT)))

    (loose,) = register.audit()
    assert loose.person == "P0000002"
    assert "may not be contacted" in loose.because


# --- Reminders --------------------------------------------------------------------------


def planned(register: SqlRegister, people: int = 4) -> list[int]:
    take_in(register, *(row(number) for number in range(people)))
    ids = [recall.id for recall, _ in register.all_recalls()]
    assert register.plan([reminder(number) for number in ids], deed(What.PLANNED)) == people
    return ids


def test_a_reminder_is_planned_once(register: SqlRegister) -> None:
    ids = planned(register)
    before = contents(register)

    assert register.plan([reminder(number) for number in ids], deed(What.PLANNED)) == 0

    assert contents(register) == before


def test_a_claim_holds_until_it_lapses(register: SqlRegister) -> None:
    planned(register)
    day, soon = date(2026, 7, 1), NOON + timedelta(minutes=5)

    def claim(worker: str, now: datetime = NOON, limit: int = 9) -> list[str]:
        found = register.claim(day, worker=worker, now=now, until=soon, limit=limit)
        return [claimed.person.ref for claimed in found]

    assert claim("one", limit=3) == ["P0000000", "P0000001", "P0000002"]
    assert claim("two") == ["P0000003"]
    assert claim("two") == []
    assert len(claim("two", now=soon)) == 4


def test_nothing_is_claimed_before_its_day(register: SqlRegister) -> None:
    planned(register)

    early = register.claim(
        date(2026, 6, 30), worker="one", now=NOON, until=NOON + timedelta(minutes=5), limit=9
    )

    assert early == ()


def test_a_worker_that_died_is_let_go_of_and_no_other(register: SqlRegister) -> None:
    planned(register)
    day, soon = date(2026, 7, 1), NOON + timedelta(minutes=5)
    register.claim(day, worker="dead", now=NOON, until=soon, limit=3)
    register.claim(day, worker="alive", now=NOON, until=soon, limit=1)

    assert (register.release("dead"), register.release("dead")) == (3, 0)
    found = register.claim(day, worker="next", now=NOON, until=soon, limit=9)
    assert [one.person.ref for one in found] == ["P0000000", "P0000001", "P0000002"]


def test_what_was_prepared_can_be_told_by_its_digest_and_counts_for_its_day(
    register: SqlRegister,
) -> None:
    first, second, third, _ = planned(register)
    keys = [f"{number}/invite/sms" for number in (first, second, third)]
    tomorrow = NOON + timedelta(days=1)
    done = Settled(key=keys[0], state=ReminderState.PREPARED, digest="ab", at=tomorrow)
    left = Settled(key=keys[1], state=ReminderState.SKIPPED, because="opted out")

    register.settle([done, left], deed(What.PREPARED))

    assert register.digests([*keys, "9/unknown/x"], "a batch") == {keys[0]: "ab"}
    assert list(register.written_to(NOON, tomorrow)) == []
    assert list(register.written_to(tomorrow, tomorrow + timedelta(hours=1))) == ["h0"]


def test_a_claim_brings_the_recall_and_the_person_of_its_reminder(register: SqlRegister) -> None:
    planned(register, 40)
    until = NOON + timedelta(minutes=5)

    for claimed in register.claim(date(2026, 7, 1), worker="one", now=NOON, until=until, limit=40):
        assert claimed.recall.id == claimed.reminder.recall
        assert claimed.recall.person == claimed.person.ref
        assert register.person(claimed.person.ref) == claimed.person


def test_a_reminder_is_settled_once(register: SqlRegister) -> None:
    first, second, *_ = planned(register)
    done = Settled(key=f"{first}/invite/sms", state=ReminderState.PREPARED, digest="ab")
    not_done = Settled(key=f"{second}/invite/sms", state=ReminderState.SKIPPED, because="opted out")

    assert register.settle([done, not_done], deed(What.PREPARED)) == 2
    before = contents(register)
    again = replace(done, digest="cd")
    assert register.settle([again, not_done], deed(What.PREPARED)) == 0

    assert contents(register) == before
    (kept,) = register.reminders("P0000000")
    assert (kept.state, kept.digest) == (ReminderState.PREPARED, "ab")
    assert kept.settled == NOON
    assert len(list(register.all_reminders())) == 4


def test_the_households_written_to_are_known_by_the_moment(register: SqlRegister) -> None:
    """People 0 and 1 share a household, so do 2 and 3; the fourth has none."""
    take_in(register, *(row(number) for number in range(4)), row(4, household=None))
    ids = [recall.id for recall, _ in register.all_recalls()]
    register.plan([reminder(number) for number in ids], deed(What.PLANNED))
    hour = timedelta(hours=1)

    def settled(person: int, state: ReminderState, after: timedelta) -> None:
        one = Settled(key=f"{ids[person]}/invite/sms", state=state, because="-", digest="ab")
        register.settle([one], replace(deed(What.PREPARED), at=NOON + after))

    settled(0, ReminderState.PREPARED, hour)
    settled(2, ReminderState.SKIPPED, hour)
    settled(3, ReminderState.PREPARED, 3 * hour)
    settled(4, ReminderState.PREPARED, 2 * hour)

    assert set(register.written_to(NOON, NOON + 3 * hour)) == {"h0", "P0000004"}
    assert set(register.written_to(NOON + 3 * hour, NOON + 4 * hour)) == {"h1"}


def test_a_skip_needs_a_reason(register: SqlRegister) -> None:
    first, *_ = planned(register)

    with pytest.raises(BadInput, match="skipped_with_a_reason"):
        register.settle(
            [Settled(key=f"{first}/invite/sms", state=ReminderState.SKIPPED)], deed(What.SKIPPED)
        )

"""A visit from booking to coming, day by day: what is written, and that nobody is dropped by it.

Calendar files are read back by icalendar and vobject, programs of others.
"""

from __future__ import annotations

import email
import email.policy
import shutil
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import icalendar
import pytest
import vobject
from made_up_register import row, take_in
from made_up_server import postgresql, server

from aftercare.cli.bootstrap import House, make_register, open_house, open_register
from aftercare.cli.recall import writing
from aftercare.edges.clock import SystemClock
from aftercare.edges.register.place import Place
from aftercare.model import Channel
from aftercare.recall.people import Recall, RecallState, Standing, What
from aftercare.recall.port import Taken

__all__ = ["postgresql", "server"]

Run = Callable[..., Any]
LONDON = ZoneInfo("Europe/London")
ANN = ("--by", "Ann Admin")
NELL = "P0000001"
WAX = {"condition": "condition:wax", "conditions": "condition:wax"}
TUESDAY = date(2026, 11, 24)


@dataclass
class Clinic:
    """A clinic on a day, of which every command asks what day it is."""

    home: Path
    run: Run
    day: date = TUESDAY
    seen: set[Path] = field(default_factory=set)

    def __call__(self, *words: object) -> Any:
        return self.run("recall", *words, "--home", self.home)

    def ok(self, *words: object) -> str:
        answer = self(*words)
        assert (answer.code, answer.err) == (0, "")
        return " ".join(answer.out.split())

    def written(self, day: date) -> list[Path]:
        """The files of a run of a day; after it, as after everything else, nobody is dropped."""
        self.day = day
        out = self.home / "out"
        assert self("write", "--out", out).code in (0, 1)
        self.sound()
        new = {path for path in out.rglob("*") if path.suffix in (".eml", ".txt", ".pdf")}
        new -= self.seen | {out / "list.txt"}
        self.seen |= new
        return sorted(new)

    def sound(self) -> None:
        audit = self("audit", "--json")
        assert (audit.code, audit.json()["dropped"]) == (0, [])

    def recall(self, ref: str = NELL) -> Recall:
        """The last recall of somebody."""
        with closing(open_register(str(self.home))) as register:
            return register.recalls(ref)[-1]

    def happened(self, ref: str = NELL) -> list[What]:
        with closing(open_register(str(self.home))) as register:
            return [one.deed.what for one in register.history(ref)]


@pytest.fixture(scope="session")
def house(approved_home: Path) -> House:
    """The shelf, read once: that is most of what a short run does."""
    return open_house(str(approved_home))


@pytest.fixture
def clinic(
    approved_home: Path, house: House, tmp_path: Path, run: Run, monkeypatch: pytest.MonkeyPatch
) -> Clinic:
    for name in ("AFTERCARE_DATABASE", "AFTERCARE_REGISTER_KEY", "AFTERCARE_REGISTER_KEY_FILE"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(writing, "open_house", lambda home: house)
    made = Clinic(shutil.copytree(approved_home, tmp_path / "clinic"), run)
    monkeypatch.setattr(SystemClock, "today", lambda clock: made.day)
    monkeypatch.setattr(SystemClock, "now", lambda clock: f"{made.day}T12:00:00+00:00")
    return made


@pytest.fixture(params=["file", "postgresql"])
def either(
    clinic: Clinic, request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch
) -> Clinic:
    """The register in a file, or on a server that `AFTERCARE_DATABASE` names."""
    if request.param == "postgresql":
        place = request.getfixturevalue("postgresql")
        assert isinstance(place, Place)
        monkeypatch.setenv("AFTERCARE_DATABASE", str(place.url))
    return clinic


def take(clinic: Clinic, *rows: Any) -> Taken:
    with closing(make_register(str(clinic.home))) as register:
        return take_in(register, *rows)


def nell(number: int = 1, **changes: Any) -> Any:
    """Due on 15 December, by e-mail alone, and on nobody's shared phone."""
    usual = {
        "due": "2026-12-15", "anchor": "2026-06-15", "seen": "2026-06-15", "agreed": "email",
        "household": None,
    }  # fmt: skip
    return row(number, **WAX, **{**usual, **changes})


@dataclass(frozen=True)
class Mail:
    """An e-mail with its calendar file, as icalendar and vobject read it."""

    text: str
    method: str
    uid: str
    sequence: int
    status: str
    start: datetime


def words(path: Path) -> str:
    """The words of an e-mail, on one line."""
    read = email.message_from_bytes(path.read_bytes(), policy=email.policy.default)
    body = read.get_body(("plain",))
    assert body is not None
    return " ".join(str(body.get_content()).split())


def mail(path: Path) -> Mail:
    read = email.message_from_bytes(path.read_bytes(), policy=email.policy.default)
    (part,) = read.iter_attachments()
    raw = part.get_content()
    raw = raw.encode() if isinstance(raw, str) else raw
    calendar = icalendar.Calendar.from_ical(raw)
    (event,) = calendar.walk("VEVENT")
    other = vobject.readOne(raw.decode()).vevent
    start = event["DTSTART"].dt.astimezone(UTC)
    assert other.dtstart.value.astimezone(UTC) == start
    assert (other.uid.value, int(other.sequence.value)) == (event["UID"], event["SEQUENCE"])
    assert other.status.value == event["STATUS"]
    assert part.get_content_type() == "text/calendar"
    assert part.get_param("method") == calendar["METHOD"]
    return Mail(
        text=words(path), method=calendar["METHOD"], uid=event["UID"],
        sequence=event["SEQUENCE"], status=event["STATUS"], start=start,
    )  # fmt: skip


def test_from_booking_to_coming_every_word_is_written_and_nobody_is_dropped(either: Clinic) -> None:
    """Booked, moved, called off, offered anew, missed, booked again, and seen: RFC 5545, 3.8.7.4,
    and RFC 5546, 2.1.4: one UID, and a SEQUENCE that goes up by one with every change.
    """
    clinic = either
    take(clinic, nell())

    assert "booked for 2026-12-03 09:30" in clinic.ok(
        "book", NELL, "--at", "2026-12-03T09:30", *ANN
    )
    clinic.sound()
    (first,) = map(mail, clinic.written(TUESDAY))
    assert (first.method, first.status, first.sequence) == ("PUBLISH", "CONFIRMED", 0)
    assert first.start == datetime(2026, 12, 3, 9, 30, tzinfo=UTC)
    assert clinic.recall().told

    clinic.day = date(2026, 11, 25)
    clinic.ok("book", NELL, "--at", "2026-12-08T14:00", *ANN)
    clinic.sound()
    (moved,) = map(mail, clinic.written(clinic.day))
    assert "We had to move your visit on Thursday, 3 December 2026 at 09:30" in moved.text
    assert "The new time is Tuesday, 8 December 2026 at 14:00" in moved.text
    assert (moved.method, moved.status, moved.sequence) == ("PUBLISH", "CONFIRMED", 1)
    assert (moved.uid, moved.start) == (first.uid, datetime(2026, 12, 8, 14, tzinfo=UTC))

    clinic.day = date(2026, 11, 26)
    clinic.ok("call-off", NELL, *ANN)
    clinic.sound()
    (off,) = map(mail, clinic.written(clinic.day))
    assert "We had to cancel your visit on Tuesday, 8 December 2026 at 14:00" in off.text
    assert "We will offer you a new time by Thursday, 10 December 2026" in off.text
    assert (off.method, off.status, off.sequence) == ("CANCEL", "CANCELLED", 2)
    assert (off.uid, off.start) == (first.uid, moved.start)

    # The clinic is closed until Monday; then it is the desk's to offer a new time.
    assert clinic.written(date(2026, 11, 30)) == []
    waiting = clinic.recall()
    assert (waiting.state, waiting.waiting_on) == (RecallState.WAITING, "the recall desk")
    assert waiting.because == (
        "the visit on 2026-12-08 was called off: offer a new time by 2026-12-10"
    )

    clinic.ok("book", NELL, "--at", "2026-12-10T09:00", *ANN)
    (anew,) = map(mail, clinic.written(clinic.day))
    assert (anew.method, anew.sequence, anew.uid) == ("PUBLISH", 3, first.uid)
    nudges = [mail(path) for day in (7, 8, 9) for path in clinic.written(date(2026, 12, day))]
    assert [(one.sequence, one.start) for one in nudges] == [(3, anew.start)] * 2

    clinic.day = date(2026, 12, 14)
    clinic.ok("missed", NELL, *ANN)
    clinic.sound()
    (missed,) = clinic.written(clinic.day)
    assert b"We did not see you on Thursday, 10 December 2026" in missed.read_bytes()
    assert clinic.recall().state is RecallState.SCHEDULED
    assert clinic.written(date(2026, 12, 22)) == []
    # Fourteen days to answer end on a bank holiday, and the clinic is shut until 4 January.
    assert clinic.written(date(2027, 1, 5)) == []
    assert clinic.recall().because == "did not come on 2026-12-10, and no new time is booked"
    assert clinic.recall().waiting_on == "the recall desk"

    clinic.ok("book", NELL, "--at", "2027-01-12T09:00", *ANN)
    (last,) = map(mail, clinic.written(clinic.day))
    assert (last.sequence, last.uid) == (4, first.uid)
    clinic.day = date(2027, 1, 12)
    clinic.ok("done", NELL, "--seen", "2027-01-12", "--months", "6", *ANN)
    clinic.sound()
    after = clinic.recall()
    assert (after.anchor, after.due) == (date(2027, 1, 12), date(2027, 7, 12))
    assert (after.state, after.news, after.booked) == (RecallState.SCHEDULED, None, None)
    assert [one for one in clinic.happened() if one is not What.IMPORTED] == [
        What.BOOKED, What.BOOKED, What.CALLED_OFF, What.HANDED_OVER, What.BOOKED, What.MISSED,
        What.HANDED_OVER, What.BOOKED, What.DONE, What.OPENED,
    ]  # fmt: skip


def test_what_comes_next_says_from_which_day_each_word_of_a_visit_is_counted(
    clinic: Clinic,
) -> None:
    take(clinic, nell())
    clinic.ok("book", NELL, "--at", "2026-12-10T09:30", *ANN)

    (found,) = clinic("next", NELL, "--json").json()["recalls"]

    assert [(one["what"], one["why"]) for one in found["next"]] == [
        ("booked", "on the day the visit was booked, 2026-11-24"),
        ("three-days-before", "3 days before the visit, 2026-12-10"),
        ("one-day-before", "1 day before the visit, 2026-12-10"),
        ("by a person", "booked for 2026-12-10, and nobody has said whether the patient came"),
    ]


# --- what stands in a calendar still ---------------------------------------------------------


def taken_out(clinic: Clinic) -> list[Mail]:
    """The calendar files beside decisions, as icalendar and vobject read them."""
    found = []
    for path in sorted((clinic.home / "out").rglob("visit-off.ics")):
        assert (path.stat().st_mode & 0o777, path.parent.stat().st_mode & 0o777) == (0o600, 0o700)
        calendar = icalendar.Calendar.from_ical(path.read_bytes())
        (event,) = calendar.walk("VEVENT")
        other = vobject.readOne(path.read_text("utf-8")).vevent
        assert (other.uid.value, int(other.sequence.value)) == (event["UID"], event["SEQUENCE"])
        assert other.dtstart.value.astimezone(UTC) == event["DTSTART"].dt.astimezone(UTC)
        # Nothing in words, which nobody would have approved or translated.
        assert {"SUMMARY", "DESCRIPTION"}.isdisjoint(event)
        found.append(Mail(
            text="", method=calendar["METHOD"], uid=event["UID"], sequence=event["SEQUENCE"],
            status=event["STATUS"], start=event["DTSTART"].dt.astimezone(UTC),
        ))  # fmt: skip
    return found


NINE = ("book", NELL, "--at", "2026-12-03T09:30")


@pytest.mark.parametrize(
    ("words", "sequence"),
    [
        (("call-off", NELL, "--wish", "patient"), 1),
        (("call-off", NELL, "--told"), 1),
        (("snooze", NELL, "--until", "2026-12-17", "--because", "abroad"), 1),
        (("done", NELL, "--because", "had it done elsewhere"), 1),
    ],
    ids=lambda one: one[0] if isinstance(one, tuple) else "",
)
def test_a_visit_no_e_mail_takes_out_of_a_calendar_has_a_file_that_does(
    either: Clinic, words: tuple[str, ...], sequence: int
) -> None:
    """RFC 5546, 3.2.5: METHOD:CANCEL, STATUS:CANCELLED, the same UID, a higher SEQUENCE."""
    clinic = either
    take(clinic, nell())
    clinic.ok(*NINE, *ANN)
    (first,) = map(mail, clinic.written(TUESDAY))

    said = clinic.ok(*words, *ANN)

    (off,) = taken_out(clinic)
    assert (off.method, off.status, off.sequence) == ("CANCEL", "CANCELLED", sequence)
    assert (off.uid, off.start) == (first.uid, first.start)
    assert "in the patient's calendar still: send them" in said
    assert f"/calendar/{clinic.recall().id}-{sequence}/visit-off.ics by e-mail" in said.replace(
        " ", ""
    ).replace("bye-mail", " by e-mail")
    assert clinic.written(TUESDAY) == []


def test_the_desk_that_tells_of_a_visit_called_off_has_the_file_and_the_next_one_counts_on(
    clinic: Clinic,
) -> None:
    take(clinic, nell())
    clinic.ok(*NINE, *ANN)
    clinic.written(TUESDAY)
    clinic.ok("call-off", NELL, *ANN)  # the next run would tell them, with a file
    assert taken_out(clinic) == []

    clinic.ok("told", NELL, *ANN)

    (off,) = taken_out(clinic)
    assert (off.method, off.sequence) == ("CANCEL", 1)
    clinic.ok("book", NELL, "--at", "2026-12-10T09:30", *ANN)
    (anew,) = map(mail, clinic.written(TUESDAY))
    assert (anew.method, anew.sequence, anew.uid) == ("PUBLISH", 2, off.uid)


@pytest.mark.parametrize("why", ["never sent", "by text", "opted out", "died", "an e-mail tells"])
def test_there_is_no_file_where_none_is_wanted(clinic: Clinic, why: str) -> None:
    take(clinic, nell(agreed="email sms" if why == "by text" else "email"))
    clinic.ok(*NINE, *ANN)
    if why != "never sent":
        assert len(clinic.written(TUESDAY)) == 1
    if why == "opted out":
        clinic.ok("opt-out", NELL, "--topic", "appointment", "--channel", "email", *ANN)
    wish = () if why == "an e-mail tells" else ("--wish", "patient")
    clinic.ok(*(("deceased", NELL) if why == "died" else ("call-off", NELL, *wish)), *ANN)

    assert taken_out(clinic) == []


def test_a_visit_that_is_over_is_left_in_the_calendar(clinic: Clinic) -> None:
    take(clinic, nell())
    clinic.ok(*NINE, *ANN)
    clinic.written(TUESDAY)
    clinic.day = date(2026, 12, 7)
    clinic.ok("done", NELL, "--because", "moved to another clinic", *ANN)

    assert taken_out(clinic) == []


def test_a_file_that_cannot_be_written_leaves_the_decision_on_record(clinic: Clinic) -> None:
    take(clinic, nell())
    clinic.ok(*NINE, *ANN)
    clinic.written(TUESDAY)
    (clinic.home / "out" / "calendar").write_text("in the way")

    answer = clinic("call-off", NELL, "--wish", "patient", *ANN)

    assert answer.code == 2
    assert "what was decided is on record; the calendar file alone is lacking" in answer.err
    assert clinic.recall().booked is None


# --- what cannot be booked --------------------------------------------------------------


@pytest.mark.parametrize(
    ("at", "said"),
    [
        ("2026-11-24T11:59", "--at: 2026-11-24T11:59 is past: it is 2026-11-24 12:00"),
        ("2026-12-28T09:00", "2026-12-28 is a bank holiday"),
        ("2026-11-28T09:00", "the clinic is closed on Saturdays"),
        ("2026-12-03 09:00", "'2026-12-03 09:00' is no day and time there is"),
        ("2027-02-29T09:00", "'2027-02-29T09:00' is no day and time there is"),
        ("2026-12-03T25:00", "'2026-12-03T25:00' is no day and time there is"),
        ("2027-03-28T01:30", "does not exist: clocks go forward over it"),
        ("2027-10-31T01:30", "comes twice: 2027-10-31T00:30:00Z and 2027-10-31T01:30:00Z"),
        ("2027-12-16T09:00", "past the hard limit of wax, 2027-12-14"),
    ],
)
def test_what_cannot_be_booked_is_refused_and_changes_nothing(
    clinic: Clinic, at: str, said: str
) -> None:
    take(clinic, nell())
    before = clinic.recall()

    answer = clinic("book", NELL, "--at", at, *ANN)

    assert (answer.code, answer.out) == (2, "")
    assert said in answer.err
    assert clinic.recall() == before


def test_a_time_that_comes_twice_is_booked_when_it_is_said_which(
    clinic: Clinic, monkeypatch: pytest.MonkeyPatch
) -> None:
    from aftercare.recall import dates

    monkeypatch.setattr(dates, "closure", lambda day, clinic: None)  # it is a Sunday night
    take(clinic, nell())

    clinic.ok("book", NELL, "--at", "2027-10-31T01:30", "--fold", "second", *ANN)

    booked = clinic.recall().booked
    assert booked is not None
    assert booked.astimezone(UTC) == datetime(2027, 10, 31, 1, 30, tzinfo=UTC)


def test_whoever_is_silent_waits_on_who_books_and_is_not_written_to(clinic: Clinic) -> None:
    take(clinic, nell(standing="silent", reasons="no consent"))

    said = clinic.ok("book", NELL, "--at", "2026-12-03T09:30", *ANN)

    assert "may not be written to (silent: no consent): tell them yourself" in said
    assert clinic.written(TUESDAY) == []
    assert clinic.recall().waiting_on == "Ann Admin"


def test_whoever_takes_a_recall_over_or_closes_it_is_told_what_becomes_of_the_visit(
    clinic: Clinic,
) -> None:
    take(clinic, nell())
    clinic.ok("book", NELL, "--at", "2026-12-03T09:30", *ANN)

    over = clinic.ok("hand-over", NELL, "--to", "Sam Field", "--because", "a call", *ANN)
    assert "no message tells the patient that the visit was booked: tell them" in over
    clinic.ok("told", NELL, *ANN)
    assert (clinic.recall().told, clinic.recall().state) == (True, RecallState.SCHEDULED)

    gone = clinic.ok("deceased", NELL, *ANN)
    assert "the visit on 2026-12-03 09:30 falls away: free its time" in gone
    assert clinic.written(TUESDAY) == []


# --- when no message is left ------------------------------------------------------------


def test_a_sequence_that_ended_is_put_on_the_desk_by_name_once(either: Clinic) -> None:
    clinic = either
    long_ago = {"due": "2026-07-01", "seen": "2026-01-01", "anchor": "2026-01-01"}
    take(clinic, nell(1, **long_ago), nell(2), nell(3, **long_ago, agreed=""))

    dry = clinic("write", "--dry-run", "--json").json()
    assert len(clinic.written(TUESDAY)) == 2  # overdue, and the invitation
    assert clinic.recall().state is RecallState.SCHEDULED
    # Nobody can write to the third, whose sequence is over: it is somebody's at once.
    assert dry["handed_over"] == 1
    assert (clinic.recall("P0000003").state, clinic.recall("P0000003").waiting_on) == (
        RecallState.WAITING, "the recall desk",
    )  # fmt: skip

    assert [one.name for one in clinic.written(date(2026, 12, 2))] == ["2.unbooked.2026-12-15.eml"]
    recall = clinic.recall()
    assert (recall.waiting_on, recall.because) == (
        "the recall desk", "due on 2026-07-01, and nothing was booked",
    )  # fmt: skip
    assert clinic.happened()[-1] is What.HANDED_OVER
    assert clinic("write", "--dry-run", "--json").json()["handed_over"] == 0
    assert clinic.recall("P0000002").state is RecallState.SCHEDULED


def test_who_changed_a_recall_meanwhile_is_not_overruled_by_the_run(
    either: Clinic, monkeypatch: pytest.MonkeyPatch
) -> None:
    clinic = either
    long_ago = {"due": "2026-07-01", "seen": "2026-01-01", "anchor": "2026-01-01", "agreed": ""}
    take(clinic, nell(1, **long_ago), nell(2, **long_ago))
    keep = writing.PartOfRun._keep

    def meanwhile(run: writing.PartOfRun, new: list[Any]) -> None:
        keep(run, new)
        clinic.ok("book", NELL, "--at", "2026-12-03T09:30", "--because", "asked", *ANN)
        monkeypatch.setattr(writing.PartOfRun, "_keep", keep)

    monkeypatch.setattr(writing.PartOfRun, "_keep", meanwhile)
    clinic.written(TUESDAY)

    assert (clinic.recall().state, clinic.recall().because) == (RecallState.SCHEDULED, "asked")
    assert clinic.recall("P0000002").state is RecallState.WAITING


# --- consent that is given later --------------------------------------------------------


def test_consent_that_is_given_later_is_kept_with_who_recorded_it_and_how(either: Clinic) -> None:
    clinic = either
    lack = "no consent: not asked; ask, and record the answer"
    silent = nell(standing="silent", reasons=lack, agreed="", otherwise="ready")
    take(clinic, silent)
    assert clinic.recall().because == "may not be contacted"

    said = clinic.ok(
        "opt-in", NELL, "--channel", "email", "--consent", "asked at the desk", *ANN
    )  # fmt: skip

    def nell_now() -> tuple[Any, ...]:
        with closing(open_register(str(clinic.home))) as register:
            person = register.person(NELL)
            assert person is not None
            return person.standing, person.agreed, person.reasons

    recorded = "consent recorded on 2026-11-24 by Ann Admin: email, asked at the desk"
    agreed = (Standing.READY, frozenset({Channel.EMAIL}), (recorded,))
    assert "agreed to email; ready" in said
    assert "wax: scheduled again, due 2026-12-15" in said
    assert nell_now() == agreed
    assert clinic.recall().state is RecallState.SCHEDULED
    assert clinic.happened()[-1] is What.OPTED_IN
    clinic.sound()
    # The list it came from knows no better, nor one that says no and that it was before; that the
    # number cannot take texts, or that it is shared, has nothing to do with it.
    fixed, shared = "mobile: not a number that takes texts", "mobile: the same as in another row"
    before = "no consent on 2026-11-23: refused or withdrawn"
    for reasons in (lack, before):
        take(clinic, silent._replace(reasons=reasons))
        assert nell_now() == agreed
        take(clinic, silent._replace(reasons=f"{reasons}\n{fixed}\n{shared}"))
        assert nell_now() == (Standing.READY, frozenset({Channel.EMAIL}), (fixed, shared, recorded))
        assert take(clinic, silent._replace(reasons=f"{reasons}\n{fixed}\n{shared}")).nothing
    take(clinic, nell(agreed="sms"))
    assert nell_now() == (Standing.READY, frozenset({Channel.SMS}), (recorded,))
    take(clinic, nell(agreed="email"))
    take(clinic, silent)
    assert nell_now() == agreed
    assert clinic.happened().count(What.OPTED_OUT) == 0
    assert len(clinic.written(TUESDAY)) == 1


@pytest.mark.parametrize(
    "reasons",
    [
        "no consent: refused or withdrawn",
        "no consent on 2026-11-24: refused or withdrawn",
        "no consent: whether refused or never asked is not told; find out which",
    ],
)
def test_a_no_that_may_be_newer_undoes_a_consent_on_record_and_is_told(
    either: Clinic, reasons: str
) -> None:
    clinic = either
    lack = "no consent: not asked; ask, and record the answer"
    silent = nell(standing="silent", reasons=lack, agreed="", otherwise="ready")
    take(clinic, silent)
    clinic.ok("opt-in", NELL, "--channel", "email", "--consent", "asked at the desk", *ANN)

    taken = take(clinic, silent._replace(reasons=reasons))

    with closing(open_register(str(clinic.home))) as register:
        person = register.person(NELL)
        assert person is not None
        assert (person.standing, person.agreed) == (Standing.SILENT, frozenset())
        assert person.reasons == (reasons,)
    assert (taken.changed, taken.silenced, taken.handed_over) == (1, 1, 1)
    assert clinic.happened().count(What.OPTED_OUT) == 1
    assert clinic.recall().state is RecallState.WAITING
    clinic.sound()
    assert take(clinic, silent._replace(reasons=reasons)).nothing
    # A list that only does not know makes a no no weaker.
    assert take(clinic, silent._replace(agreed="")).nothing


def test_a_death_recorded_here_is_not_forgotten_for_a_list_without_a_consent(
    either: Clinic,
) -> None:
    clinic = either
    take(clinic, nell())
    clinic.ok("deceased", NELL, *ANN)
    lack = "no consent: not asked; ask, and record the answer"

    assert take(clinic, nell(standing="silent", reasons=lack, otherwise="ready")).nothing

    answer = clinic("opt-in", NELL, "--channel", "email", "--consent", "said so", *ANN)
    assert (answer.code, answer.out) == (2, "")
    assert "silent for more than want of consent" in answer.err


@pytest.mark.parametrize(
    ("reasons", "more", "said"),
    [
        ("died", ("--channel", "email"), "silent for more than want of consent: died"),
        ("no consent\nmoved away", ("--channel", "email"), "moved away"),
        ("no consent", (), "--consent: to what is not said; add --channel"),
    ],
)
def test_consent_wakes_nobody_who_is_silent_for_more(
    clinic: Clinic, reasons: str, more: tuple[str, ...], said: str
) -> None:
    take(clinic, nell(standing="silent", reasons=reasons, agreed=""))

    answer = clinic("opt-in", NELL, *more, "--consent", "said so", *ANN)

    assert (answer.code, answer.out) == (2, "")
    assert said in answer.err
    assert clinic.recall().state is RecallState.WAITING

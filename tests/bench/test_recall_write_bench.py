"""How quickly due reminders are written, beside a plain pipeline that does the same work plainly.

`AFTERCARE_BENCH_PATIENTS` sets how many the whole command is run on; 4,000 without it. Growth is
measured on an eighth, a quarter and a half of them. Times are of the processor, of one core: the
clock of a machine that others use says little.
"""

from __future__ import annotations

import json
import os
import resource
import shutil
import time
from collections import Counter
from collections.abc import Callable, Sequence
from contextlib import closing
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from email.headerregistry import Address
from email.message import EmailMessage
from email.policy import SMTP
from hashlib import sha256
from pathlib import Path
from typing import Any

import icalendar
import pytest
import smsutil
import textstat
from jinja2 import Environment
from made_up import FakePress
from made_up_recalls import a_person
from made_up_register import deed, reminder, row
from made_up_reminders import START, an_order

from aftercare.cli.bootstrap import make_register, open_recall_desk, open_register
from aftercare.model import Channel, Library, Moment, Purpose, Status
from aftercare.recall.people import What
from aftercare.recall.port import IntakeRow
from aftercare.recall.steps import key_of
from aftercare.recall.write import follow
from aftercare.reminding import Forms, Order, Reminding, record
from aftercare.score.second import second_opinion

MANY, FEW = 3000, 60
PATIENTS = int(os.environ.get("AFTERCARE_BENCH_PATIENTS", "4000"))
# With fewer recalls, much of what a process does is to read the shelf.
IN_PARTS = 20_000
TODAY = date(2026, 11, 30)
OTHER_EAR = "condition:otitis-externa"

pytestmark = pytest.mark.bench


def orders(count: int) -> list[tuple[Order, Order]]:
    """A text and an e-mail with a calendar file for each patient, no two of one name."""
    made = []
    for n in range(count):
        person = a_person(
            first_name=f"Nell{n % 997}", last_name=f"Invented{n}", email=f"p{n}@example.org",
            language=("en", "pl", "ur", "en")[n % 4],
        )  # fmt: skip
        start = START + timedelta(days=n % 3, minutes=20 * (n % 24))
        text = an_order(
            Moment.BEFORE, Channel.SMS, key=f"{n}/three-days-before/2027-03-10", person=person,
            times={"appointment": start},
        )  # fmt: skip
        assert text.visit is not None
        visit = replace(text.visit, recall=n, start=start)
        text = replace(text, visit=visit)
        made.append((text, replace(text, channel=Channel.EMAIL)))
    return made


def per_patient(work: Callable[[Any], object], some: Sequence[Any]) -> float:
    """Seconds of processor for each, the best of three rounds after a warm-up."""
    for one in some[:40]:
        work(one)
    rounds = []
    for _ in range(3):
        begun = time.process_time()
        for one in some:
            work(one)
        rounds.append(time.process_time() - begun)
    return min(rounds) / len(some)


# --- the peer -----------------------------------------------------------------------------------

# The same words by a template each, as somebody writes it who has the usual libraries at hand.
TEXT = """{{ clinic }}:
For {{ person.first_name }}:
Your visit is on {{ day }} at {{ time }}. If you cannot come, tell us now. We will find a new time.
Phone us: 01632 960142.
Text us: 07700 900142.
To stop these texts, tell us."""
LINES = [
    "Your visit to us is on {{ day }} at {{ time }}.",
    "If you cannot come, tell us now. We will find a new time with you.",
    "Do you need an interpreter or other help at the visit? Tell us before you come.",
    "The file with this e-mail puts the visit in your calendar.",
    "Phone us on 01632 960142. You can also e-mail us at hello@larkfield.example.",
    "You can text us on 07700 900142.",
    "Opening hours: Monday to Thursday, 9am to 5pm.",
    "To stop these e-mails, tell us. Do you want a text or a letter in their place? Tell us that.",
]
SIGNED = "With kind regards from Larkfield Ear Care"
PLAIN = "\n\n".join(["Dear {{ person.first_name }} {{ person.last_name }},", *LINES, SIGNED])
PAGE = "<!doctype html><html lang='en'><body>{}</body></html>".format(
    "".join(f"<p style='margin: 0 0 .8rem'>{line}</p>" for line in PLAIN.split("\n\n"))
)
PLAINLY = Environment(autoescape=False)  # noqa: S701 - the text message and the plain part
SAFELY = Environment(autoescape=True)
TEXT_T, PLAIN_T, PAGE_T = (
    PLAINLY.from_string(TEXT), PLAINLY.from_string(PLAIN), SAFELY.from_string(PAGE)
)  # fmt: skip


def plain_pipeline(order: Order) -> tuple[int, float, bytes, str]:
    """A text split by smsutil, an e-mail with a calendar file, a grade, and a record of both."""
    assert order.visit is not None
    start = order.visit.start
    told = {
        "clinic": "Larkfield Clinic", "person": order.person, "day": f"{start:%A, %d %B %Y}",
        "time": f"{start:%H:%M}",
    }  # fmt: skip
    text = TEXT_T.render(told)
    parts = len(smsutil.split(text).parts)
    plain, page = PLAIN_T.render(told), PAGE_T.render(told)
    grade = textstat.flesch_kincaid_grade(plain)
    textstat.flesch_reading_ease(plain)
    textstat.smog_index(plain)
    mail = EmailMessage(policy=SMTP)
    mail["From"] = Address("Larkfield Clinic", addr_spec="no-reply@larkfield.example")
    mail["To"] = Address(addr_spec=str(order.person.email))
    mail["Subject"] = "The next visit to Larkfield Clinic"
    mail.set_content(plain)
    mail.add_alternative(page, subtype="html")
    mail.add_attachment(_calendar(order), maintype="text", subtype="calendar", filename="visit.ics")
    raw = mail.as_bytes()
    kept = json.dumps({"case": order.key, "sms": _digest(text.encode()), "email": _digest(raw)})
    return parts, grade, raw, kept


def _calendar(order: Order) -> bytes:
    assert order.visit is not None
    calendar, event = icalendar.Calendar(), icalendar.Event()
    calendar.add("version", "2.0")
    calendar.add("prodid", "-//x//EN")
    calendar.add("method", "PUBLISH")
    event.add("uid", f"{order.visit.recall}@larkfield.example")
    event.add("dtstamp", order.visit.stamp)
    event.add("dtstart", order.visit.start)
    event.add("duration", timedelta(minutes=order.visit.minutes))
    event.add("summary", "The next visit to Larkfield Clinic")
    event.add("location", "Larkfield Clinic")
    calendar.add_component(event)
    calendar.add_missing_timezones()
    return bytes(calendar.to_ical())


def _digest(raw: bytes) -> str:
    return sha256(raw).hexdigest()


# --- what is timed ------------------------------------------------------------------------------


def test_a_text_and_an_email_for_each_beside_a_plain_pipeline(
    approved: Library, capsys: pytest.CaptureFixture[str]
) -> None:
    second_opinion("Set textstat up, so that it fetches nothing.")
    forms = Forms(Reminding(approved, FakePress(), Purpose.PATIENT))

    def ours(pair: tuple[Order, Order]) -> list[str]:
        kept = []
        for order in pair:
            message = forms.write(order)
            assert message.status is Status.RELEASED
            kept.append(json.dumps(_kept(record(order, message, approved, "now"))))
        return kept

    many = orders(MANY)
    mine = per_patient(ours, many)
    peer = per_patient(plain_pipeline, [text for text, _ in many[:FEW]])
    plain = Reminding(approved, FakePress(), Purpose.PATIENT)
    slowly = per_patient(lambda pair: [plain.write(one) for one in pair], many[:FEW])

    sms, mail = (forms.write(one) for one in many[0])
    parts, grade, raw, _ = plain_pipeline(many[0][0])
    assert sms.sms is not None
    assert sms.sms.parts == parts
    assert grade < 9
    assert mail.body is not None
    assert all(b"puts the visit in your calendar" in one for one in (mail.body, raw))
    with capsys.disabled():
        print(
            f"\n  text + e-mail, to bytes and record: {mine * 1e6:.0f} µs a patient"
            f" ({1 / mine:,.0f}/s); plain pipeline {peer * 1e6:.0f} µs: {peer / mine:.1f} times;"
            f" through every room each time {slowly * 1e6:.0f} µs"
        )


def _kept(one: Any) -> dict[str, Any]:
    return {name: getattr(one, name) for name in type(one).__slots__}


@pytest.fixture(scope="module")
def clinic(approved_shelf: dict[str, bytes], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A clinic's folder with a register in which every other recall has a message due today."""
    return a_clinic(approved_shelf, tmp_path_factory.mktemp("clinic"), PATIENTS)


def a_clinic(shelf: dict[str, bytes], home: Path, count: int) -> Path:
    """A clinic's folder with so many recalls."""
    for name, raw in shelf.items():
        (home / name).parent.mkdir(parents=True, exist_ok=True)
        (home / name).write_bytes(raw)
    with closing(make_register(str(home))) as register, register.intake(deed()) as intake:
        for start in range(0, count, 20_000):
            intake.rows([_listed(n) for n in range(start, min(start + 20_000, count))])
    return home


def _listed(n: int) -> Any:
    due = TODAY + timedelta(days=42 if n % 2 else 60 + n % 300)
    return row(
        n, first_name=f"Nell{n % 997}", due=due.isoformat(), condition="condition:wax",
        household=f"h{n}", language=("en", "pl", "ur", "en")[n // 2 % 4],
        agreed=("sms", "email")[n // 8 % 2],
    )  # fmt: skip


def test_scheduling_every_recall(clinic: Path, capsys: pytest.CaptureFixture[str]) -> None:
    planner = open_recall_desk(str(clinic)).planner
    begun = time.process_time()
    with closing(open_register(str(clinic))) as register:
        followed = new = 0
        for one in follow(register.all_recalls(), register.all_reminders(), planner, TODAY):
            followed += 1
            new += len(one.new)
    each = (time.process_time() - begun) / PATIENTS
    assert (followed, new) == (PATIENTS // 2, PATIENTS // 2)
    with capsys.disabled():
        print(f"\n  scheduling: {each * 1e6:.0f} µs a recall, {each * 1e6:.0f} s for a million")


def test_the_whole_command(
    clinic: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    from aftercare.cli.recall import writing
    from aftercare.edges.clock import SystemClock

    monkeypatch.setattr(SystemClock, "today", lambda clock: TODAY)
    monkeypatch.setattr(writing, "this_moment", lambda: datetime(2026, 11, 30, 9, tzinfo=UTC))
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    times, clock = os.times(), time.perf_counter()
    asked = writing.Asked(on=TODAY.isoformat(), out=tmp_path / "o", home=str(clinic))
    assert writing.write_due(asked, dry_run=False, as_json=True) == 0
    clock, after = time.perf_counter() - clock, os.times()
    told = json.loads(capsys.readouterr().out.splitlines()[-1])
    here = after.user + after.system - times.user - times.system
    beside = (
        after.children_user + after.children_system - times.children_user - times.children_system
    )
    grown = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024
    written = told["written"]["sms"] + told["written"]["email"]
    assert written == PATIENTS // 2
    assert sum(1 for _ in (tmp_path / "o").glob("*/*")) == written
    with capsys.disabled():
        print(
            f"\n  the whole command, {written:,} messages of {PATIENTS:,} recalls: {clock:.1f} s,"
            f" {written / clock:,.0f}/s by the clock; processor a message"
            f" {here / written * 1e6:.0f} µs here and {beside / written * 1e6:.0f} µs beside;"
            f" {grown:.0f} MB more memory"
        )


def test_two_processes_beside_one(
    approved_shelf: dict[str, bytes],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """The same files and list, and by how much sooner.

    By the clock two are sooner only where both cores are free. What is told first holds of any
    machine: the processor's time of one against the longer of the two.
    """
    from aftercare.cli.recall import writing
    from aftercare.edges.clock import SystemClock

    monkeypatch.setattr(SystemClock, "today", lambda clock: TODAY)
    monkeypatch.setattr(writing, "this_moment", lambda: datetime(2026, 11, 30, 9, tzinfo=UTC))
    monkeypatch.setattr(writing, "WORTH_A_PROCESS", 0)
    count = max(PATIENTS, IN_PARTS)
    first = a_clinic(approved_shelf, tmp_path / "1", count)
    second = shutil.copytree(first, tmp_path / "2")
    took = []
    for cores, home in ((1, first), (2, second)):
        monkeypatch.setattr(writing, "cores", lambda cores=cores: cores)
        times, clock = os.times(), time.perf_counter()
        asked = writing.Asked(on=TODAY.isoformat(), out=home / "o", home=str(home))
        assert writing.write_due(asked, dry_run=False, as_json=True) == 0
        clock, after = time.perf_counter() - clock, os.times()
        here = after.user + after.system - times.user - times.system
        beside = after.children_user + after.children_system
        took.append((clock, here, beside - times.children_user - times.children_system))
    told = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert told[0] | {"out": None} == told[1] | {"out": None}
    assert sum(told[0]["written"].values()) == count // 2
    assert digests(first / "o") == digests(second / "o")

    (alone, one, none), (both, here, beside) = took
    assert round(none, 6) == 0 < beside
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss // 1024
    with capsys.disabled():
        print(
            f"\n  {count // 2:,} messages of {count:,} recalls, two processes against one:"
            f" {one / max(here, beside):.2f} times by the processor ({one:.1f} s; {here:.1f} and"
            f" {beside:.1f} s), {alone / both:.2f} by the clock ({alone:.1f} s; {both:.1f} s) at a"
            f" load of {os.getloadavg()[0]:.0f}; peak of {peak} MB beside"
        )


def digests(out: Path) -> str:
    """One digest of every file and the list."""
    found = sorted([*out.glob("*/*"), *out.glob("list.*")])
    made = sha256()
    for path in found:
        made.update(f"{path.relative_to(out)} {_digest(path.read_bytes())}\n".encode())
    return made.hexdigest()


# --- with the register, and as there are more ---------------------------------------------------


class Stopwatch:
    """Seconds of processor spent in some functions, each by its name."""

    def __init__(self, patch: pytest.MonkeyPatch) -> None:
        self._patch = patch
        self.spent: Counter[str] = Counter()

    def on(self, place: Any, name: str) -> None:
        """Time a function from here on."""
        was = getattr(place, name)

        def timed(*given: Any, **named: Any) -> Any:
            begun = time.process_time()
            try:
                return was(*given, **named)
            finally:
                self.spent[name] += time.process_time() - begun

        self._patch.setattr(place, name, timed)


def a_text_and_an_email_each(home: Path, count: int) -> None:
    """People without a household: a text is due, and an e-mail about another recall."""
    due = (TODAY + timedelta(days=42)).isoformat()
    with closing(make_register(str(home))) as register:
        with register.intake(deed()) as intake:
            for start in range(0, count, 5000):
                numbers = range(start, min(start + 5000, count))
                intake.rows([_asked_twice(n, due) for n in numbers])
                intake.rows(
                    [
                        IntakeRow(f"P{n:07}", condition=OTHER_EAR, anchor="2026-01-31",
                                  months=6, due=due, state="scheduled")
                        for n in numbers
                    ]
                )  # fmt: skip
        mails = (
            reminder(
                recall.id, "invite", channel=Channel.EMAIL, day=TODAY,
                key=key_of(recall, "invite", recall.due),
            )
            for recall, _ in register.all_recalls() if recall.condition == OTHER_EAR
        )  # fmt: skip
        assert register.plan(mails, deed(What.PLANNED)) == count


def _asked_twice(n: int, due: str) -> IntakeRow:
    return row(
        n, first_name=f"Nell{n % 997}", due=due, condition="condition:wax", household=None,
        language=("en", "pl", "ur", "en")[n % 4],
    )  # fmt: skip


def test_a_text_and_an_email_for_each_with_the_register_as_they_grow_in_number(
    approved_shelf: dict[str, bytes],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Claimed, judged, worded, scored, gated, recorded and settled; files are timed apart."""
    from aftercare.cli.recall import made, writing
    from aftercare.edges.clock import SystemClock
    from aftercare.edges.outbox_files import Outbox

    monkeypatch.setattr(SystemClock, "today", lambda clock: TODAY)
    monkeypatch.setattr(writing, "this_moment", lambda: datetime(2026, 11, 30, 9, tzinfo=UTC))
    monkeypatch.setattr(writing, "cores", lambda: 1)
    watch, costs, peaks = Stopwatch(monkeypatch), list[tuple[float, float]](), list[int]()
    watch.on(writing._Writing, "all")
    watch.on(made, "write_batch")
    watch.on(Outbox, "place")
    shelf = tmp_path / "shelf"
    for name, raw in approved_shelf.items():
        (shelf / name).parent.mkdir(parents=True, exist_ok=True)
        (shelf / name).write_bytes(raw)
    # The first is to warm up; what it takes to begin falls out of the differences of the others.
    sizes = [40, PATIENTS // 8, PATIENTS // 4, PATIENTS // 2]
    for size in sizes:
        home = tmp_path / str(size)
        home.mkdir()
        for one in shelf.iterdir():
            (home / one.name).symlink_to(one)
        a_text_and_an_email_each(home, size)
        watch.spent.clear()
        asked = writing.Asked(on=TODAY.isoformat(), out=home / "o", home=str(home))
        assert writing.write_due(asked, dry_run=False, as_json=True) == 0
        told = json.loads(capsys.readouterr().out.splitlines()[-1])
        assert told["written"] == {"sms": size, "email": size, "print": 0}
        files = watch.spent["write_batch"] + watch.spent["place"]
        costs.append((watch.spent["all"] - files, files))
        peaks.append(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024)
    (first, _), (second, _), (third, files) = costs[1:]
    lower = (second - first) / (sizes[2] - sizes[1])
    upper = (third - second) / (sizes[3] - sizes[2])
    with capsys.disabled():
        print(
            f"\n  text + e-mail with the register, {sizes[3]:,} patients: {upper * 1e6:.0f} µs a"
            f" patient ({1 / upper:,.0f}/s), files {files / sizes[3] * 1e6:.0f} µs beside;"
            f" {upper / lower:.2f} times what each cost in half as many; peaks of {peaks} MB"
        )

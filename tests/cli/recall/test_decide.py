"""What people decide on the list: nothing is lost by it, and all happens or nothing does."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from made_up_register import contents, deed, opened

from aftercare.edges.register.copies import verify
from aftercare.model import Channel, Interval
from aftercare.recall.people import Recall, RecallState, Standing, What

Run = Callable[..., Any]
CAVITY, WAX, OTITIS = "condition:open-cavity", "condition:wax", "condition:otitis-externa"
ANN = ("--by", "Ann Admin")


def recalls(home: Path, ref: str) -> tuple[Recall, ...]:
    with opened(home) as register:
        return register.recalls(ref)


def happened(home: Path, ref: str) -> list[tuple[What, str]]:
    """What happened to somebody, past what came in with the list."""
    with opened(home) as register:
        return [(one.deed.what, one.deed.by) for one in register.history(ref)]


def refused(home: Path, answer: Any, *said: str) -> None:
    assert (answer.code, answer.out) == (2, "")
    for words in said:
        assert words in answer.err


# --- putting off ------------------------------------------------------------------------


def test_snooze_moves_the_day_to_an_open_one_and_keeps_the_reason(clinic: Path, run: Run) -> None:
    # 2026-12-25 is a bank holiday, and the clinic of the demo is closed until the new year.
    answer = run("recall", "snooze", "P0000001", "--until", "2026-12-25", *ANN,
                 "--because", "abroad", "--home", clinic)  # fmt: skip

    assert (answer.code, answer.err) == (0, "")
    (after,) = recalls(clinic, "P0000001")
    assert (after.due, after.state, after.because) == (
        date(2027, 1, 4), RecallState.SCHEDULED, "abroad",
    )  # fmt: skip
    assert happened(clinic, "P0000001") == [(What.SNOOZED, "Ann Admin")]
    assert "due 2027-01-04, no longer 2026-11-30; its hard limit is 2027-05-31" in (
        " ".join(answer.out.split())
    )


def test_snooze_schedules_what_waited_but_never_for_somebody_silent(clinic: Path, run: Run) -> None:
    words = ("--until", "2027-02-01", *ANN, "--home", clinic)
    assert run("recall", "snooze", "P0000005", "P0000006", *words).code == 0

    (waited,), (silent,) = recalls(clinic, "P0000005"), recalls(clinic, "P0000006")
    assert (waited.state, waited.waiting_on, waited.because) == (
        RecallState.SCHEDULED, None, None,
    )  # fmt: skip
    assert (silent.state, silent.waiting_on, silent.due) == (
        RecallState.WAITING, "Ann Admin", date(2027, 2, 1),
    )  # fmt: skip
    with opened(clinic) as register:
        assert list(register.audit()) == []


def test_past_the_hard_limit_a_reason_is_asked_for_however_often_it_was_put_off(
    clinic: Path, run: Run
) -> None:
    # An open cavity: 26 weeks from the promised day, 2026-11-30, end on 2027-05-31.
    def snooze(until: str, *more: str) -> Any:
        words = ("--until", until, *ANN, *more, "--home", clinic)
        return run("recall", "snooze", "P0000001", *words)

    refused(clinic, snooze("2027-06-01"), "past the hard limit of open-cavity, 2027-05-31")
    assert snooze("2027-05-31", "--because", "asked for it").code == 0
    refused(clinic, snooze("2027-06-02"), "past the hard limit of open-cavity, 2027-05-31")
    assert snooze("2027-06-02", "--because", "in hospital").code == 0
    assert recalls(clinic, "P0000001")[0].because == "in hospital"


def test_a_booked_visit_is_only_called_off_with_a_reason(clinic: Path, run: Run) -> None:
    from dataclasses import replace
    from datetime import UTC, datetime

    with opened(clinic) as register:
        (was,) = register.recalls("P0000003")
        booked = replace(was, booked=datetime(2026, 12, 3, 9, tzinfo=UTC), told=True)
        register.change(deed(What.BOOKED), (was, booked))
    words = ("recall", "snooze", "P0000003", "--until", "2026-12-14", *ANN, "--home", clinic)

    refused(clinic, run(*words), "a visit is booked for 2026-12-03")
    answer = run(*words, "--because", "cannot come")

    assert "the visit on 2026-12-03 is off" in " ".join(answer.out.split())
    (after,) = recalls(clinic, "P0000003")
    assert (after.booked, after.told) == (None, False)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("P0000001", "--until", "2026-11-24"), "is not after today, 2026-11-24"),
        (("P0000001", "--until", "2025-01-01"), "is not after today, 2026-11-24"),
        (("P0000001", "--until", "2027-02-29"), "--until: there is no day 2027-02-29"),
        (("P0000001", "--until", "9999-12-31"), "and the end of the calendar"),
        (("P0000001", "--until", "2026-11-25"), "due on 2026-11-30, which is not before"),
        (("P0000007", "--until", "2027-01-04"), "no such recall is open"),
        (("P0000001", "nobody", "--until", "2027-01-04"), "nobody has the reference 'nobody'"),
        (("P0000001", "P0000007", "--until", "2027-01-04"), "P0000007: no such recall is open"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_at_all_is_changed(
    clinic: Path, run: Run, words: tuple[str, ...], said: str
) -> None:
    with opened(clinic) as register:
        before = contents(register)

    refused(clinic, run("recall", "snooze", *words, *ANN, "--home", clinic), said)

    with opened(clinic) as register:
        assert contents(register) == before


def test_who_decides_is_always_named(clinic: Path, run: Run) -> None:
    for by in ("", "  ", "Ann\x1b[2J"):
        answer = run("recall", "moved", "P0000001", "--by", by, "--home", clinic)
        refused(clinic, answer, "--by:")
    assert run("recall", "moved", "P0000001", "--home", clinic).code == 2
    assert happened(clinic, "P0000001") == []


# --- done -------------------------------------------------------------------------------


def test_an_open_cavity_comes_back_on_the_clinician_s_figure(clinic: Path, run: Run) -> None:
    answer = run("recall", "done", "P0000001", "--seen", "2026-11-23", "--months", 9, *ANN,
                 "--home", clinic)  # fmt: skip

    assert answer.code == 0
    was, following = recalls(clinic, "P0000001")
    assert (was.state, was.because, was.closed) == (
        RecallState.CLOSED, "came", date(2026, 11, 23),
    )  # fmt: skip
    # Nine months on is Monday 2027-08-23.
    assert (following.anchor, following.interval, following.due, following.condition) == (
        date(2026, 11, 23), Interval(months=9), date(2027, 8, 23), CAVITY,
    )  # fmt: skip
    assert following.state is RecallState.SCHEDULED
    assert [what for what, _ in happened(clinic, "P0000001")] == [What.DONE, What.OPENED]


def test_without_a_figure_it_waits_on_a_named_person_until_one_is_given(
    clinic: Path, run: Run
) -> None:
    words = ("recall", "done", "P0000001", "--seen", "2026-11-23", *ANN, "--home", clinic)
    assert run(*words, "--waiting-on", "Nurse Example").code == 0

    _, waiting = recalls(clinic, "P0000001")
    assert (waiting.state, waiting.waiting_on) == (RecallState.WAITING, "Nurse Example")
    assert waiting.because == "nobody has said yet when the next visit is due"
    # Nothing but the figure brings it on.
    snooze = ("recall", "snooze", "P0000001", "--until", "2027-05-01", *ANN, "--home", clinic)
    refused(clinic, run(*snooze), "waits on Nurse Example", "'recall done --seen 2026-11-23")
    refused(clinic, run(*words), "the visit on 2026-11-23 is on record and waits for a figure")
    assert run(*words, "--months", 6).code == 0

    _, agreed = recalls(clinic, "P0000001")
    # Six months on is Sunday 2027-05-23, so Monday.
    assert (agreed.id, agreed.due, agreed.state, agreed.waiting_on) == (
        waiting.id, date(2027, 5, 24), RecallState.SCHEDULED, None,
    )  # fmt: skip


def test_the_desk_is_asked_when_nobody_is_named(clinic: Path, run: Run) -> None:
    assert (
        run("recall", "done", "P0000001", "--seen", "2026-11-23", *ANN, "--home", clinic).code == 0
    )
    assert recalls(clinic, "P0000001")[1].waiting_on == "the recall desk"


def test_wax_comes_back_only_when_a_figure_was_agreed(clinic: Path, run: Run) -> None:
    seen = ("--seen", "2026-11-23", *ANN, "--home", clinic)
    assert run("recall", "done", "P0000002", *seen).code == 0
    assert [one.state for one in recalls(clinic, "P0000002")] == [RecallState.CLOSED]
    assert run("recall", "done", "P0000003", *seen, "--weeks", 2).code == 0
    assert recalls(clinic, "P0000003")[1].due == date(2026, 12, 7)


def test_a_figure_that_is_not_allowed_is_asked_twice(clinic: Path, run: Run) -> None:
    words = ("recall", "done", "P0000001", "--seen", "2026-11-23", "--months", 24, *ANN)
    refused(clinic, run(*words, "--home", clinic), "3 to 12 months is allowed", "say --because")
    assert len(recalls(clinic, "P0000001")) == 1
    assert run(*words, "--because", "lives abroad", "--home", clinic).code == 0
    was, following = recalls(clinic, "P0000001")
    assert (was.because, following.because) == ("came: lives abroad", "confirmed: lives abroad")


def test_somebody_silent_who_came_is_followed_by_whoever_says_so(clinic: Path, run: Run) -> None:
    words = ("--seen", "2026-11-23", "--months", 6, *ANN, "--home", clinic)
    assert run("recall", "done", "P0000006", *words).code == 0

    following = recalls(clinic, "P0000006")[1]
    assert (following.state, following.waiting_on, following.because) == (
        RecallState.WAITING, "Ann Admin", "silent: no consent",
    )  # fmt: skip


def test_the_same_visit_said_twice_is_refused(clinic: Path, run: Run) -> None:
    words = ("recall", "done", "P0000001", "--seen", "2026-11-23", "--months", 9, *ANN)
    assert run(*words, "--home", clinic).code == 0
    refused(clinic, run(*words, "--home", clinic), "is counted from 2026-11-23", "said before?")
    assert len(recalls(clinic, "P0000001")) == 2


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "neither a visit nor a reason"),
        (("--months", "6", "--because", "x"), "a next visit is counted from one"),
        (("--seen", "2026-11-25"), "2026-11-25 is after today"),
        (("--seen", "2026-05-30"), "is counted from 2026-05-30, so 2026-05-30 is no later visit"),
        (("--seen", "2026-11-23", "--condition", "nose"), "no condition 'nose'; one of grommet"),
        (("--seen", "2026-11-23", "--condition", "wax"), "no such recall is open"),
        (("--because", "x" * 201), "over 200 characters"),
    ],
)
def test_done_refuses_what_cannot_be(
    clinic: Path, run: Run, words: tuple[str, ...], said: str
) -> None:
    refused(clinic, run("recall", "done", "P0000001", *words, *ANN, "--home", clinic), said)
    assert happened(clinic, "P0000001") == []


def test_over_without_a_visit_keeps_the_reason(clinic: Path, run: Run) -> None:
    words = (*ANN, "--because", "declined: goes elsewhere", "--home", clinic)
    assert run("recall", "done", "P0000001", *words).code == 0
    (closed,) = recalls(clinic, "P0000001")
    assert (closed.because, closed.closed) == ("declined: goes elsewhere", date(2026, 11, 24))
    assert happened(clinic, "P0000001") == [(What.CLOSED, "Ann Admin")]


# --- gone, and wishes -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("command", "reason", "what"),
    [("deceased", "died", What.DECEASED), ("moved", "moved away", What.MOVED)],
)
def test_who_is_gone_has_nothing_open_and_is_never_written_to(
    clinic: Path, run: Run, command: str, reason: str, what: What
) -> None:
    answer = run("recall", command, "P0000001", "P0000005", *ANN, "--json", "--home", clinic)

    assert [one["did"] for one in answer.json()] == [[what.value], [what.value]]
    for ref in ("P0000001", "P0000005"):
        (closed,) = recalls(clinic, ref)
        assert (closed.state, closed.because, closed.waiting_on) == (
            RecallState.CLOSED, reason, None,
        )  # fmt: skip
        with opened(clinic) as register:
            person = register.person(ref)
        assert person is not None
        assert (person.standing, person.reasons) == (Standing.SILENT, (reason,))
        assert happened(clinic, ref) == [(what, "Ann Admin")]
    again = run("recall", command, "P0000001", *ANN, "--home", clinic)
    assert again.out == f"P0000001: {reason} already; no change\n"
    assert len(happened(clinic, "P0000001")) == 1


def test_opting_out_is_by_topic_and_channel_and_can_be_taken_back(clinic: Path, run: Run) -> None:
    def opted() -> frozenset[tuple[str, Channel]]:
        with opened(clinic) as register:
            person = register.person("P0000002")
        assert person is not None
        return person.opted_out

    words = ("P0000002", *ANN, "--home", clinic)
    first = run("recall", "opt-out", *words, "--topic", "recall", "--channel", "sms")
    assert opted() == {("recall", Channel.SMS)}
    assert "a person's turn" not in first.out
    # They agreed to e-mail and texts alone.
    every = run("recall", "opt-out", *words)
    assert len(opted()) == 6
    assert "it is a person's turn" in " ".join(every.out.split())
    assert run("recall", "opt-in", *words, "--topic", "appointment").code == 0
    assert opted() == {("recall", channel) for channel in Channel}
    assert [what for what, _ in happened(clinic, "P0000002")] == [
        What.OPTED_OUT, What.OPTED_OUT, What.OPTED_IN,
    ]  # fmt: skip
    (recall,) = recalls(clinic, "P0000002")
    assert recall.state is RecallState.SCHEDULED
    (found,) = run("recall", "next", "P0000002", "--json", "--home", clinic).json()["recalls"]
    assert [one["what"] for one in found["next"]] == ["by a person"]


def test_no_other_topic_is_known(clinic: Path, run: Run) -> None:
    answer = run("recall", "opt-out", "P0000002", "--topic", "news", *ANN, "--home", clinic)
    refused(clinic, answer, "no topic 'news'; recall or appointment")


# --- at the same time -------------------------------------------------------------------


def test_two_admins_and_a_nightly_job_lose_nothing(
    clinic: Path, environment: Mapping[str, str]
) -> None:
    """Each process says what it did: what is left is one of the orders they can have come in."""
    started = [
        _process(clinic, environment, *words)
        for words in (
            ("recall", "opt-out", "P0000001", "--channel", "sms", "--by", "Ann"),
            ("recall", "opt-out", "P0000001", "--channel", "email", "--by", "Bo"),
            ("recall", "snooze", "P0000002", "--until", "2027-01-25", "--by", "Ann"),
            ("recall", "snooze", "P0000002", "--until", "2027-02-01", "--by", "Bo"),
            ("recall", "deceased", "P0000003", "P0000004", "--by", "Ann"),
            ("recall", "deceased", "P0000004", "P0000003", "--by", "Bo"),
        )
    ]
    codes = [one.wait(timeout=240) for one in started]

    # 2: somebody else was quicker, and this one was told to look again.
    assert set(codes) <= {0, 2}
    with opened(clinic) as register:
        person = register.person("P0000001")
        assert person is not None
        out = [channel for at, channel in ((0, Channel.SMS), (1, Channel.EMAIL)) if codes[at] == 0]
        assert person.opted_out == {
            (topic, channel) for channel in out for topic in ("recall", "appointment")
        }
        assert len(register.history("P0000001")) == codes[:2].count(0)
        (recall,) = register.recalls("P0000002")
        days = {0: date(2027, 1, 25), 1: date(2027, 2, 1)}
        assert recall.due in {days[at] for at in (0, 1) if codes[2 + at] == 0}
        assert len(register.history("P0000002")) == codes[2:4].count(0)
        for ref in ("P0000003", "P0000004"):
            # Who came second found it done, or was told that it had changed: never twice.
            assert len(register.history(ref)) == 1
            assert [one.because for one in register.recalls(ref)] == ["died"]
        assert verify(register).sound


def _process(home: Path, environment: Mapping[str, str], *words: str) -> subprocess.Popen[bytes]:
    program = (
        "import datetime, sys; from aftercare.edges.clock import SystemClock; "
        "SystemClock.today = lambda clock: datetime.date(2026, 11, 24); "
        "from aftercare.cli import main; main()"
    )
    return subprocess.Popen(
        [sys.executable, "-c", program, *words, "--home", str(home)],
        env=dict(environment),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )

"""``aftercare recall next``: what is to come for one patient, and why."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from made_up_register import deed, opened

from aftercare.model import Channel
from aftercare.recall.people import Reminder, ReminderState, What
from aftercare.recall.port import Settled
from aftercare.recall.steps import key_of

Run = Callable[..., Any]


def test_each_message_comes_with_its_day_and_reason_and_then_a_person(
    clinic: Path, run: Run
) -> None:
    answer = run("recall", "next", "P0000003", "--json", "--home", clinic)

    assert (answer.code, answer.err) == (0, "")
    (recall,) = answer.json()["recalls"]
    # Due on 2026-12-07; today, the 24th of November, is past the invitation's day.
    assert [(one["day"], one["what"], one["by"]) for one in recall["next"]] == [
        ("2026-11-24", "unbooked", ["sms"]),
        ("2026-12-14", "overdue", ["sms"]),
        ("2027-01-04", "by a person", ["phone", "text"]),
    ]
    assert [one["why"] for one in recall["next"]] == [
        "14 days before the due day, 2026-12-07, is 2026-11-23; moved to the nearest day it may "
        "leave",
        "7 days after the due day, 2026-12-07",
        "due on 2026-12-07, and nothing was booked",
    ]
    assert recall["next"][-1]["who"] == "the recall desk"
    assert recall["left_out"][0]["step"] == "invite"


def test_what_was_written_is_not_told_again(clinic: Path, run: Run) -> None:
    with opened(clinic) as register:
        (recall,) = register.recalls("P0000003")
        key = key_of(recall, "unbooked", recall.due)
        planned = Reminder(
            recall=recall.id, step="unbooked", channel=Channel.SMS, day=date(2026, 11, 23), key=key
        )
        register.plan([planned], deed(What.PLANNED))
        done = Settled(key=key, state=ReminderState.PREPARED, digest="0" * 64)
        register.settle([done], deed(What.PREPARED))

    (found,) = run("recall", "next", "P0000003", "--json", "--home", clinic).json()["recalls"]

    assert [one["what"] for one in found["next"]] == ["overdue", "by a person"]
    assert {"step": "unbooked", "because": "written or skipped before"} in found["left_out"]


def test_who_waits_who_is_silent_and_what_is_closed_say_so(clinic: Path, run: Run) -> None:
    def said(ref: str) -> str:
        return str(run("recall", "next", ref, "--home", clinic).out)

    assert "wax: due 2026-11-30, waits on Sam Field: asked for a call in the evening" in said(
        "P0000005"
    )
    silent = said("P0000006")
    assert "may not be contacted: no consent" in silent
    assert "no means on record" in silent
    assert "wax: closed on 2026-10-02: came" in said("P0000007")
    assert max(len(line) for line in (said("P0000003") + silent).splitlines()) <= 80


def test_a_booked_visit_is_what_reminders_are_counted_from(clinic: Path, run: Run) -> None:
    from dataclasses import replace

    with opened(clinic) as register:
        (was,) = register.recalls("P0000003")
        booked = datetime(2026, 12, 10, 9, 30, tzinfo=UTC)
        register.change(deed(What.BOOKED), (was, replace(was, booked=booked)))

    (found,) = run("recall", "next", "P0000003", "--json", "--home", clinic).json()["recalls"]

    assert [one["day"] for one in found["next"]] == ["2026-12-07", "2026-12-09", "2026-12-14"]
    assert found["next"][1]["why"] == "1 day before the visit, 2026-12-10"


def test_nobody_s_reference_is_refused_and_no_other_is_offered(clinic: Path, run: Run) -> None:
    answer = run("recall", "next", "P000000", "--home", clinic)

    assert (answer.code, answer.out) == (2, "")
    assert answer.err == (
        "aftercare: REF: nobody has the reference 'P000000'; check it; nothing was done\n"
    )

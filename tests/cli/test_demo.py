"""``aftercare demo``: stamped samples for the invented visits, the same every time."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from aftercare.edges.clock import SystemClock
from aftercare.edges.press import TypstPress
from aftercare.render.leaflet import Printed

Run = Callable[..., Any]
ROOT = Path(__file__).parents[2]
SCHEMA = json.loads(
    (ROOT / "tests" / "contract" / "discharge-summary.schema.json").read_text("utf-8")
)
DEMOS = sorted((ROOT / "shared" / "demo").glob("*.toml"))


@pytest.fixture
def _quick_press(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(TypstPress, "press", lambda press, data: Printed(data.encode(), 1))


def test_every_invented_visit_gets_every_channel_it_can_have(run: Run) -> None:
    answer = run("demo", "--json")

    told = answer.lines()
    assert len(told) == len(DEMOS) > 5
    for one in told:
        jsonschema.validate(one, SCHEMA)
        assert one["sample"] is True
        assert one["case"].startswith("demo-")
        for message in one["messages"]:
            if message["status"] == "released":
                assert message["file"].startswith(f"out/demo/{one['case']}/")
                assert Path(message["file"]).stat().st_size > 100
            else:
                assert message["file"] is None
                assert message["withheld_because"]
    assert answer.err == ""
    assert {m["channel"] for one in told for m in one["messages"]} == {"sms", "email", "print"}


@pytest.mark.usefixtures("_quick_press")
def test_the_samples_do_not_change_with_the_calendar(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    for day, out in ((date(2026, 11, 24), "one"), (date(2031, 5, 1), "other")):
        monkeypatch.setattr(SystemClock, "today", lambda clock, day=day: day)
        run("demo", "--out", out)

    def written(out: str) -> dict[Path, bytes]:
        files = (path for path in Path(out).rglob("*") if path.is_file())
        return {p.relative_to(out): p.read_bytes() for p in files if p.suffix != ".jsonl"}

    assert written("one") == written("other")
    assert len(written("one")) > 2 * len(DEMOS)


@pytest.mark.usefixtures("_quick_press")
def test_every_sample_carries_the_stamp(run: Run) -> None:
    told = run("demo", "--json").lines()

    english = [one for one in told if one["messages"][0]["language"] == "en"]
    for one in english:
        folder = Path("out/demo", one["case"])
        stamp = "Sample, not for patients"
        for message in one["messages"]:
            # Words in a quoted-printable e-mail may be broken over lines.
            text = Path(message["file"]).read_text("utf-8").replace("=\n", "")
            assert stamp in text, message["file"]
        assert (folder / "summary.json").is_file()


@pytest.mark.usefixtures("_quick_press")
def test_numbers_checked_after_the_last_visit_are_not_from_the_future(run: Run) -> None:
    run("init", "mine")
    numbers = Path("mine/shared/regions.toml")
    numbers.write_text(
        re.sub(r"(?m)^checked = .*$", "checked = 2027-01-15", numbers.read_text("utf-8")), "utf-8"
    )

    assert "has not come" not in run("demo", "--home", "mine", "--json").out


@pytest.mark.usefixtures("_quick_press")
def test_the_screen_names_patients_channels_and_what_the_samples_are_not(run: Run) -> None:
    answer = run("demo")

    assert "Maureen Tolliver" in answer.out
    assert "Samples are in out/demo. They are stamped and are not for patients:" in answer.out
    assert "  not approved by a clinician" in answer.out
    for channel in ("sms", "email", "print"):
        assert channel in answer.out
    assert answer.err == ""


@pytest.mark.usefixtures("_quick_press")
def test_the_code_is_1_only_if_something_was_withheld_or_found(run: Run) -> None:
    answer = run("demo", "--json")

    messages = [message for one in answer.lines() for message in one["messages"]]
    noted = any(message["status"] == "withheld" or message["findings"] for message in messages)
    assert answer.code == int(noted)


@pytest.mark.usefixtures("_quick_press")
def test_a_clinic_without_invented_visits_is_told(run: Run) -> None:
    run("init", "mine")
    for path in Path("mine/shared/demo").iterdir():
        path.unlink()

    answer = run("demo", "--home", "mine")

    assert answer.code == 2
    assert "no invented visits here" in answer.err


@pytest.mark.usefixtures("_quick_press")
def test_an_invented_visit_that_is_broken_is_told_with_its_file(run: Run) -> None:
    run("init", "mine")
    Path("mine/shared/demo/00.toml").write_text("case = ", "utf-8")

    answer = run("demo", "--home", "mine")

    assert answer.code == 2
    assert "shared/demo/00.toml:1: not TOML in 'case'" in answer.err


def test_a_target_that_cannot_be_written_is_told(run: Run) -> None:
    Path("file").write_text("x", "utf-8")

    answer = run("demo", "--out", "file")

    assert answer.code == 2
    assert "file" in answer.err
    assert Path("file").read_text("utf-8") == "x"

"""``aftercare recall catch-up``: the plan, its files, and planning again."""

from __future__ import annotations

import csv
import json
import re
import stat
from collections.abc import Callable
from datetime import date
from pathlib import Path
from shutil import copytree
from typing import Any

import pytest
from lxml import etree

from aftercare.edges.clock import SystemClock

Run = Callable[..., Any]
START = date(2026, 11, 30)
CLINICS = (
    "when,minutes,skill,slots\n"
    "2026-W50,30,cavity,1\n"
    "2026-W50,20,general,1\n"
    "2026-W51,30,cavity,1\n"
    "2026-12-21,20,general,2\n"
)
PEOPLE = (
    "ref,condition,due\n"
    "cavity-long,open-cavity,2022-11-01\n"
    "cavity-new,open-cavity,2026-11-10\n"
    "wax-old,wax,2026-01-05\n"
    "infected,otitis-externa,2026-11-02\n"
    "unknown,,2026-11-20\n"
)


@pytest.fixture
def plan(run: Run, tmp_path: Path, approved_home: Path) -> Callable[..., Any]:
    """Plans with the clinics and people given, else the usual ones."""

    def planned(*more: object, clinics: str = CLINICS, people: str = PEOPLE) -> Any:
        (tmp_path / "clinics.csv").write_text(clinics, "utf-8")
        (tmp_path / "people.csv").write_text(people, "utf-8")
        return run(
            "recall", "catch-up", "--capacity", "clinics.csv", "--patients", "people.csv",
            "--from", START, "--home", approved_home, *more,
        )  # fmt: skip

    return planned


def when(found: Any) -> dict[str, str | None]:
    return {one["ref"]: one["when"] for one in found["places"]}


def test_who_would_lose_most_is_seen_first_by_somebody_trained_for_it(plan: Any) -> None:
    answer = plan("--json")

    # 1: the cavity of 2022 was past its limit long before.
    assert (answer.code, answer.err) == (1, "")
    found = answer.json()
    assert when(found) == {
        "cavity-long": "2026-W50",
        "infected": "2026-W50",
        "cavity-new": "2026-W51",
        "wax-old": "2026-12-21",
        "unknown": "2026-12-21",
    }
    assert [one["exact"] for one in found["proof"]] == [True] * 3
    assert found["measures"]["this plan"]["past_already"] == 1


def test_json_holds_the_plan_the_reasons_and_the_comparison(plan: Any) -> None:
    found = plan("--json").json()

    assert set(found) == {
        "from", "counted_without_place_on", "objective", "limits", "passing_weeks", "proof",
        "measures", "conditions", "told_and_moved", "places", "left_out", "invitations", "backlog",
        "notes",
    }  # fmt: skip
    assert found["counted_without_place_on"] == "2026-12-22"
    assert list(found["measures"]) == list(found["backlog"])
    assert list(found["measures"]) == ["this plan", "oldest first", "first come"]
    figures = found["measures"]
    assert figures["this plan"]["risk_days"] <= min(
        figures[name]["risk_days"] for name in ("oldest first", "first come")
    )
    for place in found["places"]:
        over = (date.fromisoformat("2026-12-10") - date.fromisoformat(place["due"])).days
        if place["when"] == "2026-W50":
            assert place["overdue_days"] == over
        assert f"weight {place['weight']} a day for {place['condition']}" in place["reason"]
        assert place["limit"] in place["reason"]
    last = {one["ref"]: one for one in found["places"]}["unknown"]
    assert {one["why"] for one in last["ahead"]} == {"have a greater weight"}
    assert sum(one["planned"] for one in found["invitations"]) == 5
    assert [one["waiting"] for one in found["backlog"]["this plan"]] == [5, 5, 3, 2, 0]


def test_the_plan_its_table_its_page_and_its_chart_are_for_the_owner_alone(
    plan: Any, tmp_path: Path
) -> None:
    answer = plan("--out", "plans/one")

    folder = tmp_path / "plans" / "one"
    files = {path.name: path for path in folder.iterdir()}
    assert set(files) == {"plan.json", "plan.csv", "backlog.svg", "catch-up.html"}
    assert all(stat.S_IMODE(path.stat().st_mode) == 0o600 for path in files.values())
    assert "Written to plans/one" in answer.out
    assert json.loads(files["plan.json"].read_text("utf-8")) == plan("--json").json()
    rows = list(csv.DictReader(files["plan.csv"].read_text("utf-8").splitlines()))
    assert {row["ref"]: row["when"] for row in rows}["infected"] == "2026-W50"


def test_the_chart_can_be_read_without_being_seen(plan: Any, tmp_path: Path) -> None:
    plan()

    picture = etree.parse(tmp_path / "out" / "catch-up" / "backlog.svg").getroot()
    space = {"s": "http://www.w3.org/2000/svg"}
    assert picture.findtext("s:title", namespaces=space) == "Backlog over the weeks of the plan"
    told = picture.findtext("s:desc", namespaces=space)
    assert "This plan: from 5 waiting, 1 of them past their limit, to 0 and 0" in told
    assert picture.get("role") == "img"
    assert picture.get("aria-labelledby") == "backlog-title backlog-desc"
    lines = picture.findall("s:polyline", namespaces=space)
    assert len(lines) == 9
    # Told apart without colour: three dashes, one of them none.
    assert len({line.get("stroke-dasharray") for line in lines}) == 3
    for line in lines:
        points = [tuple(map(float, one.split(","))) for one in line.get("points").split()]
        assert len(points) == 5
        assert all(0 <= x <= 820 and 0 <= y <= float(picture.get("height")) for x, y in points)


def test_the_page_shows_words_of_a_file_as_text(plan: Any, tmp_path: Path) -> None:
    people = PEOPLE + "<b>x</b>,wax,2026-11-01\n=cmd,wax,2026-11-01\n"

    plan(people=people)

    folder = tmp_path / "out" / "catch-up"
    page = (folder / "catch-up.html").read_text("utf-8")
    assert "&lt;b&gt;x&lt;/b&gt;" in page
    assert "<b>x</b>" not in page
    assert "default-src 'none'" in page
    assert "proposals until a clinician has decided" in page
    assert "\n'=cmd," in (folder / "plan.csv").read_text("utf-8").replace("\r", "")


def test_the_screen_says_what_is_proved_and_why(plan: Any) -> None:
    said = plan().out

    assert re.search(r"Risk-weighted overdue days +[\d,]+ +[\d,]+ +[\d,]+\n", said)
    assert (
        "hard limit some slot could keep (held at none, else let go): 0, and no plan has fewer"
        in (" ".join(said.split()))
    )
    assert "open-cavity: 2 of 2 have a place, the last on 2026-12-17; 1 past the limit" in said
    assert "cavity-long: Seen 2026-W50: weight 8 a day for open-cavity; due 2022-11-01" in said
    assert "week of 2026-11-30: 5 people for 5 places" in said


def test_the_screen_says_why_limits_are_weighed(plan: Any) -> None:
    people = "ref,condition,due\na,wax,2025-12-12\nb,wax,2025-12-12\n"

    clinics = "when,minutes,skill,slots\n2026-W50,20,general,1\n"

    said = " ".join(plan(clinics=clinics, people=people).out.split())

    assert "no plan keeps all within the hard limits, 1 or more pass; so limits are weighed" in said


def test_everybody_seen_in_time_ends_with_0(plan: Any) -> None:
    people = "".join(line for line in PEOPLE.splitlines(keepends=True) if "long" not in line)
    assert plan(people=people).code == 0


def test_the_same_files_give_the_same_bytes(plan: Any, tmp_path: Path) -> None:
    def bytes_of() -> dict[str, bytes]:
        plan()
        folder = tmp_path / "out" / "catch-up"
        return {path.name: path.read_bytes() for path in folder.iterdir()}

    assert bytes_of() == bytes_of()


# --- planning again -----------------------------------------------------------------------


def told(tmp_path: Path, *refs: str) -> Path:
    """The plan of the last run, with these people told their day."""
    path = tmp_path / "out" / "catch-up" / "plan.json"
    found = json.loads(path.read_text("utf-8"))
    for one in found["places"]:
        one["told"] = one["ref"] in refs
    kept = tmp_path / "before.json"
    kept.write_text(json.dumps(found), "utf-8")
    return kept


def test_who_was_told_is_moved_only_when_the_slot_is_gone_and_is_named(
    plan: Any, tmp_path: Path
) -> None:
    plan()
    before = told(tmp_path, "cavity-long", "wax-old")
    cancelled = CLINICS.replace("2026-W50,30,cavity,1", "2026-W50,30,cavity,0")

    answer = plan("--previous", before, "--json", clinics=cancelled)

    found = answer.json()
    assert answer.code == 1
    assert found["told_and_moved"] == ["cavity-long"]
    assert found["proof"][0]["aim"] == "people told a day and moved"
    assert (found["proof"][0]["value"], found["proof"][0]["exact"]) == (1, True)
    assert when(found)["wax-old"] == "2026-12-21"
    screen = plan("--previous", before, clinics=cancelled).out
    assert "Told a day and moved: 1. Tell them before anything else is done" in screen
    words = " ".join(screen.split())
    assert "cavity-long: now 2026-W51; was told 2026-W50; no slot that suits is left then" in words


def test_nothing_cancelled_moves_nobody_and_newcomers_take_what_is_free(
    plan: Any, tmp_path: Path
) -> None:
    before = when(plan("--json").json())
    kept = told(tmp_path)
    urgent = PEOPLE + "newcomer,otitis-externa,2026-11-25\n"
    wider = CLINICS + "2026-12-28,20,general,1\n"

    after = plan("--previous", kept, "--json", people=urgent, clinics=wider).json()

    assert {ref: day for ref, day in when(after).items() if ref != "newcomer"} == before
    assert when(after)["newcomer"] == "2026-12-28"


def test_a_day_somebody_was_told_takes_a_place_though_they_are_not_due_yet(plan: Any) -> None:
    people = (
        "ref,condition,due,promised,told\n"
        "early,wax,2026-12-20,2026-W50,yes\n"
        "later,wax,2026-12-20,,\n"
        "now,wax,2026-11-01,,\n"
    )
    found = plan("--json", people=people).json()

    assert when(found) == {"early": "2026-W50", "now": "2026-W50"}
    assert found["left_out"] == [{"ref": "later", "because": "not due before 2026-12-20"}]
    everybody = plan("--json", "--due-by", "2026-12-31", people=people).json()
    assert when(everybody)["later"] == "2026-12-21"


def test_a_day_told_that_cannot_be_kept_or_is_beyond_the_plan_needs_a_look(plan: Any) -> None:
    people = "ref,condition,due,promised,told\nmoved,wax,2026-11-02,2026-W50,yes\n"
    far = "far,wax,2026-11-02,2027-W10,yes\n"
    clinics = "when,minutes,skill,slots\n2026-W51,20,general,2\n"

    answer = plan("--json", clinics=clinics, people=people + far)

    found = answer.json()
    # Everybody planned for is seen in time.
    assert when(found) == {"moved": "2026-W51"}
    assert (answer.code, found["told_and_moved"]) == (1, ["moved"])
    assert found["left_out"] == [
        {"ref": "far", "because": "was told 2027-W10, which is after the last clinic of this plan"}
    ]


def test_people_gone_since_the_earlier_plan_are_counted(plan: Any, tmp_path: Path) -> None:
    plan()
    kept = told(tmp_path)
    fewer = "".join(line for line in PEOPLE.splitlines(keepends=True) if "wax" not in line)

    found = plan("--previous", kept, "--json", people=fewer).json()

    assert found["notes"] == ["1 of the earlier plan do not wait any more"]


# --- what is refused ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("more", "files", "said"),
    [
        (("--from", "soon"), {}, "--from: 'soon' is not a day"),
        (("--due-by", "2026-02-30"), {}, "--due-by: there is no day 2026-02-30"),
        (("--previous", "gone.json"), {}, "gone.json"),
        (("--previous", "people.csv"), {}, "people.csv: not a plan"),
        ((), {"clinics": "when,minutes,skill,slots\n"}, "clinics.csv:1: no slots in it"),
        ((), {"clinics": CLINICS + "2026-W52,20,laser,1\n"}, "clinics.csv:6: 'skill'"),
        ((), {"people": PEOPLE + "x,wax\n"}, "people.csv:7: 2 cells under 3 columns"),
        (
            (),
            {"people": "ref,due,told\nx,2026-11-01,yes\n"},
            "'x' was told a day, and it is not known which",
        ),
    ],
)
def test_bad_input_is_refused_and_nothing_is_written(
    plan: Any, tmp_path: Path, more: tuple[str, ...], files: dict[str, str], said: str
) -> None:
    answer = plan(*more, **files)

    assert (answer.code, answer.out) == (2, "")
    assert said in answer.err
    assert not (tmp_path / "out").exists()


def test_a_folder_of_somebody_else_is_left_alone(plan: Any, tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "notes.txt").write_text("mine", "utf-8")

    answer = plan("--out", "mine")

    assert answer.code == 2
    assert [path.name for path in (tmp_path / "mine").iterdir()] == ["notes.txt"]


def test_a_home_without_an_order_of_risk_is_told(
    run: Run, tmp_path: Path, approved_home: Path
) -> None:
    from shutil import copytree

    home = tmp_path / "home"
    copytree(approved_home, home)
    (home / "shared" / "recall.toml").unlink()
    (tmp_path / "c.csv").write_text(CLINICS, "utf-8")

    answer = run("recall", "catch-up", "--capacity", "c.csv", "--home", home)

    assert answer.code == 2
    assert "shared/recall.toml: the file is missing" in answer.err


@pytest.mark.parametrize(
    ("limits", "weeks", "seen", "kept_waiting"),
    [("held", 0, "near", True), ("weighed", 4, "near", False), ("weighed", 0, "past", False)],
)
def test_a_clinician_decides_whether_limits_are_held_or_weighed(
    plan: Any, tmp_path: Path, approved_home: Path, limits: str, weeks: int, seen: str,
    kept_waiting: bool,
) -> None:  # fmt: skip
    """One slot, for who is past the limit or for who would pass it by three days."""
    from shutil import copytree

    home = tmp_path / "home"
    copytree(approved_home, home)
    order = home / "shared" / "recall.toml"
    words = order.read_text("utf-8")
    assert 'limits = "held"' in words
    assert "passing_weeks = 4" in words
    words = words.replace('limits = "held"', f'limits = "{limits}"')
    order.write_text(words.replace("passing_weeks = 4", f"passing_weeks = {weeks}"), "utf-8")
    people = (
        "ref,condition,due\npast,wax,2024-01-08\nnear,wax,2025-12-12\n"
        "no-slot,open-cavity,2024-01-08\n"
    )
    clinics = "when,minutes,skill,slots\n2026-W50,20,general,1\n"

    found = plan("--json", "--home", home, clinics=clinics, people=people).json()

    assert [ref for ref, day in when(found).items() if day] == [seen]
    assert (found["limits"], found["passing_weeks"]) == (limits, weeks)
    # Who waits for want of a slot that suits waits for nobody's sake.
    notes = [one for one in found["notes"] if one.startswith("1 past their hard limit before")]
    assert bool(notes) == kept_waiting


def test_where_not_all_come_more_are_invited(
    run: Run, plan: Any, tmp_path: Path, approved_home: Path
) -> None:
    home = tmp_path / "home"
    copytree(approved_home, home)
    order = home / "shared" / "recall.toml"
    words = order.read_text("utf-8")
    assert "share_who_come = 1.0" in words
    order.write_text(words.replace("share_who_come = 1.0", "share_who_come = 0.9"), "utf-8")
    found = plan("--json", "--home", home).json()

    assert [(one["planned"], one["invite"]) for one in found["invitations"]] == [(5, 6)]
    assert found["invitations"][0]["week"] == START.isoformat()


def test_weeks_begin_as_they_do_where_the_clinic_is(
    plan: Any, tmp_path: Path, approved_home: Path
) -> None:
    home = tmp_path / "home"
    copytree(approved_home, home)
    for name, was, now in (
        ("clinic", '"GB-ENG"', '"ZA"'), ("regions", "[GB]", "[ZA]"), ("facts", "AU = ", "ZA = "),
    ):  # fmt: skip
        file = home / "shared" / f"{name}.toml"
        words = file.read_text("utf-8")
        assert was in words
        file.write_text(words.replace(was, now), "utf-8")

    found = plan("--json", "--home", home).json()

    # CLDR 47, supplemental week data: Sunday in South Africa, Monday in Britain.
    assert START.weekday() == 0
    assert [one["week"] for one in found["invitations"]] == ["2026-11-29"]
    assert [one["day"] for one in found["backlog"]["this plan"]][:2] == ["2026-11-29", "2026-12-05"]
    assert when(found)["cavity-long"] == "2026-W50"  # what ISO 8601 calls a week stays one


# --- from the register ----------------------------------------------------------------------


def test_without_a_file_the_register_says_who_waits(
    run: Run, tmp_path: Path, approved_home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from shutil import copytree

    monkeypatch.delenv("AFTERCARE_DATABASE", raising=False)
    home = tmp_path / "home"
    copytree(approved_home, home)
    (tmp_path / "c.csv").write_text(CLINICS, "utf-8")
    asked = ("recall", "catch-up", "--capacity", "c.csv", "--home", home, "--from", START)
    assert run(*asked).code == 2
    fill_register(home)

    found = run(*asked, "--json").json()

    assert when(found) == {"cavity": "2026-W50", "wax": "2026-W50"}
    assert {one["ref"]: one["told"] for one in found["places"]} == {"cavity": False, "wax": False}
    assert found["left_out"] == [{"ref": "gone", "because": "may not be contacted"}]
    assert "Maud" not in json.dumps(found)


def test_the_register_knows_who_was_told_a_day_and_a_plan_who_was_only_planned(
    run: Run, tmp_path: Path, approved_home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Planned, then one is booked and told, then the clinic of both is cancelled."""
    from shutil import copytree

    monkeypatch.delenv("AFTERCARE_DATABASE", raising=False)
    home = tmp_path / "home"
    copytree(approved_home, home)
    fill_register(home)
    clinics = tmp_path / "c.csv"
    clinics.write_text("when,minutes,skill,slots\n2026-W50,30,cavity,2\n2026-W52,30,cavity,9\n")
    asked = ("recall", "catch-up", "--capacity", clinics, "--home", home, "--from", START)
    again = (*asked, "--previous", "out/catch-up/plan.json", "--json")
    assert when(run(*asked, "--json").json()) == {"cavity": "2026-W50", "wax": "2026-W50"}
    monkeypatch.setattr(SystemClock, "today", lambda _: START)
    monkeypatch.setattr(SystemClock, "now", lambda _: f"{START}T09:00:00+00:00")
    visit = (
        "--at",
        "2026-12-10T09:30",
        "--told",
        "--because",
        "no slot before",
        "--by",
        "A. Example",
    )
    assert run("recall", "book", "wax", *visit, "--home", home).code == 0

    same = run(*again).json()
    assert {one["ref"]: one["told"] for one in same["places"]} == {"cavity": False, "wax": True}
    assert [one["ref"] for one in same["places"] if one["moved"]] == []
    clinics.write_text("when,minutes,skill,slots\n2026-W50,30,cavity,1\n2026-W52,30,cavity,9\n")
    fewer = run(*again).json()
    # A wax told its day stays, though it weighs an eighth of the cavity and both are past.
    assert when(fewer) == {"wax": "2026-W50", "cavity": "2026-W52"}
    assert (fewer["told_and_moved"], fewer["invitations"][0]["planned"]) == ([], 1)
    clinics.write_text("when,minutes,skill,slots\n2026-W52,30,cavity,9\n")
    none = run(*again).json()
    assert none["told_and_moved"] == ["wax"]
    reason = {one["ref"]: one["reason"] for one in none["places"]}["wax"]
    assert "Was told 2026-12-10; no slot that suits is left then." in reason


def fill_register(home: Path) -> None:
    from datetime import UTC, datetime

    from aftercare.cli.bootstrap import make_register
    from aftercare.model import Interval
    from aftercare.recall.people import Deed, Person, Recall, Standing, What

    register = make_register(str(home))
    deed = Deed(what=What.OPENED, by="test", at=datetime(2026, 11, 30, tzinfo=UTC))
    for ref, standing in (
        ("cavity", Standing.READY), ("wax", Standing.READY), ("gone", Standing.SILENT),
    ):  # fmt: skip
        person = Person(
            ref=ref, first_name="Maud", last_name="Orrin", language="en", standing=standing
        )
        recall = Recall(
            person=ref,
            anchor=date(2022, 5, 2),
            interval=Interval(months=6),
            due=date(2022, 11, 2),
            condition="condition:open-cavity" if ref == "cavity" else "condition:wax",
        )
        register.change(deed, (None, person))
        register.change(deed, (None, recall))
    register.close()


def test_a_limit_that_was_put_off_is_taken_from_the_file(plan: Any) -> None:
    people = "ref,due,limit\nput-off,2026-11-20,2026-12-10\ncounted,2026-11-20,\n"

    found = plan("--json", people=people).json()

    limits = {one["ref"]: one["limit"] for one in found["places"]}
    assert limits["put-off"] == "2026-12-10"
    assert limits["counted"] > "2026-12-10"


@pytest.mark.parametrize(
    ("raw", "said"),
    [
        (b"", "clinics.csv:1: empty"),
        (b"when,minutes,skill,slots\n", "clinics.csv:1: no slots in it"),
        (CLINICS.encode() + b"2026-W52,20,general,-1\n", "clinics.csv:6: 'slots': -1"),
        (CLINICS.encode() + b"2026-W40,20,general,1\n", "clinics.csv:6: 2026-W40 is before"),
        (CLINICS.encode() + b"2026-W51,30,cavity,1\n", "clinics.csv:6: the same slots as in"),
        (CLINICS.encode() + b"2026-W51,30,laser,1\n", "clinics.csv:6: 'skill': unknown skill"),
        (CLINICS.encode() + b"2026-W51,30,cavit\xe9,1\n", "clinics.csv:6: the byte 0xE9"),
        (CLINICS.encode("utf-16"), "clinics.csv:1: the byte 0xFF is not UTF-8"),
    ],
)
def test_clinics_that_cannot_be_planned_with_are_refused_with_their_line(
    run: Run, tmp_path: Path, approved_home: Path, raw: bytes, said: str
) -> None:
    (tmp_path / "people.csv").write_text(PEOPLE, "utf-8")
    (tmp_path / "clinics.csv").write_bytes(raw)

    answer = run(
        "recall", "catch-up", "--capacity", "clinics.csv", "--patients", "people.csv",
        "--from", START, "--home", approved_home, "--out", "refused",
    )  # fmt: skip

    assert (answer.code, answer.out) == (2, "")
    assert said in answer.err
    assert not (tmp_path / "refused").exists()


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-8"])
@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_clinics_out_of_any_spreadsheet_say_the_same(
    plan: Any, separator: str, encoding: str
) -> None:
    usual = plan("--json").json()["places"]
    mark = "\ufeff" if encoding == "utf-8-sig" else ""
    written = mark + CLINICS.replace(",", separator).replace("\n", "\r\n")

    assert plan("--json", clinics=written).json()["places"] == usual

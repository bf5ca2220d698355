"""``aftercare recall import``: each row ready, silent or held; all of a list or nothing."""

from __future__ import annotations

import os
import shutil
import signal
import stat
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from made_up_server import postgresql, server

from aftercare.cli.bootstrap import open_register
from aftercare.edges.incoming import csv_list
from aftercare.edges.register.copies import verify
from aftercare.errors import OutOfReach
from aftercare.recall.people import Recall, RecallState, Standing

__all__ = ["postgresql", "server"]
Run = Callable[..., Any]
HEAD = (
    "Ref,First name,Surname,DOB,Mobile,Email,SMS consent,Email consent,Deceased,Moved,"
    "Last seen,Condition,Side,Clinician,Recall months"
)
GOOD = (
    "P1,Nell,Invented,1961-04-23,07700 900001,nell@clinic.example,yes,yes,,,"
    "2026-05-05,mastoid cavity,L,Nurse Example,6"
)


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory, approved_home: Path) -> Path:
    return approved_home


@pytest.fixture
def clinic(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest
) -> Path:
    """The clinic's folder with a register of its own for each test, in a file unless asked."""
    url = f"sqlite:///{tmp_path / 'register.sqlite'}"
    if getattr(request, "param", "file") == "postgresql":
        url = request.getfixturevalue("postgresql").url
        # What is known of a register on a server lies in the folder, which is then its own too.
        home = shutil.copytree(home, tmp_path / "clinic")
    monkeypatch.setenv("AFTERCARE_DATABASE", url)
    return home


on_each_engine = pytest.mark.parametrize("clinic", ["file", "postgresql"], indirect=True)


@pytest.fixture
def take(run: Run, clinic: Path, tmp_path: Path) -> Callable[..., Any]:
    """Imports a list of these lines."""

    def took(*lines: str, head: str = HEAD, name: str = "list.csv", more: Any = ()) -> Any:
        raw = "\n".join((head, *lines)) + "\n"
        (tmp_path / name).write_bytes(raw.encode())
        return run("recall", "import", name, "--home", clinic, "--by", "Ann Admin", *more)

    return took


@pytest.fixture
def judge(take: Callable[..., Any]) -> Callable[..., list[Any]]:
    """The rows of a list as JSON, with nothing taken in."""

    def judged(*lines: str, mapping: str | None = None, **how: Any) -> list[Any]:
        more = ["--dry-run", "--json"]
        if mapping is not None:
            Path("map.toml").write_text(mapping)
            more += ["--mapping", "map.toml"]
        answer = take(*lines, more=more, **how)
        assert answer.code in (0, 1), answer.err
        return list(answer.lines())

    return judged


def good(**changed: str) -> str:
    """The usual row with some cells changed, by header."""
    names = [name.lower().replace(" ", "_") for name in HEAD.split(",")]
    cells = dict(zip(names, GOOD.split(","), strict=True))
    assert set(changed) <= set(cells)
    return ",".join((cells | changed).values())


def in_register(clinic: Path, ref: str) -> tuple[Any, tuple[Recall, ...]]:
    with closing(open_register(str(clinic))) as register:
        return register.person(ref), register.recalls(ref)


# --- what becomes of a row --------------------------------------------------------------------


def test_a_good_row_is_ready(judge: Callable[..., Any]) -> None:
    (row,) = judge(GOOD)
    assert (row["row"], row["ref"], row["outcome"], row["reasons"]) == (2, "P1", "ready", [])
    fields = row["fields"]
    assert fields["first_name"] == "Nell"
    assert fields["last_name"] == "Invented"
    assert fields["mobile"] == "+447700900001"
    assert fields["email"] == "nell@clinic.example"
    assert (fields["born"], fields["seen"]) == ("1961-04-23", "2026-05-05")
    assert fields["condition"] == "condition:open-cavity"
    assert fields["due"] == "2026-11-05"  # a Thursday, when the clinic is open


@pytest.mark.parametrize(
    ("changed", "outcome", "reason"),
    [
        ({"dob": "03/04/1961"}, "hold", "born: could be day first or month first"),
        ({"dob": "03/04/61"}, "hold", "born: a year of two digits"),
        ({"dob": "2027-01-01"}, "hold", "born: in the future"),
        ({"dob": "1890-01-01"}, "hold", "born: too long ago"),
        ({"last_seen": "2026-12-24"}, "hold", "seen: in the future"),
        ({"last_seen": "1960-04-23", "dob": "1961-04-23"}, "hold", "seen: too long ago"),
        ({"last_seen": "1980-04-23", "dob": "1991-04-23"}, "hold", "seen: before the birth"),
        ({"mobile": "07700 90000"}, "hold", "mobile: not a phone number"),
        ({"mobile": "4.47701E+11"}, "hold", "mobile: written as a power of ten"),
        ({"email": "nell@@clinic.example"}, "hold", "email: not an e-mail address"),
        ({"first_name": "=1+1"}, "hold", "first_name: begins like a formula"),
        ({"surname": "@SUM(A1)"}, "hold", "last_name: begins like a formula"),
        ({"surname": "-2+3"}, "hold", "last_name: begins like a formula"),
        ({"surname": "'=2+3"}, "hold", "last_name: begins like a formula"),
        ({"ref": "1.23457E+18"}, "hold", "ref: written as a power of ten"),
        ({"deceased": "?"}, "hold", "deceased: an open question"),
        ({"moved": "Unknown"}, "hold", "moved: an open question"),
        ({"deceased": "n/a", "sms_consent": "no", "email_consent": "n"}, "silent", "no consent"),
        ({"surname": "In\x00vented"}, "hold", "last_name: a character that has no place"),
        ({"surname": "In\x1bvented"}, "hold", "last_name: a character that has no place"),
        ({"surname": "In\u202evented"}, "hold", "last_name: a character that has no place"),
        ({"surname": "x" * 101}, "hold", "last_name: too long"),
        ({"ref": "x" * 65}, "hold", "ref: too long"),
        ({"ref": ""}, "hold", "ref: empty"),
        ({"surname": ""}, "hold", "last_name: empty"),
        ({"condition": "earitis"}, "hold", "condition: not a word the mapping knows"),
        ({"side": "middle"}, "hold", "side: not a word the mapping knows"),
        ({"sms_consent": "perhaps"}, "hold", "agreed_sms: not a word the mapping knows"),
        ({"deceased": "perhaps"}, "hold", "deceased: not a word the mapping knows"),
        ({"recall_months": "six"}, "hold", "interval: not a number of months or weeks"),
        ({"recall_months": "61"}, "hold", "interval: longer than the clinic allows"),
        ({"last_seen": ""}, "hold", "seen: no visit to count from"),
        ({"sms_consent": "no", "email_consent": ""}, "silent", "no consent: whether refused or"),
        ({"sms_consent": "no", "email_consent": "declined"}, "silent", "no consent: refused or"),
        ({"sms_consent": "", "email_consent": ""}, "silent", "no consent: not asked; ask"),
        ({"sms_consent": "n/a", "email_consent": "Not asked"}, "silent", "no consent: not asked;"),
        ({"sms_consent": "withdrawn"}, "silent", "no consent: refused or withdrawn"),
        ({"email_consent": "STOP"}, "silent", "no consent: refused or withdrawn"),
        ({"deceased": "yes"}, "silent", "deceased"),
        ({"deceased": "2026-03-04"}, "silent", "deceased"),
        ({"deceased": "03/04/2026"}, "silent", "deceased"),
        ({"moved": "Y"}, "silent", "moved away"),
    ],
)
def test_a_bad_cell_decides(
    judge: Callable[..., Any], changed: dict[str, str], outcome: str, reason: str
) -> None:
    (row,) = judge(good(**changed))
    assert row["outcome"] == outcome
    assert any(said.startswith(reason) for said in row["reasons"]), row["reasons"]


@pytest.mark.parametrize("word", ["yes", "Y", "TRUE", "1", "Agreed", "opted in", "opted-in", " x "])
def test_consent_in_many_words(judge: Callable[..., Any], word: str) -> None:
    (row,) = judge(good(sms_consent=word, email_consent="No"))
    assert (row["outcome"], row["fields"]["agreed"]) == ("ready", ["sms"])


def test_one_column_of_consent_names_the_ways(judge: Callable[..., Any]) -> None:
    head = "ref,first name,surname,mobile,email,consent"
    rows = judge(
        "A1,Nell,A,07700900001,,sms", "A2,Nell,B,,b@clinic.example,text and e-mail",
        "A3,Nell,C,07700900003,,no", "A4,Nell,D,07700900004,,sms email",
        head=head,
    )  # fmt: skip
    assert [row["fields"]["agreed"] for row in rows] == [
        ["sms"],
        ["email", "sms"],
        [],
        ["email", "sms"],
    ]
    assert [row["outcome"] for row in rows] == ["ready", "ready", "silent", "ready"]


def test_why_there_is_no_consent_is_told_apart_and_dated(judge: Callable[..., Any]) -> None:
    head = "ref,first name,surname,mobile,consent,sms consent,consent date"
    rows = judge(
        "A1,Nell,A,07700900001,declined,,2026-03-01",
        "A2,Nell,B,07700900002,no,,1 March 2026",
        "A3,Nell,C,07700900003,not asked,,2026-03-01",
        "A4,Nell,D,07700900004,,refused,03/04/2026",  # could be two days: it counts as the newest
        "A5,Nell,E,07700900005,refused,yes,2027-03-01",
        "A6,Nell,F,07700900006,not asked,yes,2026-03-01",
        head=head,
    )
    assert [row["outcome"] for row in rows] == ["silent"] * 5 + ["ready"]
    untold = "whether refused or never asked is not told; find out which"
    assert [row["reasons"] for row in rows] == [
        ["no consent on 2026-03-01: refused or withdrawn"],
        [f"no consent on 2026-03-01: {untold}"],
        ["no consent: not asked; ask, and record the answer"],
        ["no consent: refused or withdrawn"],
        ["no consent: refused or withdrawn"],
        [],
    ]


def test_the_report_says_what_to_do_about_each_want_of_consent(take: Any) -> None:
    head = "ref,first name,surname,mobile,consent,consent date"
    answer = take(
        "A1,Nell,A,07700900001,declined,2026-03-01", "A2,Nell,B,07700900002,declined,2026-03-02",
        "A3,Nell,C,07700900003,,", head=head,
    )  # fmt: skip
    assert "2 no consent: refused or withdrawn: rows 2, 3" in answer.out
    assert "1 no consent: not asked; ask, and record the answer: row 4" in answer.out
    assert answer.out.count("    to do: ") == 2


def test_who_cannot_be_reached_as_agreed_waits_for_a_person(judge: Callable[..., Any]) -> None:
    rows = judge(
        good(mobile="", email_consent=""),
        good(ref="P2", surname="Other", mobile="01632 960001", email_consent="no"),
        good(ref="P3", surname="Third", mobile="01632 960001"),
    )
    assert [row["outcome"] for row in rows] == ["hold", "hold", "ready"]
    assert "mobile: not a number that takes texts" in rows[2]["reasons"]
    assert rows[2]["fields"]["mobile"] is None


def test_a_death_in_the_notes_is_asked_about(judge: Callable[..., Any]) -> None:
    (row,) = judge(GOOD + ",husband died in May", head=HEAD + ",Notes")
    assert (row["outcome"], row["reasons"]) == ("hold", ["notes: speak of a death"])


def test_a_mapping_declares_what_cannot_be_known(judge: Callable[..., Any]) -> None:
    line = good(dob="03/04/1961", last_seen="5/5/2026")
    assert judge(line)[0]["outcome"] == "hold"
    (row,) = judge(line, mapping='[read]\ndates = "day-first"\n')
    assert (row["outcome"], row["fields"]["born"]) == ("ready", "1961-04-03")
    (row,) = judge(line, mapping='[read]\ndates = "month-first"\n')
    assert row["fields"]["born"] == "1961-03-04"
    (row,) = judge(good(dob="22029"), mapping="[read]\nserials = 1900\n")
    assert row["fields"]["born"] == "1960-04-23"
    (row,) = judge(good(dob="20567"), mapping="[read]\nserials = 1904\n")
    assert row["fields"]["born"] == "1960-04-23"


def test_a_mapping_names_columns_and_words(judge: Callable[..., Any]) -> None:
    mapping = (
        '[columns]\nref = "Nummer"\nmobile = ["Handy"]\n[words]\nyes = ["ja"]\n'
        '[conditions]\nwax = ["Ohrenschmalz"]\n'
    )
    head = "Nummer,First name,Surname,Handy,SMS consent,Condition"
    (row,) = judge("N1,Nell,A,07700900001,ja,Ohrenschmalz", head=head, mapping=mapping)
    assert (row["ref"], row["outcome"]) == ("N1", "ready")
    assert row["fields"]["conditions"] == ["condition:wax"]


@pytest.mark.parametrize(
    ("mapping", "line"),
    [
        ('[read]\ndates = "guess"\n', "map.toml:2"),
        ("[reed]\n", "map.toml:1"),
        ('[columns]\nrefs = "x"\n', "map.toml:2"),
        ('[conditions]\nearitis = ["x"]\n', "map.toml:2"),
        ('[defaults]\nagreed = "pigeon"\n', "map.toml:2"),
        ("[read\n", "map.toml:1"),
    ],
)
def test_a_bad_mapping_is_refused_by_line(take: Any, mapping: str, line: str) -> None:
    Path("map.toml").write_text(mapping)
    answer = take(GOOD, more=["--mapping", "map.toml"])
    assert answer.code == 2
    assert answer.err.startswith(f"aftercare: {line}: ")


# --- twice ------------------------------------------------------------------------------------


def test_the_same_reference_twice_holds_both(judge: Callable[..., Any]) -> None:
    rows = judge(GOOD, good(surname="Other", ref="P2"), good(first_name="Bo"))
    assert [row["outcome"] for row in rows] == ["hold", "ready", "hold"]
    assert rows[0]["reasons"][0] == "ref: the same reference as row 4"
    assert rows[2]["reasons"][0] == "ref: the same reference as row 2"


def test_one_person_under_two_references_holds_both(judge: Callable[..., Any]) -> None:
    rows = judge(GOOD, good(ref="P2", first_name="NELL", dob="23/04/1961", mobile="07700900002"))
    assert [row["outcome"] for row in rows] == ["hold", "hold"]
    assert "the same name and date of birth as row 3" in rows[0]["reasons"]


@on_each_engine
def test_people_who_share_a_phone_are_ready_and_told_no_detail(take: Any, clinic: Path) -> None:
    answer = take(GOOD, good(ref="P2", first_name="Tom", mobile="+44 7700 900001", email=""))
    assert answer.code == 0
    one, two = (in_register(clinic, ref)[0] for ref in ("P1", "P2"))
    assert one.standing is two.standing is Standing.READY
    assert one.household == two.household is not None
    assert "texts:shared-phone" in one.facts & two.facts


@on_each_engine
def test_a_line_for_each_visit_is_one_person(take: Any, clinic: Path) -> None:
    Path("map.toml").write_text('[read]\nlines = "visits"\n')
    lines = GOOD, good(last_seen="2026-11-10", recall_months="12")
    assert take(*lines, more=["--mapping", "map.toml"]).code == 0
    person, recalls = in_register(clinic, "P1")
    assert person.standing is Standing.READY
    assert [str(one.anchor) for one in recalls] == ["2026-05-05", "2026-11-10"]


def test_one_person_written_in_two_ways_holds_both_and_twins_are_two(
    judge: Callable[..., Any],
) -> None:
    rows = judge(
        good(first_name="Zoë", surname="O'Neil-Ray"),
        good(ref="P2", first_name="ZOE", surname="O’Neil Ray", mobile="07700 900002"),
        good(ref="P3", first_name="Tom", surname="O'Neil-Ray", mobile="07700 900003"),
    )
    assert [row["outcome"] for row in rows] == ["hold", "hold", "ready"]


def test_a_status_that_says_not_to_write_silences(judge: Callable[..., Any]) -> None:
    (row,) = judge(GOOD + ",Do not contact", head=HEAD + ",Status")
    assert (row["outcome"], row["reasons"]) == ("silent", ["no consent: refused or withdrawn"])


def test_a_number_copied_out_of_a_page_is_a_number(judge: Callable[..., Any]) -> None:
    rows = judge(good(mobile="07700\u00a0900\u2011001"), good(ref="P2", mobile="07700 900 ext 1"))
    assert rows[0]["fields"]["mobile"] == "+447700900001"
    assert "mobile: not a phone number" in rows[1]["reasons"]


# --- the register -----------------------------------------------------------------------------


@on_each_engine
def test_a_cavity_without_an_interval_waits_on_a_named_person(take: Any, clinic: Path) -> None:
    assert (
        take(
            good(recall_months=""), good(ref="P2", surname="B", recall_months="", clinician="")
        ).code
        == 0
    )
    (one,) = in_register(clinic, "P1")[1]
    assert (one.state, one.waiting_on) == (RecallState.WAITING, "Nurse Example")
    (two,) = in_register(clinic, "P2")[1]
    assert (two.state, two.waiting_on) == (RecallState.WAITING, "Ann Admin")
    with closing(open_register(str(clinic))) as register:
        assert list(register.audit()) == []


@on_each_engine
def test_the_same_list_twice_changes_nothing(take: Any, clinic: Path) -> None:
    lines = [
        GOOD,
        good(ref="P2", surname="B", dob="03/04/1961"),
        good(ref="P3", surname="C", moved="y"),
    ]
    first = take(*lines)
    assert "3 new people" in first.out
    with closing(open_register(str(clinic))) as register:
        before = verify(register).rows, [register.history(f"P{n}") for n in (1, 2, 3)]
    again = take(*lines)
    assert "The register is as it was." in again.out
    with closing(open_register(str(clinic))) as register:
        assert (verify(register).rows, [register.history(f"P{n}") for n in (1, 2, 3)]) == before


@on_each_engine
def test_a_newer_list_brings_contacts_up_to_date_and_undoes_no_decision(
    take: Any, clinic: Path
) -> None:
    other = {"ref": "P2", "first_name": "Tom", "surname": "B", "mobile": "07700 900002"}
    take(GOOD, good(**other, deceased="y"))
    answer = take(good(mobile="07700 900555"), good(**other))
    assert "1 changed" in answer.out
    assert in_register(clinic, "P1")[0].mobile == "+447700900555"
    assert in_register(clinic, "P2")[0].standing is Standing.SILENT


@on_each_engine
def test_held_rows_are_in_the_register_and_never_contacted(take: Any, clinic: Path) -> None:
    assert take(good(dob="03/04/1961")).code == 1
    person, (recall,) = in_register(clinic, "P1")
    assert person.standing is Standing.HOLD
    assert person.reasons == ("born: could be day first or month first",)
    assert (recall.state, recall.waiting_on) == (RecallState.WAITING, "Ann Admin")


def test_a_dry_run_makes_no_register(take: Any, clinic: Path, tmp_path: Path) -> None:
    assert "--dry-run" in take(GOOD, more=["--dry-run"]).out
    assert not (tmp_path / "register.sqlite").exists()
    take(GOOD)
    assert stat.S_IMODE((tmp_path / "register.sqlite").stat().st_mode) == 0o600


# --- files ------------------------------------------------------------------------------------


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16", "utf-16-be"])
@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
def test_encodings_separators_and_line_ends(
    run: Run, clinic: Path, encoding: str, separator: str, newline: str
) -> None:
    lines = [HEAD, good(first_name="Zoë", surname="Müller"), good(ref="P2", surname="O’Neil")]
    text = newline.join(line.replace(",", separator) for line in lines) + newline
    mark = b"\xfe\xff" if encoding == "utf-16-be" else b""
    Path("l.csv").write_bytes(mark + text.encode(encoding))
    rows = run("recall", "import", "l.csv", "--home", clinic, "--dry-run", "--json").lines()
    assert [row["outcome"] for row in rows] == ["ready", "ready"]
    assert [row["fields"]["last_name"] for row in rows] == ["Müller", "O’Neil"]
    assert rows[0]["fields"]["first_name"] == "Zoë"


# RFC 4180 section 2: rules 5 to 7, commas, line breaks and doubled quotation marks in quotes.
def test_rfc_4180_quoting(judge: Callable[..., Any]) -> None:
    head = "ref,first name,surname,address,consent"
    rows = judge(
        '"A1","Nell ""Nelly""","A, B","1 Made-up Row\r\nNowhere",post',
        "A2,Tom,B,Elsewhere,post",
        head=head,
    )
    assert rows[0]["fields"]["first_name"] == 'Nell "Nelly"'
    assert rows[0]["fields"]["last_name"] == "A, B"
    assert rows[0]["fields"]["address"] == "1 Made-up Row\nNowhere"
    assert [row["row"] for row in rows] == [2, 3]


def test_rows_with_too_few_or_too_many_cells_are_held(judge: Callable[..., Any]) -> None:
    rows = judge("P1,Nell", GOOD + ",more", GOOD + ",,", "", good(ref="P2", surname="B"), HEAD)
    assert [(row["row"], row["outcome"]) for row in rows] == [
        (2, "hold"), (3, "hold"), (4, "ready"), (6, "ready"),
    ]  # fmt: skip
    assert rows[0]["ref"] is rows[1]["ref"] is None


@pytest.mark.parametrize(
    ("name", "raw", "told"),
    [
        ("e.csv", b"", "empty"),
        ("e.csv", b"\xef\xbb\xbf\r\n", "empty"),
        ("e.csv", HEAD.encode() + b"\n", "nobody in it"),
        ("e.csv", b"a,b\n1,2\n", "no column for 'ref'"),
        ("e.csv", b"ref,first name,surname,ref\n1,2,3,4\n", "stands there twice"),
        ("e.csv", b"PK\x03\x04rest", "not what its name says"),
        ("e.csv", b"<html>", "not what its name says"),
        ("e.csv", b'{"ref": 1}', "not what its name says"),
        ("e.csv", "ref,first name,surname\n1,Zoë,Müller\n2,".encode() + b"\xe9,x\n", "some of it"),
        ("e.csv", b"ref,first name,surname\n1,\x81,x\n", "0x81"),
        ("e.csv", 'ref,first name,surname\n1,"a,b\n'.encode("utf-16")[:-1], "cut short"),
        ("e.xlsx", b"ref,first name,surname\n", "not what its name says"),
        ("e.xlsx", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "old kind, or one with a password"),
        ("e.jsonl", b"not json\n", "not a JSON object"),
        ("e.jsonl", b'{"ref": 1, "ref": 2}\n', "each key once"),
        ("e.jsonl", b"\n", "empty"),
        ("e.json", b"{}", "not a FHIR bundle"),
        ("e.pdf", b"", "no list is called"),
    ],
)
def test_files_that_are_no_list_are_refused(
    run: Run, clinic: Path, tmp_path: Path, name: str, raw: bytes, told: str
) -> None:
    Path(name).write_bytes(raw)
    answer = run("recall", "import", name, "--home", clinic)
    assert answer.code == 2
    assert told in answer.err
    assert name in answer.err
    assert not (tmp_path / "register.sqlite").exists()


def test_a_missing_file_is_refused(run: Run, clinic: Path) -> None:
    answer = run("recall", "import", "none.csv", "--home", clinic)
    assert (answer.code, "none.csv: No such file" in answer.err) == (2, True)


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_a_quotation_mark_never_closed_is_refused_with_its_line(take: Any, end: str) -> None:
    """All behind it would be one cell of one row, and whoever stands there nowhere."""
    lines = (good(ref="P0"), good(ref="P2", first_name='"Nell'), good(ref="P3"))
    answer = take(end.join(lines))
    assert (answer.code, answer.out) == (2, "")
    assert answer.err.startswith("aftercare: list.csv:3: a quotation mark that is never closed")


def test_a_quotation_mark_within_a_cell_is_a_mark(judge: Callable[..., Any]) -> None:
    rows = judge(good(first_name='Ne"ll'), good(ref="P2", surname="B"))
    assert [(row["row"], row["outcome"]) for row in rows] == [(2, "ready"), (3, "ready")]


def test_several_files_are_one_intake(run: Run, clinic: Path) -> None:
    Path("a.csv").write_text(f"{HEAD}\n{GOOD}\n")
    Path("b.csv").write_text(f"{HEAD}\n{good(ref='P2', surname='B')}\n{GOOD}\n")
    rows = run("recall", "import", "a.csv", "b.csv", "--home", clinic, "--json").lines()
    assert [(row["file"], row["row"], row["outcome"]) for row in rows] == [
        ("a.csv", 2, "hold"), ("b.csv", 2, "ready"), ("b.csv", 3, "hold"),
    ]  # fmt: skip
    assert "ref: the same reference as row 3 of b.csv" in rows[0]["reasons"]


def test_the_report_tells_how_it_read_the_list_and_names_no_patient(take: Any) -> None:
    answer = take(GOOD, good(ref="P2", surname="Secret", dob="03/04/1961"))
    assert "ref from 'Ref'" in answer.out
    assert "2 rows: 1 ready, 0 silent, 1 hold" in answer.out
    assert "1 born: could be day first or month first: row 3" in answer.out
    assert "to do: say in the mapping how dates are written" in answer.out
    for word in ("Secret", "Nell", "07700", "clinic.example", "1961"):
        assert word not in answer.out + answer.err


# --- many rows, by several processes ----------------------------------------------------------


def many(count: int) -> str:
    """Rows of invented people, some with line ends and marks in their cells."""
    return "".join(
        good(
            ref=f"P{n}",
            first_name=f'"Nell\t""{n}"""' if n % 7 == 0 else f"Nell{n}",
            surname=f"Invented{n}",
            mobile=f"07700 900{n % 1000:03}" if n % 3 else "",
            email=f"p{n}@clinic.example",
        )
        + "\n"
        for n in range(count)
    )


def test_several_processes_say_what_one_says(
    run: Run, clinic: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from aftercare.cli.recall import importing

    Path("l.csv").write_text(f"{HEAD}\n{many(3000)}")
    words = ("recall", "import", "l.csv", "--home", clinic, "--dry-run", "--json")
    alone = run(*words)
    monkeypatch.setattr(csv_list, "BLOCK_BYTES", 20_000)
    monkeypatch.setattr(importing, "WORTH_SPLITTING", 0)
    monkeypatch.setattr(importing, "hands", lambda: 3)
    together = run(*words)
    assert len(alone.lines()) == 3000
    assert together.out == alone.out


@on_each_engine
def test_ten_thousand_rows_by_several_processes(
    run: Run, clinic: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from aftercare.cli.recall import importing

    count = 10_000
    monkeypatch.setattr(csv_list, "BLOCK_BYTES", 200_000)
    monkeypatch.setattr(importing, "WORTH_SPLITTING", 0)
    monkeypatch.setattr(importing, "hands", lambda: 2)
    Path("l.csv").write_text(f"{HEAD}\n{many(count)}")
    words = ("recall", "import", "l.csv", "--home", clinic)
    assert f"{count} new people" in run(*words).out
    assert "The register is as it was." in run(*words).out
    with closing(open_register(str(clinic))) as register:
        checked = verify(register)
        assert checked.sound
        assert {name: dict(checked.rows)[name] for name in ("patients", "visits", "recalls")} == {
            "patients": count, "visits": count, "recalls": count,
        }  # fmt: skip
    for number in (1, 4999, 9999):
        person, (recall,) = in_register(clinic, f"P{number}")
        assert (person.last_name, recall.person) == (f"Invented{number}", f"P{number}")


def test_killed_at_any_point_all_or_nothing_is_there(
    clinic: Path, tmp_path: Path, environment: dict[str, str]
) -> None:
    count = 8_000
    (tmp_path / "l.csv").write_text(f"{HEAD}\n{many(count)}")
    words = ("recall", "import", "l.csv", "--home", str(clinic))
    command = [sys.executable, "-m", "aftercare", *words]
    environment = environment | {"AFTERCARE_DATABASE": os.environ["AFTERCARE_DATABASE"]}
    begun = time.monotonic()
    subprocess.run([*command, "--dry-run"], cwd=tmp_path, env=environment, capture_output=True)
    whole = time.monotonic() - begun
    for share in (0.5, 0.8, 1.0, 1.2):
        process = subprocess.Popen(
            command, cwd=tmp_path, env=environment, stdout=-3, stderr=-3, start_new_session=True
        )
        time.sleep(whole * share)
        process.send_signal(signal.SIGKILL)
        process.wait()
        _no_workers_left(process.pid)
        try:
            register = open_register(str(clinic))
        except OutOfReach:  # killed before there was one
            continue
        with closing(register):
            checked = verify(register)
            assert checked.sound
            assert dict(checked.rows)["patients"] in (0, count)
    subprocess.run(command, cwd=tmp_path, env=environment, check=False, capture_output=True)
    with closing(open_register(str(clinic))) as register:
        assert dict(verify(register).rows)["patients"] == count


def _no_workers_left(group: int) -> None:
    """Processes that judge end by themselves when who started them is killed."""
    for _ in range(100):
        try:
            os.killpg(group, 0)
        except ProcessLookupError:
            return
        if not any(_alive(pid, group) for pid in Path("/proc").iterdir() if pid.name.isdigit()):
            return
        time.sleep(0.1)
    pytest.fail("a process that judges outlived the import")


def _alive(process: Path, group: int) -> bool:
    try:
        fields = (process / "stat").read_text().rpartition(")")[2].split()
    except OSError:
        return False
    return int(fields[2]) == group and fields[0] != "Z"


# --- what the register knows already ----------------------------------------------------------


@on_each_engine
def test_a_list_that_does_not_know_of_a_consent_leaves_it_whatever_else_it_says(
    run: Run, take: Any, clinic: Path
) -> None:
    blank = {"sms_consent": "", "email_consent": ""}
    lines = (
        good(mobile="01632 960001", **blank),  # texts reach no such number: told, and nothing more
        good(ref="P2", first_name="Tom"),
        good(ref="P3", first_name="Bo", **blank),  # on the same mobile as P2
        good(ref="P4", first_name="Sal", mobile="", dob="03/04/1961", **blank),
    )
    take(*lines)
    agrees = ("--channel", "email", "--consent", "at the desk", "--home", clinic, "--by", "Ann")
    assert run("recall", "opt-in", "P1", "P3", *agrees).code == 0
    assert in_register(clinic, "P1")[0].standing is Standing.READY

    assert "are silent now" not in take(*lines).out

    standings = [in_register(clinic, f"P{n}")[0].standing for n in (1, 2, 3)]
    assert standings == [Standing.READY] * 3
    assert "The register is as it was." in take(*lines).out
    refused = {"sms_consent": "", "email_consent": "refused"}
    answer = take(good(mobile="01632 960001", **refused), *lines[1:])
    assert "1 who had a consent on record here are silent now" in answer.out
    assert in_register(clinic, "P1")[0].standing is Standing.SILENT


@on_each_engine
def test_who_is_silent_in_the_register_is_never_called_ready(take: Any, clinic: Path) -> None:
    take(good(moved="y"), good(ref="P2", surname="B"))
    reasons = in_register(clinic, "P1")[0].reasons
    answer = take(GOOD, good(ref="P2", surname="B"), more=["--json"])
    assert "2 rows: 1 ready, 1 silent, 0 hold" in answer.err
    rows = answer.lines()
    assert [(row["ref"], row["outcome"]) for row in rows] == [("P1", "silent"), ("P2", "ready")]
    assert "the register keeps them silent" in rows[0]["reasons"]
    person = in_register(clinic, "P1")[0]
    assert (person.standing, person.reasons) == (Standing.SILENT, reasons)


@on_each_engine
def test_somebody_the_register_has_under_another_reference_is_held(take: Any, clinic: Path) -> None:
    assert take(GOOD).code == 0
    answer = take(good(ref="P9", dob="23 April 1961"))
    assert answer.code == 1
    assert "the same name and date of birth as somebody in the register" in answer.out
    assert in_register(clinic, "P9")[0].standing is Standing.HOLD
    assert in_register(clinic, "P1")[0].standing is Standing.READY
    again = take(good(ref="P9", dob="23 April 1961"))
    assert (again.code, "The register is as it was." in again.out) == (1, True)

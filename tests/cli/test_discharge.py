"""``aftercare discharge``: each visit becomes a whole folder, a record and an outcome."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from email import policy
from email.parser import BytesParser
from pathlib import Path
from typing import Any

import jsonschema
import pypdfium2
import pytest

from aftercare.cli import runs
from aftercare.edges import folder
from aftercare.edges.clock import SystemClock
from aftercare.edges.press import TypstPress
from aftercare.errors import OutOfReach
from aftercare.flow import NOT_WRITTEN, discharge
from aftercare.render.leaflet import Printed

Run = Callable[..., Any]
ROOT = Path(__file__).parents[2]
SCHEMA = json.loads(
    (ROOT / "tests" / "contract" / "discharge-summary.schema.json").read_text("utf-8")
)
NAME = "Wilhelmina Featherby"
PERSONAL = ("Featherby", "Wilhelmina", "900777", "w.featherby")
QUICK = ("--channel", "sms", "--channel", "email")


def records(out: Path) -> list[dict[str, Any]]:
    return [json.loads(line) for line in (out / "record.jsonl").read_text("utf-8").splitlines()]


def is_quiet(said: str) -> bool:
    return not any(part in said for part in PERSONAL) and "Traceback" not in said


# --- Released ---------------------------------------------------------------------------


def test_every_channel_of_an_approved_visit_is_written_where_it_says(
    run: Run, visit: Run, approved_home: Path
) -> None:
    answer = run("discharge", visit(), "--home", approved_home, "--json")

    told = answer.json()
    jsonschema.validate(told, SCHEMA)
    assert [message["status"] for message in told["messages"]] == ["released"] * 3
    assert [message["file"] for message in told["messages"]] == [
        "out/v-1/sms.txt",
        "out/v-1/message.eml",
        "out/v-1/leaflet.pdf",
    ]
    assert answer.code == (1 if any(message["findings"] for message in told["messages"]) else 0)
    assert answer.err == ""
    assert sorted(path.name for path in Path("out/v-1").iterdir()) == [
        "leaflet.pdf",
        "message.eml",
        "sms.txt",
        "summary.json",
    ]


def test_the_files_hold_what_the_patient_needs(run: Run, visit: Run, approved_home: Path) -> None:
    told = run("discharge", visit(), "--home", approved_home, "--json").json()

    message = BytesParser(policy=policy.default).parsebytes(
        Path("out/v-1/message.eml").read_bytes()
    )
    plain = message.get_body(("plain",))
    assert message["To"] == "w.featherby@example.org"
    assert plain is not None
    assert f"Dear {NAME}," in plain.get_content()
    leaflet = pypdfium2.PdfDocument("out/v-1/leaflet.pdf")
    page = leaflet[0].get_textpage().get_text_range()
    # The phone puts the parts together again; a number may stand across two of them.
    parts = told["messages"][0]["sms"]["texts"]
    sheet = Path("out/v-1/sms.txt").read_text("utf-8")
    assert all(part.strip() in sheet for part in parts)
    for words in (plain.get_content(), page, "".join(parts)):
        assert "999" in words
        assert "01632 960142" in words.replace("\u00a0", " ")


def test_the_record_names_the_edition_and_holds_the_digest_of_what_left(
    run: Run, visit: Run, approved_home: Path
) -> None:
    told = run("discharge", visit(), "--home", approved_home, *QUICK, "--json").json()

    kept = records(Path("out"))
    assert [record["channel"] for record in kept] == ["sms", "email"]
    for record, message in zip(kept, told["messages"], strict=True):
        written = Path(message["file"]).read_bytes()
        assert record["digest"] == hashlib.sha256(written).hexdigest()
        assert (record["case"], record["library"]) == ("v-1", told["library"])
    assert is_quiet(Path("out/record.jsonl").read_text("utf-8"))


def test_the_summary_beside_the_files_is_the_answer_with_its_own_paths(
    run: Run, visit: Run, approved_home: Path
) -> None:
    told = run("discharge", visit(), "--home", approved_home, *QUICK, "--json").json()

    beside = json.loads(Path("out/v-1/summary.json").read_text("utf-8"))
    jsonschema.validate(beside, SCHEMA)
    for message in told["messages"]:
        message["file"] = Path(message["file"]).name
    assert beside == told


def test_the_same_visit_and_shelf_give_the_same_bytes(
    run: Run, visit: Run, approved_home: Path
) -> None:
    for out in ("one", "other"):
        run("discharge", visit(), "--home", approved_home, "--out", out)

    for name in ("sms.txt", "message.eml", "leaflet.pdf", "summary.json"):
        assert Path("one/v-1", name).read_bytes() == Path("other/v-1", name).read_bytes()


def test_a_second_run_replaces_the_folder_and_adds_to_the_record(
    run: Run, visit: Run, approved_home: Path
) -> None:
    run("discharge", visit(), "--home", approved_home, *QUICK)
    run("discharge", visit(), "--home", approved_home, "--channel", "sms")

    assert sorted(path.name for path in Path("out/v-1").iterdir()) == ["sms.txt", "summary.json"]
    assert [record["channel"] for record in records(Path("out"))] == ["sms", "email", "sms"]


def test_files_are_for_their_owner_alone(run: Run, visit: Run, approved_home: Path) -> None:
    run("discharge", visit(), "--home", approved_home, *QUICK)

    for path in Path("out").rglob("*"):
        assert path.stat().st_mode & 0o077 == 0, path


@pytest.mark.parametrize(
    "name",
    [
        "Zoë O'Donnell-d’Arcy",
        "{patient_name} {x}",
        '#read("/etc/passwd") $x$ *b*',
        "=1+1",
        "<script>alert(1)</script>",
        "\u200fشبانہ قریشی",
    ],
)
def test_a_name_comes_out_as_text_on_every_channel(
    name: str, run: Run, visit: Run, approved_home: Path
) -> None:
    answer = run("discharge", visit(patient__name=name), "--home", approved_home, "--json")

    assert [message["status"] for message in answer.json()["messages"]] == ["released"] * 3
    message = BytesParser(policy=policy.default).parsebytes(
        Path("out/v-1/message.eml").read_bytes()
    )
    plain, html = message.get_body(("plain",)), message.get_body(("html",))
    assert plain is not None
    assert html is not None
    # Isolates keep a name of the other direction in one piece; a reader sees nothing of them.
    assert f"Dear {name}," in plain.get_content().translate({0x2068: None, 0x2069: None})
    assert "<script>" not in html.get_content()
    page = pypdfium2.PdfDocument("out/v-1/leaflet.pdf")[0].get_textpage().get_text_range()
    assert "root:" not in page
    if name.isascii():
        assert name in page.replace("\r\n", " ")


# --- Withheld ---------------------------------------------------------------------------


def test_a_draft_is_withheld_with_its_reason_and_nothing_to_hand_out(run: Run, visit: Run) -> None:
    answer = run("discharge", visit(), "--json")

    told = answer.json()
    jsonschema.validate(told, SCHEMA)
    assert answer.code == 1
    for message in told["messages"]:
        assert message["status"] == "withheld"
        assert message["file"] is None
        assert message["withheld_because"][0].startswith("not approved by a clinician: ")
    assert [path.name for path in Path("out/v-1").iterdir()] == ["summary.json"]
    assert {record["digest"] for record in records(Path("out"))} == {None}


@pytest.mark.parametrize(
    ("changes", "channel", "reason"),
    [
        ({"patient__agreed": ["email"]}, "sms", "the patient has not agreed to sms"),
        ({"patient__email": None}, "email", "the patient has no e-mail address"),
        ({"patient__mobile": None}, "sms", "the patient has no mobile number"),
        ({"visit__date": "2024-01-15"}, "email", "the recall date 2024-10-15 is past"),
    ],
)
def test_what_cannot_leave_says_why(
    changes: dict[str, object],
    channel: str,
    reason: str,
    run: Run,
    visit: Run,
    approved_home: Path,
) -> None:
    answer = run(
        "discharge", visit(**changes), "--home", approved_home, "--channel", channel, "--json"
    )

    (message,) = answer.json()["messages"]
    assert answer.code == 1
    assert message["status"] == "withheld"
    assert reason in message["withheld_because"]
    assert not (Path("out/v-1") / "message.eml").exists()


@pytest.mark.parametrize("language", ["de", "pt-BR", "ZH_tw"])
def test_a_language_that_is_not_ready_is_told_at_once_and_kept_on_record(
    language: str, run: Run, visit: Run, approved_home: Path
) -> None:
    answer = run("discharge", visit(patient__language=language), "--home", approved_home, "--json")

    named = {"de": "de", "pt-BR": "pt_BR", "ZH_tw": "zh_TW"}[language]
    said = f"written in en, not {named}: there is no catalogue for {named}"
    assert answer.code == 1
    assert f"v-1: sms, email, print: {said}" in answer.err
    for message in answer.json()["messages"]:
        assert (message["status"], message["language"]) == ("released", "en")
        assert message["instead_of"] == named
        assert message["findings"][0].startswith(said)
    kept = [json.loads(one) for one in Path("out/record.jsonl").read_text().splitlines()]
    assert len(kept) == 3
    assert all(record["noted"][0].startswith(said) for record in kept)
    assert answer.err.count(NAME) == 0


def test_a_catalogue_that_cannot_be_read_is_no_worse_than_none(
    run: Run, visit: Run, approved_home: Path, tmp_path: Path
) -> None:
    """Half a file, as a full disk leaves it; whoever reads another language never notices."""
    home = tmp_path / "clinic"
    shutil.copytree(approved_home, home)
    place = home / "locales/ur/LC_MESSAGES/aftercare.po"
    place.write_bytes(place.read_bytes()[:5_000])

    urdu = run("discharge", visit(patient__language="ur"), "--home", home, "--json")
    english = run("discharge", visit(), "--home", home, "--out", "en", "--json")

    assert (urdu.code, english.code) == (1, 0)
    assert "written in en, not ur: locales/ur/LC_MESSAGES/aftercare.po:" in urdu.err
    assert {one["status"] for one in urdu.json()["messages"]} == {"released"}
    assert english.err == ""


def test_a_character_without_a_glyph_withholds_print_and_not_the_rest(
    run: Run, visit: Run, approved_home: Path
) -> None:
    # Linear A was given up with its script; no font of ours holds it.
    answer = run(
        "discharge", visit(patient__name="\U00010600 Smith"), "--home", approved_home, "--json"
    )

    by_channel = {message["channel"]: message for message in answer.json()["messages"]}
    assert by_channel["sms"]["status"] == "released"
    assert by_channel["print"]["status"] == "withheld"
    assert "U+10600" in by_channel["print"]["withheld_because"][0]
    assert "Smith" not in (answer.err + Path("out/record.jsonl").read_text("utf-8"))


def test_the_screen_tells_each_channel_and_the_recall(
    run: Run, visit: Run, approved_home: Path
) -> None:
    deep = "a-very-long-folder-name-" * 9

    answer = run("discharge", visit(), "--home", approved_home, *QUICK, "--out", deep)

    lines = answer.out.splitlines()
    assert lines[0] == "v-1"
    assert f"  sms: {deep}/v-1/sms.txt (" in answer.out  # never broken over lines
    assert lines[-1].startswith("  recall due 2027-08-18: 9 months from the visit")


def test_the_screen_tells_what_was_withheld_and_prints_notes_as_text(run: Run, visit: Run) -> None:
    answer = run("discharge", visit(recall={"declined": "[b]moves[/b] away :ear:"}), *QUICK)

    assert "  sms: WITHHELD, nothing was written" in answer.out
    assert answer.out.splitlines()[-1] == "  no recall: [b]moves[/b] away :ear:"


# --- Many visits ------------------------------------------------------------------------


def test_a_bad_visit_is_told_and_the_others_are_done(
    run: Run, visit: Run, approved_home: Path, tmp_path: Path
) -> None:
    (tmp_path / "torn.toml").write_text(f'[patient]\nname = "{NAME}\n', "utf-8")
    (tmp_path / "empty.toml").write_text("", "utf-8")
    (tmp_path / "binary.toml").write_bytes(b"\x89PNG\r\n\0")
    files = [
        visit("one.json"),
        "torn.toml",
        "empty.toml",
        "missing.toml",
        "binary.toml",
        tmp_path,
        visit("far.json", case="far", visit__date="2026-11-30"),
        visit("other.json", case="v-2"),
    ]

    answer = run("discharge", *files, "--home", approved_home, *QUICK, "--json")

    assert answer.code == 1
    assert [told["case"] for told in answer.lines()] == ["v-1", "v-2"]
    said = answer.err.splitlines()
    assert [line.split(":")[1].strip() for line in said] == [
        "torn.toml",
        "empty.toml",
        "missing.toml",
        "binary.toml",
        str(tmp_path),
        "far.json",
    ]
    assert is_quiet(answer.err)
    assert sorted(path.name for path in Path("out").iterdir()) == ["record.jsonl", "v-1", "v-2"]


def test_nothing_usable_is_bad_input(run: Run, visit: Run) -> None:
    answer = run("discharge", "missing.toml", visit(patient__name="\0"))

    assert answer.code == 2
    assert answer.out == ""
    assert "missing.toml: No such file or directory; check the name" in answer.err
    assert "v.json: patient.name: 1 characters: the character U+0000" in answer.err
    assert not Path("out").exists()


def test_two_visits_of_one_reference_never_share_a_folder(
    run: Run, visit: Run, approved_home: Path
) -> None:
    files = [visit("a.json"), visit("b.json"), visit("c.json", case="V-1")]

    answer = run("discharge", *files, "--home", approved_home, "--channel", "sms", "--json")

    assert answer.code == 1
    assert len(answer.lines()) == 1
    for name in ("b.json", "c.json"):
        assert f"{name}: case: another visit of this run has this reference" in answer.err
    assert len(records(Path("out"))) == 1


def test_a_recall_that_cannot_be_worked_out_names_its_file(
    run: Run, visit: Run, approved_home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(SystemClock, "today", lambda clock: date(2100, 12, 1))

    late = visit(visit__date="2100-11-30", patient__born="2060-01-01")
    answer = run("discharge", late, "--home", approved_home, *QUICK)

    assert answer.code == 2
    assert "v.json: recall: no bank holidays are known for 2101; agree a nearer date" in answer.err
    assert not Path("out").exists()


def test_standard_input_is_a_visit(run: Run, visit: Run, approved_home: Path) -> None:
    raw = Path(visit()).read_bytes()

    answer = run("discharge", "-", "--home", approved_home, *QUICK, "--json", given=raw)

    assert answer.json()["case"] == "v-1"
    bad = run("discharge", "-", "--home", approved_home, given=b"\xff")
    assert bad.code == 2
    assert bad.err.startswith("aftercare: standard input: not text")
    assert bad.err.count("standard input") == 1
    huge = run("discharge", "-", "--home", approved_home, given=b"x = '" + b"N" * 5_000_000)
    assert huge.err.startswith("aftercare: standard input: x: more than 65,536 bytes")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ((), "Missing argument"),
        (("v.json", "--channel", "fax"), "--channel"),
        (("v.json", "--home", "nowhere"), "--home nowhere: no content/"),
    ],
)
def test_wrong_usage_is_bad_input(words: tuple[str, ...], told: str, run: Run, visit: Run) -> None:
    visit()

    answer = run("discharge", *words)

    assert answer.code == 2
    assert answer.out == ""
    assert told in answer.err


# --- When the machine fails -------------------------------------------------------------


def test_a_case_called_like_the_clinic_s_own_folder_does_not_replace_it(
    run: Run, visit: Run, approved_home: Path, tmp_path: Path
) -> None:
    run("init", "home", "--home", approved_home)

    answer = run("discharge", visit(case="content"), "--home", "home", "--out", "home", *QUICK)

    assert answer.code == 2
    assert "v.json: home/content: the folder holds files of somebody else" in answer.err
    assert (tmp_path / "home" / "content" / "frame.toml").is_file()


@pytest.mark.parametrize("fails", ["write", "record"])
def test_a_full_disk_is_told_and_leaves_no_half_folder(
    fails: str, run: Run, visit: Run, approved_home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = os.fsync

    def full(descriptor: int) -> None:
        written = Path(f"/proc/self/fd/{descriptor}").readlink()
        if (written.name == "record.jsonl") is (fails == "record"):
            raise OSError(28, "No space left on device")
        real(descriptor)

    monkeypatch.setattr(os, "fsync", full)

    answer = run("discharge", visit(), "--home", approved_home, *QUICK)

    assert answer.code == 2
    assert answer.out == ""
    assert "No space left on device" in answer.err
    assert is_quiet(answer.err)
    assert [path.name for path in Path("out").iterdir()] == ["record.jsonl"]


def test_a_reference_used_again_is_told(run: Run, visit: Run, approved_home: Path) -> None:
    first = run("discharge", visit(), "--home", approved_home, "--channel", "sms")
    again = run("discharge", visit(), "--home", approved_home, "--channel", "sms")

    assert first.err == ""
    assert again.err.endswith("v-1: what an earlier run wrote is replaced; the record keeps both\n")


def test_what_could_not_be_written_is_on_record_as_not_written(
    run: Run, visit: Run, approved_home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(target: Path, contents: Any, *, ours: Any) -> None:
        raise OutOfReach(str(target), "No space left on device", "nothing was written there")

    monkeypatch.setattr(runs, "write_folder", refuse)

    run("discharge", visit(), "--home", approved_home, "--channel", "sms")

    lines = [json.loads(line) for line in Path("out/record.jsonl").read_text().splitlines()]
    assert [(one["status"], one["digest"] is None) for one in lines] == [
        ("released", False),
        ("withheld", True),
    ]
    assert lines[1]["because"] == [NOT_WRITTEN]


def test_a_fault_of_ours_is_told_by_its_place_and_the_others_are_done(
    run: Run, visit: Run, approved_home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:

    def faulty(case: Any, library: Any, **named: Any) -> Any:
        if case.ref == "v-1":
            raise ZeroDivisionError(f"{NAME} {case}")
        return discharge(case, library, **named)

    monkeypatch.setattr(runs, "discharge", faulty)
    files = [visit("one.json"), visit("other.json", case="v-2")]

    answer = run("discharge", *files, "--home", approved_home, *QUICK)

    assert answer.code == 3
    assert "one.json: a fault of our own in test_discharge.py, faulty, line" in answer.err
    assert "(ZeroDivisionError)" in answer.err
    assert is_quiet(answer.err)
    assert answer.out.startswith("v-2\n")
    assert [path.name for path in Path("out").iterdir() if path.is_dir()] == ["v-2"]


def test_a_press_that_fails_withholds_nothing_quietly(
    run: Run, visit: Run, approved_home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def jammed(press: TypstPress, data: str) -> Printed:
        raise RuntimeError(data)

    monkeypatch.setattr(TypstPress, "press", jammed)

    answer = run("discharge", visit(), "--home", approved_home)

    assert answer.code == 3
    assert is_quiet(answer.err)
    assert not Path("out").exists()


def test_leftovers_of_a_killed_run_are_swept_by_the_next(
    run: Run, visit: Run, approved_home: Path
) -> None:
    left = Path("out/.aftercare-new-dead")
    left.mkdir(parents=True)
    (left / "message.eml").write_text(NAME, "utf-8")
    os.utime(left, (0, 0))
    assert folder._ABANDONED == 3600.0

    run("discharge", visit(), "--home", approved_home, *QUICK)

    assert sorted(path.name for path in Path("out").iterdir()) == ["record.jsonl", "v-1"]


# --- As a program -----------------------------------------------------------------------


def started(
    environment: dict[str, str], here: Path, *words: str, given: bytes = b"", **extra: str
) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-m", "aftercare", *words],
        cwd=here,
        env={**environment, **extra},
        input=given,
        capture_output=True,
        check=False,
    )


def recent() -> str:
    return (datetime.now(UTC).date() - timedelta(days=7)).isoformat()


def test_the_program_keeps_streams_and_codes_apart(
    visit: Run, environment: dict[str, str], tmp_path: Path
) -> None:
    good = visit("good.json", visit__date=recent(), patient__name="Zoë Wójcik")
    (tmp_path / "torn.json").write_text(f'{{"patient": "{NAME}', "utf-8")

    done = started(
        environment, tmp_path, "discharge", str(good), "torn.json", *QUICK, PYTHONIOENCODING="ascii"
    )

    assert done.returncode == 1
    assert done.stdout.decode("ascii").startswith("v-1\n  sms: WITHHELD")
    assert done.stderr.startswith(b"aftercare: torn.json:1: not JSON")
    assert is_quiet(done.stderr.decode())


def test_a_reader_that_goes_away_is_no_fault(
    visit: Run, environment: dict[str, str], tmp_path: Path
) -> None:
    files = [str(visit(f"{n}.json", case=f"v-{n}", visit__date=recent())) for n in range(20)]
    words = [sys.executable, "-m", "aftercare", "discharge", *files, "--channel", "sms", "--json"]
    with subprocess.Popen(
        words, cwd=tmp_path, env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as program:
        assert program.stdout is not None
        assert program.stderr is not None
        program.stdout.readline()
        program.stdout.close()
        said = program.stderr.read()

    assert said == b""
    assert program.returncode == 1


def test_a_fault_outside_a_visit_shows_no_traceback(
    environment: dict[str, str], tmp_path: Path
) -> None:
    program = (
        "import aftercare.cli.commands as c, aftercare.cli as cli, sys\n"
        "import aftercare.cli.bootstrap as b\n"
        f"def faulty(home): raise KeyError({NAME!r})\n"
        "b.open_house = faulty\n"
        "sys.argv = ['aftercare', 'schema', 'visit']\n"
        "cli.main()\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", program],
        cwd=tmp_path,
        env=environment,
        capture_output=True,
        check=False,
    )

    assert done.returncode == 3
    assert done.stdout == b""
    assert b"a fault of our own in <string>, faulty, line 3 (KeyError)" in done.stderr
    assert is_quiet(done.stderr.decode())


def test_a_removed_current_folder_is_no_fault(environment: dict[str, str], tmp_path: Path) -> None:
    program = (
        "import os, sys; os.mkdir('gone'); os.chdir('gone'); os.rmdir('../gone')\n"
        "sys.argv = ['aftercare', 'schema', 'visit']\n"
        "from aftercare.cli import main; main()\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", program],
        cwd=tmp_path,
        env=environment,
        capture_output=True,
        check=False,
    )

    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["title"] == "VisitFile"

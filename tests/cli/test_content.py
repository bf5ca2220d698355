"""``aftercare content list, show, approve, retire`` on a clinic's own folder."""

from __future__ import annotations

import json
import os
import re
from collections.abc import Callable
from email import message_from_bytes
from email.policy import default
from pathlib import Path
from typing import Any

import pytest

from aftercare.edges import folder
from aftercare.library import fingerprint, last_approved

Run = Callable[..., Any]
BY = ("--by", "Dr A. Example", "--role", "consultant")
WORDS = "A cavity cannot clear itself well"


@pytest.fixture
def home(run: Run, tmp_path: Path) -> Path:
    assert run("init", "clinic").code == 0
    return tmp_path / "clinic"


def block(home: Path) -> Path:
    return home / "content" / "open-cavity" / "what-it-is.md"


def state(run: Run, home: Path, wanted: str) -> str:
    rows = run("content", "list", "--json", "--home", home).json()
    return str(next(row["state"] for row in rows if row["id"] == wanted))


def test_the_list_names_every_block_and_counts_the_drafts(run: Run, home: Path) -> None:
    answer = run("content", "list", "--home", home)

    lines = answer.out.splitlines()
    assert answer.code == 0
    assert any(line.split() == ["normal-cavity", "normal", "draft"] for line in lines)
    assert lines[-1] == f"{len(lines) - 1} blocks, {len(lines) - 1} of them not approved"


def test_an_approval_lasts_until_the_words_change(run: Run, home: Path) -> None:
    answer = run("content", "approve", "normal-cavity", *BY, "--home", home)
    assert (answer.code, answer.out) == (0, "")
    assert "normal-cavity is approved by Dr A. Example, consultant" in answer.err
    assert state(run, home, "normal-cavity") == "approved"

    block(home).write_text(block(home).read_text().replace(WORDS, "A cavity can clear itself"))

    assert state(run, home, "normal-cavity") == "draft (edited since it was approved)"


def test_show_tells_who_gets_a_block_in_which_words_and_on_whose_word(run: Run, home: Path) -> None:
    run("content", "approve", "normal-cavity", *BY, "--home", home)

    answer = run("content", "show", "normal-cavity", "--home", home)

    assert answer.code == 0
    for told in ("approved: Dr A. Example, consultant", "for condition:open-cavity", WORDS,
                 "[side:left] The left ear has a cavity", "source: Youngs 1995"):  # fmt: skip
        assert told in answer.out
    assert run("content", "show", "normal-cavity", "--home", home, "--json").json()["sources"]


def test_an_approved_shelf_releases_what_a_draft_withholds(run: Run, home: Path) -> None:
    ids = [row["id"] for row in run("content", "list", "--json", "--home", home).json()]
    for wanted in [*ids, "frame"]:
        assert run("content", "approve", wanted, *BY, "--home", home).code == 0
    visit = home / "shared" / "demo" / "02-wax-suction.toml"

    answer = run("discharge", visit, "--home", home, "--channel", "sms", "--json")

    assert (answer.code, answer.err) == (0, "")
    message = answer.json()["messages"][0]
    assert message["status"] == "released"
    assert {one["approved_by"] for one in message["blocks"]} == {"Dr A. Example, consultant"}


def test_an_edit_after_approval_withholds_and_says_so(run: Run, home: Path) -> None:
    run("content", "approve", "normal-wax", *BY, "--home", home)
    wax = home / "content" / "wax" / "what-it-is.md"
    wax.write_text(wax.read_text().replace("Wax is normal", "Wax is fine"))
    visit = home / "shared" / "demo" / "02-wax-suction.toml"

    answer = run("discharge", visit, "--home", home, "--channel", "email", "--json")

    assert answer.code == 1
    assert (
        "edited since it was approved: normal-wax"
        in answer.json()["messages"][0]["withheld_because"]
    )


def test_a_retired_block_is_given_to_nobody(run: Run, home: Path) -> None:
    run("content", "retire", "normal-wax", *BY, "--home", home)
    visit = home / "shared" / "demo" / "02-wax-suction.toml"

    answer = run("discharge", visit, "--home", home, "--channel", "email", "--json").json()

    assert "normal-wax" not in {one["id"] for one in answer["messages"][0]["blocks"]}
    assert {"id": "normal-wax", "because": "retired"} in answer["omitted"]


def test_a_block_past_its_review_date_is_listed_first_thing_and_ends_with_1(
    run: Run, home: Path
) -> None:
    due(home, "2026-11-23")
    late = run("content", "list", "--home", home)
    due(home, "2027-01-23")
    soon = run("content", "list", "--home", home)
    due(home, "2027-01-24")
    later = run("content", "list", "--home", home)

    assert (late.code, soon.code, later.code) == (1, 0, 0)
    assert "review past: 2026-11-23" in late.out
    assert "review due soon: 2027-01-23" in soon.out
    assert "2027-01-24" not in later.out


def due(home: Path, review_by: str) -> None:
    """Give the block another review date, and no approval."""
    text = re.sub(r"(?m)^review_by:.*$", f"review_by: {review_by}", block(home).read_text())
    block(home).write_text(re.sub(r"(?m)^approval:.*$", "approval: {state: draft}", text))


def by_hand(home: Path, approval: str) -> None:
    text = block(home).read_text()
    block(home).write_text(re.sub(r"(?m)^approval:.*$", f"approval: {approval}", text))


@pytest.mark.parametrize(
    ("review_by", "approval", "told"),
    [
        ("2028-11-24", "{state: draft}", None),
        ("2028-11-25", "{state: draft}", "review too far off: 2028-11-25"),
        # Approved a year ago by hand: the two years run from that day, not from today.
        ("2027-11-20", '{state: approved, approver: "Dr B", date: 2025-11-20}', None),
        (
            "2027-11-21",
            '{state: approved, approver: "Dr B.", date: 2025-11-20}',
            "review too far off: 2027-11-21",
        ),
        # A day of approval that is still to come puts nothing off.
        (
            "2028-11-25",
            '{state: approved, approver: "Dr B.", date: 9999-12-31}',
            "review too far off: 2028-11-25",
        ),
        # What is given to nobody needs no review.
        ("2026-01-01", "{state: retired}", None),
        ("2099-01-01", "{state: retired}", None),
    ],
)
def test_a_review_more_than_two_years_after_the_approval_is_listed_and_ends_with_1(
    run: Run, home: Path, review_by: str, approval: str, told: str | None
) -> None:
    due(home, review_by)
    by_hand(home, approval)

    answer = run("content", "list", "--home", home)

    assert answer.code == (0 if told is None else 1)
    line = next(one for one in answer.out.splitlines() if one.startswith("normal-cavity "))
    assert ("review" in line) is (told is not None)
    assert (told or "") in line


@pytest.mark.parametrize(
    ("review_by", "told"), [("2026-11-23", "is past"), ("2028-11-25", "more than 24 months away")]
)
def test_nobody_approves_a_text_whose_review_is_past_or_too_far_off(
    run: Run, home: Path, review_by: str, told: str
) -> None:
    due(home, review_by)
    before = folder.read_home(home)

    answer = run("content", "approve", "normal-cavity", *BY, "--home", home)

    assert (answer.code, answer.out) == (2, "")
    assert f"what-it-is.md:{line_of(home, 'review_by')}: its review date {review_by}" in answer.err
    assert told in answer.err
    assert "2028-11-24 or earlier" in answer.err
    assert folder.read_home(home) == before
    assert not (home / "content" / ".approved").exists()


def line_of(home: Path, key: str) -> int:
    lines = block(home).read_text().split("\n")
    return next(number for number, line in enumerate(lines, 1) if line.startswith(key))


def test_the_limit_on_reviews_is_the_clinic_s_own(run: Run, home: Path) -> None:
    limits = home / "shared" / "limits.toml"
    limits.write_text(limits.read_text().replace("months = 24", "months = 12"))
    due(home, "2027-11-25")

    assert "too far off: 2027-11-25" in run("content", "list", "--home", home).out
    answer = run("content", "approve", "normal-cavity", *BY, "--home", home)
    assert (answer.code, "more than 12 months away" in answer.err) == (2, True)


@pytest.mark.parametrize("command", ["approve", "retire"])
@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("no-such-block", *BY), "no-such-block: no block has this id"),
        (("normal-cavity", "--by", "", "--role", "nurse"), "a name and a role are needed"),
        (("normal-cavity", "--by", "Dr A", "--role", "\n"), "a name and a role are needed"),
    ],
)
def test_a_decision_that_cannot_be_taken_changes_nothing(
    run: Run, home: Path, command: str, words: tuple[str, ...], told: str
) -> None:
    before = block(home).read_bytes()

    answer = run("content", command, *words, "--home", home)

    assert answer.code == 2
    assert told in answer.err
    assert block(home).read_bytes() == before


def test_a_full_disk_leaves_the_block_as_it_was(
    run: Run, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = block(home).read_bytes()

    def full(descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)

    answer = run("content", "approve", "normal-cavity", *BY, "--home", home)

    assert answer.code == 2
    assert "No space left on device; it stands as it was" in answer.err
    assert block(home).read_bytes() == before
    assert not [path for path in home.rglob("*") if ".aftercare-" in path.name]
    assert not (home / "content" / ".approved").exists()


def test_the_shelf_inside_the_package_is_nobodys_to_approve(
    run: Run, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("aftercare.cli.shelf.is_shipped", lambda folder: True)

    answer = run("content", "approve", "normal-cavity", *BY, "--home", home)

    assert answer.code == 2
    assert "'aftercare init DIR' makes your own" in answer.err


def test_the_checkout_is_not_taken_for_the_package(tmp_path: Path) -> None:
    assert not folder.is_shipped(tmp_path)


def test_the_answer_in_json_is_json(run: Run, home: Path) -> None:
    rows = json.loads(run("content", "list", "--json", "--home", home).out)

    assert {"id", "state", "review_by", "for", "not_for", "file"} <= set(rows[0])


# --- The words last approved ------------------------------------------------------------


@pytest.mark.parametrize(
    ("wanted", "path", "kept"),
    [
        ("normal-cavity", "content/open-cavity/what-it-is.md", "normal-cavity.md"),
        ("frame", "content/frame.toml", "frame.toml"),
    ],
)
def test_the_words_last_approved_are_kept_byte_for_byte(
    run: Run, home: Path, wanted: str, path: str, kept: str
) -> None:
    assert last_approved(folder.read_home(home), wanted) is None
    run("content", "approve", wanted, *BY, "--home", home)
    approved = (home / path).read_bytes()
    assert b"Dr A. Example" in approved

    (home / path).write_bytes(approved.replace(b"cavity", b"hole").replace(b"Dear", b"Hello"))

    files = folder.read_home(home)
    assert files[path] != approved
    assert last_approved(files, wanted) == approved == files[f"content/.approved/{kept}"]


def test_keeping_words_changes_no_edition_and_no_list(run: Run, home: Path) -> None:
    run("content", "approve", "normal-cavity", *BY, "--home", home)
    files = folder.read_home(home)
    without = {path: raw for path, raw in files.items() if "/.approved/" not in path}
    before = run("content", "list", "--home", home).out

    (home / "content" / ".approved" / "normal-cavity.md").unlink()

    assert len(without) == len(files) - 1
    assert fingerprint(files) == fingerprint(without)
    assert run("content", "list", "--home", home).out == before


def test_a_clinic_that_starts_from_another_s_shelf_approves_for_itself(
    run: Run, home: Path, tmp_path: Path
) -> None:
    for wanted in ("normal-cavity", "frame"):
        run("content", "approve", wanted, *BY, "--home", home)

    assert run("init", "mine", "--home", home).code == 0

    assert state(run, tmp_path / "mine", "normal-cavity") == "draft"
    files = folder.read_home(tmp_path / "mine")
    assert not [path for path in files if "/.approved/" in path]
    assert b'approval = { state = "draft" }' in files["content/frame.toml"]


def test_a_retired_block_keeps_the_words_that_were_approved(run: Run, home: Path) -> None:
    run("content", "approve", "normal-cavity", *BY, "--home", home)
    approved = block(home).read_bytes()

    assert run("content", "retire", "normal-cavity", *BY, "--home", home).code == 0

    assert last_approved(folder.read_home(home), "normal-cavity") == approved


def test_the_frame_is_not_retired(run: Run, home: Path) -> None:
    answer = run("content", "retire", "frame", *BY, "--home", home)

    assert (answer.code, "every message needs the frame" in answer.err) == (2, True)


# --- Bad input --------------------------------------------------------------------------

MADE = "content/zzz/made.md"
GOOD = """\
---
id: made-up
version: "1"
kind: normal
for: [condition:wax]
rank: 10
sources: ["common practice, no source"]
author: "A. Writer"
approval: {state: draft}
review_by: 2027-11-01
---
Rest.
"""
# (the file, what to replace, by what, the line complained of or what it begins with, the complaint)
BAD = {
    "an unknown fact": (MADE, "condition:wax", "condition:gout", 5, "no value 'gout'"),
    "an unknown group": (MADE, "condition:wax", "illness:wax", 5, "no group of facts"),
    "a slot that does not exist": (MADE, "Rest.", "Ring {phone}.", 12, "no slot is called"),
    "an id that is taken": (MADE, "id: made-up", "id: normal-cavity", 2, "is taken by content/op"),
    "a YAML bomb": (
        MADE, "rank: 10", "a: &a [x, x]\nb: &b [*a, *a]\nc: [*b, *b]\nrank: 10", 6, "YAML alias",
    ),
    "a tag": (MADE, "rank: 10", "rank: !!python/object/apply:os.getcwd []", 6, "uses the tag"),
    "ten megabytes": (MADE, "Rest.", "Rest. " * 1_700_000, 1, "over the limit of 65,536"),
    "no for a kind": (MADE, "kind: normal", "kind: no", 4, "'kind'"),
    "no such day": (MADE, "2027-11-01", "2026-13-40", 10, "'2026-13-40' is no timestamp"),
    "not UTF-8": (MADE, "Rest.", "Rest.\udcff", 12, "not UTF-8 text"),
    "an impossible fact": (
        "shared/facts.toml", '["plan:soften"]', '["plan:softer"]', "[[impossible]]",
        "no fact is called 'plan:softer'",
    ),
    "rules that refer to each other": (
        "shared/rules.toml", "aspirin = { said = [", 'aspirin = { said = ["@bleeding", ',
        "aspirin", "leads back to",
    ),
    "a recall of no condition": (
        "shared/limits.toml", "[recall.open-cavity]", "[recall.cavty]", "[recall.cavty]",
        "no condition is called that",
    ),
    "a catalogue that is none": (
        "locales/pl/LC_MESSAGES/aftercare.po", "msgid", "msg id", "msg id", "not a line of a PO",
    ),
}  # fmt: skip


@pytest.fixture
def spoilt(request: pytest.FixtureRequest, home: Path) -> str:
    """The home with one thing wrong; the fault as it must be told."""
    path, old, new, at, said = BAD[request.param]
    name = home / path
    name.parent.mkdir(exist_ok=True)
    text = GOOD if path == MADE else name.read_text("utf-8")
    if "refer to each other" in request.param:
        text = text.replace("\nbleeding = { said = [", '\nbleeding = { said = ["@aspirin", ', 1)
    assert old in text
    raw = text.replace(old, new, 1).encode("utf-8", "surrogateescape")
    name.write_bytes(raw)
    lines = raw.decode("utf-8", "replace").split("\n")
    fitting = [n for n, line in enumerate(lines, 1) if isinstance(at, str) and line.startswith(at)]
    wanted = [at] if isinstance(at, int) else fitting
    return rf"{re.escape(path)}:({'|'.join(map(str, wanted))}): [^\n]*{re.escape(said)}"


@pytest.mark.parametrize("spoilt", BAD, indirect=True)
def test_a_fault_is_told_with_its_line_the_rest_is_listed_and_nothing_is_sent(
    run: Run, home: Path, spoilt: str, tmp_path: Path
) -> None:
    usual = {row["id"] for row in run("content", "list", "--json").json()}

    listed = run("content", "list", "--json", "--home", home)
    people = run("content", "list", "--home", home)
    sent = run("discharge", home / "shared" / "demo" / "02-wax-suction.toml", "--home", home)

    assert listed.code == people.code == 1
    assert {row["id"] for row in listed.json()} == usual
    assert re.search(rf"(?m)^aftercare: {spoilt}", listed.err), listed.err
    assert people.err == listed.err
    assert ("nothing of it is sent or approved" in people.err) is ("locales/" not in spoilt)
    if "locales/" in spoilt:
        assert re.search(r"1 fault in locales/(\w+); nothing is sent in \1 until", people.err)
        # A reader of another language is none the worse for a catalogue that cannot be read.
        assert (sent.code, sent.err) == (1, "")
    else:
        assert (sent.code, sent.out) == (2, "")
        assert re.search(spoilt, sent.err), sent.err
        assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("spoilt", ["no such day", "an impossible fact"], indirect=True)
@pytest.mark.parametrize("command", ["approve", "retire"])
def test_no_decision_lands_on_a_shelf_with_a_fault(
    run: Run, home: Path, spoilt: str, command: str
) -> None:
    before = folder.read_home(home)

    answer = run("content", command, "normal-cavity", *BY, "--home", home)

    assert (answer.code, answer.out) == (2, "")
    assert re.search(spoilt, answer.err)
    assert folder.read_home(home) == before


@pytest.mark.parametrize("spoilt", ["no such day"], indirect=True)
def test_no_sample_is_made_of_a_shelf_with_a_fault(
    run: Run, home: Path, spoilt: str, tmp_path: Path
) -> None:
    answer = run("demo", "--home", home)

    assert (answer.code, answer.out) == (2, "")
    assert re.search(spoilt, answer.err)
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("spoilt", ["no such day", "ten megabytes"], indirect=True)
def test_a_block_is_shown_beside_the_faults_of_others(run: Run, home: Path, spoilt: str) -> None:
    people = run("content", "show", "normal-cavity", "--home", home)
    machine = run("content", "show", "normal-cavity", "--home", home, "--json")
    broken = run("content", "show", "made-up", "--home", home)

    assert (people.code, machine.code, broken.code) == (1, 1, 2)
    assert WORDS in people.out
    for answer in (people, machine, broken):
        assert re.search(spoilt, answer.err)
    (fault,) = machine.json()["faults"]
    assert re.search(spoilt, f"{fault['file']}:{fault['line']}: {fault['problem']}")
    assert fault["help"]
    assert "made-up: no block has this id" in broken.err


def test_a_missing_word_list_is_a_fault_of_a_whole_file(run: Run, home: Path) -> None:
    (home / "shared" / "glossary.toml").unlink()

    answer = run("content", "show", "normal-cavity", "--home", home, "--json")

    assert answer.code == 1
    (fault,) = answer.json()["faults"]
    assert (fault["file"], fault["line"]) == ("shared/glossary.toml", None)
    assert "1 fault on the shelf" in answer.err


def test_without_the_frame_nothing_is_listed_and_every_fault_is_told(run: Run, home: Path) -> None:
    (home / "content" / "frame.toml").write_text("= 1")
    (home / "content" / "wax" / "care.md").write_text("Words.")

    answer = run("content", "list", "--home", home)

    assert (answer.code, answer.out) == (2, "")
    assert "content/frame.toml:1: not TOML" in answer.err
    assert "content/wax/care.md:1: no header" in answer.err


def test_markup_in_a_block_is_no_fault_and_is_shown_as_text(run: Run, home: Path) -> None:
    attack = "Rest. <script>alert(1)</script> <b onclick=x>Now</b>"
    (home / MADE).parent.mkdir()
    (home / MADE).write_text(GOOD.replace("Rest.", attack))

    listed = run("content", "list", "--home", home)
    shown = run("content", "show", "made-up", "--home", home)
    run("demo", "--home", home, "--out", "samples")

    assert (listed.code, listed.err, shown.code) == (0, "", 0)
    assert attack in shown.out
    told = [html for html in map(html_of, Path("samples").rglob("*.eml")) if "alert(1)" in html]
    assert told
    for html in told:
        assert "<script" not in html
        assert "&lt;script&gt;alert(1)&lt;/script&gt; &lt;b onclick=x&gt;" in html


def html_of(path: Path) -> str:
    mail = message_from_bytes(path.read_bytes(), policy=default)
    page = mail.get_body(("html",))
    assert page is not None
    html: str = page.get_content()
    return html


def test_a_block_of_recall_messages_is_approved_like_any_other(run: Run, home: Path) -> None:
    run("content", "approve", "reminder-invite", *BY, "--home", home)

    shown = run("content", "show", "reminder-invite", "--home", home)

    assert state(run, home, "reminder-invite") == "approved"
    assert "  in recall messages alone: invite\n" in shown.out
    assert "It is time to book a visit to {clinic_short_name}" in shown.out
    whole = run("content", "show", "reminder-calendar", "--json", "--home", home).json()
    assert whole["moments"] == ["booked", "before", "changed"]


def test_no_leaflet_changes_with_a_recall_message(run: Run, home: Path) -> None:
    answer = run("content", "impact", "reminder-invite", "--home", home)

    assert answer.code == 2
    assert "it is told in recall messages alone: invite" in answer.err

"""``aftercare content check``: what is proved of the shelf, and what an editor must look at.

The whole shelf takes the better part of a minute, so it is proved once, as a program asks.
What it must say of the shelf of this checkout is asked only where it is true whatever its words.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Mapping
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from made_up import HOME
from made_up_blocks import block

from aftercare.cli import proving
from aftercare.errors import OutOfReach

Run = Callable[..., Any]
KEYS = {
    "library", "blocks", "faults", "patients", "leaflets", "reasons_followed",
    "most_actions_called_for",
    "most_actions_case", "patients_with_something_left_out", "left_out", "languages", "proved",
    "findings", "second_scorer",
}  # fmt: skip
OF_A_LANGUAGE = {
    "language", "hardest_leaflet", "no_leaflet_harder", "hardest_case",
    "longest_sms_parts", "longest_sms_units",
    "longest_sms_case", "longest_vital_sms_parts", "sms_may_drop", "pages",
    "groups_told_apart", "held_at_release",
}  # fmt: skip
OF_A_FINDING = {"block", "file", "language", "problem", "help", "patients", "case"}


@pytest.fixture
def home(shelf: Mapping[str, bytes], tmp_path: Path) -> Path:
    """A clinic's folder with the checkout's shelf, to write on."""
    return written(shelf, tmp_path / "clinic")


def written(shelf: Mapping[str, bytes], folder: Path) -> Path:
    for name, raw in shelf.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(raw)
    return folder


@pytest.fixture
def bare(home: Path) -> Path:
    """The same without blocks and translations, and a vocabulary that asks for no content."""
    for topic in (home / "content").iterdir():
        if topic.is_dir():
            shutil.rmtree(topic)
    shutil.rmtree(home / "locales")
    (home / "content" / "made").mkdir()
    for name, text in SOUND.items():
        put(home, text, name)
    return home


def put(home: Path, text: str, name: str = "b") -> None:
    (home / "content" / "made" / f"{name}.md").write_text(text, "utf-8")


def both(name: str, words: str, **more: Any) -> str:
    return block(name, f"{words}\n", more=f'sms: "{words}"\n', **more)


EVERY = (
    "condition:open-cavity, condition:wax, condition:otitis-externa, condition:perforation, "
    "condition:grommet"
)
# The least that has nothing to look at: help for everybody, and something of every kind.
SOUND = {
    "s-call": both("s-call", "Call {emergency_number} now for a weak face.", kind="urgent",
                   given="speech:phone"),
    "s-text": both("s-text", "Text {emergency_text_number} now for a weak face.", kind="urgent",
                   given="speech:no-phone, emergency-text:yes"),
    "s-phone": both("s-phone", "Phone us on {clinic_phone}.", kind="contact",
                    given="speech:phone"),
    "s-reply": both("s-reply", "Text us on {clinic_text_number}.", kind="contact",
                    given="reply:text"),
    "s-mail": both("s-mail", "Write to {clinic_email}.", kind="contact", given="reply:email"),
    "s-days": both("s-days", "If no better in 72 hours, contact us the same day.", kind="urgent",
                   given="caution:diabetes, caution:weak-immunity, caution:radiotherapy"),
    "s-thin": both("s-thin", "If it bleeds, contact us.", given="caution:blood-thinner"),
    "s-bone": both("s-bone", "Tell us of any pain or fluid.", given="caution:bone-medicine"),
    "s-dizzy": both("s-dizzy", "If dizzy, sit down.",
                    given="caution:fall-risk, caution:lives-alone, caution:driver"),
    "s-done": block("s-done", "We looked.\n", kind="done",
                    given="procedure:suction, procedure:instruments, procedure:examination"),
    **{f"s-{kind}": block(f"s-{kind}", "Rest well.\n", kind=kind, given=EVERY)
       for kind in ("urgent", "normal", "water", "recall")},
}  # fmt: skip


SHIPPED = sorted(path.parents[1].name for path in (HOME / "locales").glob("*/*/aftercare.po"))


# --- the shelf of this checkout, proved once ----------------------------------------------------
@dataclass(frozen=True)
class Whole:
    """The command as another program runs it, apart from this process."""

    done: subprocess.CompletedProcess[str]

    def json(self) -> Any:
        return json.loads(self.done.stdout)


@pytest.fixture(scope="session")
def whole(environment: dict[str, str], tmp_path_factory: pytest.TempPathFactory) -> Whole:
    home = written(
        {
            path.relative_to(HOME).as_posix(): path.read_bytes()
            for part in ("content", "shared", "locales") for path in (HOME / part).rglob("*")
            if path.is_file()
        },
        tmp_path_factory.mktemp("whole"),
    )  # fmt: skip

    start = time.perf_counter()
    words = [sys.executable, "-m", "aftercare", "content", "check", "--json", "--home", str(home)]
    done = subprocess.run(
        words, capture_output=True, text=True, check=False, env=environment, timeout=600, cwd=home
    )
    print(f"content check took {time.perf_counter() - start:.1f} s on {os.cpu_count()} cores")
    return Whole(done)


def test_progress_is_told_apart_from_the_answer(whole: Whole) -> None:
    told = whole.json()

    progress = whole.done.stderr.splitlines()
    parts = len(told["languages"]) + 1
    assert len(progress) == parts
    for number, line in enumerate(progress, 1):
        assert line.startswith(f"aftercare: proved {number} of {parts}: ")
    assert {line.rpartition(": ")[2] for line in progress} == {
        "who gets what", *(one["language"] for one in told["languages"])
    }  # fmt: skip
    assert whole.done.stdout.startswith("{")
    assert whole.done.returncode == (1 if told["findings"] else 0)


def test_json_says_everything_that_was_proved(whole: Whole) -> None:
    told = whole.json()

    assert set(told) == KEYS
    assert told["library"].startswith("sha256:")
    assert told["faults"] == []
    assert [one["language"] for one in told["languages"]] == ["en", *SHIPPED]
    for one in told["languages"]:
        assert set(one) == OF_A_LANGUAGE
        assert one["longest_sms_case"]
        assert one["longest_sms_parts"] >= one["longest_vital_sms_parts"] > 0
        assert [size["size"] for size in one["pages"]] == ["standard print", "large print"]
        for size in one["pages"]:
            assert 1 < size["found"] <= size["no_leaflet_above"] <= size["limit"]
            assert "route:print" in size["case"]
        assert one["groups_told_apart"] > 100
    for one in told["findings"]:
        assert set(one) == OF_A_FINDING
    assert told["patients"] > told["leaflets"] > 1000
    assert told["patients_with_something_left_out"] >= max([*told["left_out"].values(), 0])
    rows = {(one["language"], one["form"]): one for one in told["proved"]}
    assert set(rows) == {
        (language, form)
        for language in ("en", *SHIPPED)
        for form in ("page", "sms", "sms in detail")
    }
    english = next(one for one in told["languages"] if one["language"] == "en")
    assert english["no_leaflet_harder"] <= rows["en", "page"]["no_message_above"]


def test_the_hardest_leaflet_that_is_told_is_the_very_hardest(whole: Whole) -> None:
    """Somebody gets it, and none is harder: to the place both are told to."""
    graded = [one for one in whole.json()["languages"] if one["hardest_leaflet"] is not None]

    assert {one["language"] for one in graded} >= {"en", "de", "es", "fr", "pl", "pt"}
    for one in graded:
        assert one["hardest_case"]
        assert round(one["hardest_leaflet"], 1) == one["no_leaflet_harder"]


def test_the_shelf_as_it_stands_has_nothing_to_look_at(whole: Whole) -> None:
    assert [one["problem"] for one in whole.json()["findings"]] == []


# --- made-up shelves ----------------------------------------------------------------------------
def test_a_shelf_in_order_ends_the_run_with_0(run: Run, bare: Path) -> None:
    answer = run("content", "check", "--home", bare)
    told = run("content", "check", "--home", bare, "--json")

    assert (answer.code, told.code) == (0, 0), answer.out
    assert answer.out.endswith("Nothing to look at.\n")
    assert told.json()["findings"] == []
    assert [one["language"] for one in told.json()["languages"]] == ["en"]
    assert told.json()["left_out"] == {}


def test_a_person_is_told_the_same_as_a_program(run: Run, bare: Path) -> None:
    put(bare, block("b", "Come back soon.\n", more="actions: 9\n"))
    put(bare, block("wet", "It may get wet.\n", given="condition:open-cavity"), "wet")
    text = run("content", "check", "--home", bare).out
    told = run("content", "check", "--home", bare, "--json").json()
    one_line = " ".join(text.split())

    assert f"{told['blocks']} blocks, library {told['library']}" in text
    assert f"{told['patients']:,} combinations of what a visit records" in text
    assert f"{told['leaflets']:,} different leaflets" in text
    assert f"for a reason ({told['reasons_followed']} kinds followed), in a fixed order" in text
    assert f"  up to {told['most_actions_called_for']} things would be asked of a reader" in text
    assert f"it can be: {', '.join(told['left_out'])}" in one_line
    (one,) = told["languages"]
    assert f"en: {one['groups_told_apart']:,} groups of patients told apart" in text
    sms = f"longest SMS: {one['longest_sms_parts']} parts, {one['longest_sms_units']:,} units"
    assert sms in text
    for size in one["pages"]:
        most = f"{size['found']} pages; none takes more than {size['no_leaflet_above']}"
        assert f"longest leaflet in {size['size']}: {most}" in text
    hard, most = one["hardest_leaflet"], one["no_leaflet_harder"]
    assert f"Flesch-Kincaid Grade Level {hard:.1f}; none is above {most:.1f}" in text
    assert [held["rule"] in text for held in one["held_at_release"]] == [True, True]
    assert len(told["findings"]) > 2
    for found in told["findings"]:
        assert " ".join(found["problem"].split()) in one_line
        assert f", {found['file']}\n" in text
        assert " ".join(found["help"].split()) in one_line
    assert text.splitlines()[-1] == f"{len(told['findings'])} to look at"
    assert max(map(len, text.splitlines())) <= 112


def test_a_finding_ends_the_run_with_1_and_names_the_file(run: Run, bare: Path) -> None:
    put(bare, block("b", "Come back soon.\n"))

    answer = run("content", "check", "--home", bare)
    told = run("content", "check", "--home", bare, "--json")

    assert answer.code == told.code == 1
    assert "b (en), content/made/b.md\n  vague time: “soon”" in answer.out
    assert answer.out.endswith("1 to look at\n")
    (one,) = told.json()["findings"]
    assert (one["block"], one["file"], one["language"]) == ("b", "content/made/b.md", "en")
    assert one["help"].endswith("or accept it in the header with a reason")


def test_a_pair_of_blocks_that_can_meet_and_contradict_is_told_with_both_files_and_somebody(
    run: Run, bare: Path
) -> None:
    put(bare, block("dry", "Keep the ear dry.\n", given="condition:grommet"), "dry")
    put(bare, block("wet", "It may get wet.\n", given="condition:wax"), "wet")

    answer = run("content", "check", "--home", bare)
    found = run("content", "check", "--home", bare, "--json").json()["findings"]

    assert answer.code == 1
    assert "dry (en), content/made/dry.md:14 and content/made/wet.md:14" in answer.out
    one = next(one for one in found if "opposing advice (rule 23, stops it)" in one["problem"])
    assert {"left ear: condition:grommet", "left ear: condition:wax"} <= set(one["case"])
    assert one["patients"] > 0
    assert f"{one['patients']:,} combinations, such as: " in answer.out


def test_a_block_that_cannot_be_read_is_a_finding_and_the_rest_is_proved(
    run: Run, bare: Path
) -> None:
    put(bare, block("b", "A.\n", given="condition:none"), "bad")
    put(bare, "no header\n", "worse")

    answer = run("content", "check", "--home", bare)
    told = run("content", "check", "--home", bare, "--json")

    assert answer.code == told.code == 1
    faults = {(one["file"], one["line"]): one["problem"] for one in told.json()["faults"]}
    assert set(faults) == {("content/made/bad.md", 5), ("content/made/worse.md", 1)}
    assert "no value 'none'" in faults["content/made/bad.md", 5]
    found = {one["file"]: one for one in told.json()["findings"]}
    assert set(found) == {"content/made/bad.md:5", "content/made/worse.md:1"}
    assert "shelf, content/made/worse.md:1\n  no header" in answer.out
    assert told.json()["blocks"] == len(SOUND)
    assert told.json()["patients"] > 0


def test_accepted_advice_is_gone_and_a_stale_or_unknown_acceptance_is_told(
    run: Run, bare: Path
) -> None:
    def accepting(kind: str, words: str) -> str:
        entry = f'accepted:\n  - {{kind: "{kind}", words: "{words}", reason: "on purpose"}}\n'
        return block("b", "Come back soon.\n", more=entry)

    put(bare, accepting("vague time", "Soon"))
    assert run("content", "check", "--home", bare).out.endswith("Nothing to look at.\n")

    put(bare, accepting("vague time", "later"))
    stale = run("content", "check", "--home", bare)
    assert stale.code == 1
    assert "content/made/b.md\n  accepted vague time “later” fits nothing any more" in stale.out

    put(bare, accepting("vagueness", "soon"))
    unknown = run("content", "check", "--home", bare)
    assert unknown.code == 1
    assert "content/made/b.md\n  accepted “vagueness”: there is no such kind" in unknown.out


def test_a_tighter_limit_is_broken_and_the_hardest_part_is_named(run: Run, bare: Path) -> None:
    limits = bare / "shared" / "limits.toml"
    text = limits.read_text("utf-8")
    assert "fkgl = 6.0" in text
    limits.write_text(text.replace("fkgl = 6.0", "fkgl = 1.0"), "utf-8")

    answer = run("content", "check", "--home", bare)

    assert answer.code == 1
    assert re.search(r"\(en\), content/\S+\n  page: .* can reach ", answer.out)


def test_an_empty_shelf_lacks_everything_and_says_so(run: Run, bare: Path) -> None:
    for name in SOUND:
        (bare / "content" / "made" / f"{name}.md").unlink()

    answer = run("content", "check", "--home", bare)

    assert answer.code == 1
    assert answer.out.startswith("0 blocks, ")
    assert "no content for condition:wax: release withholds every message" in answer.out
    assert "some patients are told no urgent signs" in answer.out


def test_settings_that_cannot_be_read_are_bad_input(run: Run, bare: Path) -> None:
    (bare / "shared" / "facts.toml").write_text("= nothing", "utf-8")

    answer = run("content", "check", "--home", bare)

    assert (answer.code, answer.out) == (2, "")
    assert "shared/facts.toml" in answer.err


def test_a_proof_that_is_stopped_from_outside_says_so_and_what_to_do(
    bare: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Stopped(ProcessPoolExecutor):
        def submit(self, *call: Any, **named: Any) -> Any:
            future: Future[Any] = Future()
            future.set_exception(BrokenProcessPool("gone"))
            return future

    monkeypatch.setattr(proving, "ProcessPoolExecutor", Stopped)

    with pytest.raises(OutOfReach, match="part of the proof was stopped; close other programs"):
        proving.prove(bare, ["en"], date(2026, 11, 25), lambda said: None)

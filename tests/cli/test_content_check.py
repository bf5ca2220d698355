"""``aftercare content check``: what is proved of the shelf, and what an editor must look at."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest
from made_up_blocks import block

Run = Callable[..., Any]


@pytest.fixture
def home(shelf: Mapping[str, bytes], tmp_path: Path) -> Path:
    """A clinic's folder with the checkout's shelf, to write on."""
    folder = tmp_path / "clinic"
    for name, raw in shelf.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(raw)
    return folder


@pytest.fixture
def bare(home: Path) -> Path:
    """The same without blocks and translations."""
    for topic in (home / "content").iterdir():
        if topic.is_dir():
            shutil.rmtree(topic)
    shutil.rmtree(home / "locales")
    (home / "content" / "made").mkdir()
    return home


def put(home: Path, text: str, name: str = "b") -> None:
    (home / "content" / "made" / f"{name}.md").write_text(text, "utf-8")


def test_the_shelf_as_it_stands_has_nothing_to_look_at(run: Run, home: Path) -> None:
    answer = run("content", "check", "--home", home)

    assert (answer.code, answer.err) == (0, "")
    lines = answer.out.splitlines()
    assert lines[-1] == "Nothing to look at."
    proved = [line.split() for line in lines if line.startswith(("  en ", "  pl ", "  ur "))]
    assert [(row[0], row[1]) for row in proved] == [
        (language, form) for language in ("en", "pl", "ur") for form in ("page", "sms", "sms")
    ]
    assert max(map(len, lines)) <= 112


def test_json_says_what_is_proved_for_every_language_and_form(run: Run, home: Path) -> None:
    told = run("content", "check", "--json", "--home", home).json()

    assert told["library"].startswith("sha256:")
    assert told["findings"] == []
    rows = {(one["language"], one["form"]): one for one in told["proved"]}
    assert set(rows) == {
        (language, form)
        for language in ("en", "pl", "ur")
        for form in ("page", "sms", "sms in detail")
    }
    english = rows["en", "page"]
    assert english["formula"] == "flesch_kincaid"
    assert english["no_message_above"] <= english["limit"] == 6
    assert english["no_message_above"] < english["hardest_part_value"]
    assert english["wordings"] > told["blocks"]
    assert english["not_scored_because"] is None
    assert rows["pl", "page"]["formula"] == "fog_pl"
    assert rows["ur", "page"]["no_message_above"] is None
    assert "Urdu" in rows["ur", "page"]["not_scored_because"]
    assert all(one["longest_sentence"] <= 20 for one in rows.values())
    assert all(one["why"] and one["when"] for one in told["second_scorer"])


def test_the_editor_is_told_where_the_second_scorer_differs_and_why(run: Run, home: Path) -> None:
    out = run("content", "check", "--home", home).out

    assert "textstat and this engine are more than a grade apart on:" in out
    at = out.index("  done-length for side:left units:cm: here ")
    assert "they count other syllables (cm 2 here, 1 there)" in out[at : at + 200]


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


def test_a_language_held_to_nothing_that_can_be_proved_is_told_so(run: Run, home: Path) -> None:
    limits = home / "shared" / "limits.toml"
    text = limits.read_text("utf-8")
    assert "fog_pl = 11.0" in text
    limits.write_text(text.replace("fog_pl = 11.0", "pisarek_non_linear = 8.0"), "utf-8")

    answer = run("content", "check", "--home", home)
    told = run("content", "check", "--home", home, "--json").json()

    assert answer.code == 0
    assert "pl: shared/limits.toml holds this language to no formula that a bound" in answer.out
    assert "None" not in answer.out
    (polish,) = (one for one in told["proved"] if (one["language"], one["form"]) == ("pl", "page"))
    assert polish["formula"] is None
    assert polish["not_scored_because"].startswith("shared/limits.toml holds")


def test_a_tighter_limit_is_broken_and_the_hardest_part_is_named(run: Run, home: Path) -> None:
    limits = home / "shared" / "limits.toml"
    limits.write_text(limits.read_text("utf-8").replace("fog_pl = 11.0", "fog_pl = 5.0"), "utf-8")

    answer = run("content", "check", "--home", home)

    assert answer.code == 1
    assert "(pl), locales/pl/LC_MESSAGES/aftercare.po\n  page: FOG-PL can reach " in answer.out
    assert "limit 5; this is the hardest part" in answer.out


def test_an_empty_shelf_is_checked(run: Run, bare: Path) -> None:
    answer = run("content", "check", "--home", bare)

    assert answer.code == 0
    assert answer.out.startswith("0 blocks, ")


def test_a_shelf_that_cannot_be_read_is_bad_input(run: Run, bare: Path) -> None:
    put(bare, "no header\n")

    answer = run("content", "check", "--home", bare)

    assert (answer.code, answer.out) == (2, "")
    assert "content/made/b.md:1: no header" in answer.err

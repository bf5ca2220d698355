"""``aftercare score``: an answer or a clear refusal for every file, and the limits it breaks."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from email.message import EmailMessage
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from aftercare.edges.words_in import TEXT_BYTES
from aftercare.flow import discharge
from aftercare.model import Case, Channel, Library, Line, Purpose, Role, Span
from aftercare.proof.reading import costs
from aftercare.score import count_lines, score_text

Run = Callable[..., Any]
ROOT = Path(__file__).parents[2]
SCHEMA = json.loads((ROOT / "tests" / "contract" / "score.schema.json").read_text("utf-8"))
EAR_TEXT = (ROOT / "tests" / "score" / "ear_text.md").read_text("utf-8")
HARD = (
    "Patients receiving immunosuppressive medication occasionally experience considerable "
    "postoperative complications necessitating immediate professional examination. "
)
POLISH = (
    "Proszę nie moczyć ucha przez dwa tygodnie. Jeśli ucho zacznie boleć, proszę do nas zadzwonić. "
)


@pytest.fixture
def write(tmp_path: Path) -> Callable[..., str]:
    """Writes a file in the current folder and answers its name."""

    def wrote(text: str | bytes, name: str = "a.md") -> str:
        raw = text.encode("utf-8", "surrogatepass") if isinstance(text, str) else text
        (tmp_path / name).write_bytes(raw)
        return name

    return wrote


# --- JSON -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "language"),
    [(EAR_TEXT, "en"), (HARD * 9, "en-GB"), (POLISH * 8, "pl"), ("Ear", "en"), ("", "ur")],
)
def test_every_answer_meets_the_contract(
    text: str, language: str, run: Run, write: Callable[..., str]
) -> None:
    told = run("score", write(text), "--language", language, "--json").json()

    jsonschema.validate(told, SCHEMA)
    counts = score_text(text, language=language).counts
    assert (told["file"], told["language"]) == ("a.md", language)
    assert (told["words"], told["sentences"]) == (counts.words, counts.sentences)
    assert (told["syllables"], told["polysyllables"]) == (counts.syllables, counts.polysyllables)


def test_a_formula_has_its_value_status_interval_and_source(
    run: Run, write: Callable[..., str]
) -> None:
    told = run("score", write(EAR_TEXT), "--json").json()["formulas"]

    for name in ("flesch", "flesch_kincaid", "smog", "lix"):
        one = told[name]
        assert one["status"] == "valid"
        assert one["low"] < one["value"] < one["high"]
        assert one["source"]
    # Kincaid et al. 1975: 0.39 W/S + 11.8 Y/W - 15.59, of 606 words, 56 sentences, 780 syllables.
    by_hand = 0.39 * 606 / 56 + 11.8 * 780 / 606 - 15.59
    assert told["flesch_kincaid"]["value"] == pytest.approx(by_hand)


def test_the_findings_hold_advice_with_its_place_and_the_limits_broken(
    run: Run, write: Callable[..., str]
) -> None:
    text = "Come back soon.\n\n" + HARD * 9
    answer = run("score", write(text), "--json")

    found = answer.json()["findings"]
    (vague,) = (one for one in found if one["about"] == "vague time")
    assert text[vague["start"] : vague["end"]] == vague["text"] == "soon"
    assert (vague["line"], vague["standing"]) == (1, "open")
    over = [one["text"] for one in found if one["about"] == "over a limit"]
    assert over[0].startswith("Flesch-Kincaid Grade Level ")
    assert over[0].endswith("is over the limit of 6")
    assert answer.code == 1


def test_the_rules_alone_can_be_shown(run: Run, write: Callable[..., str]) -> None:
    """A dictionary gives “recipe” three syllables; the rules take its last e for silent."""
    name = write("We gave you a recipe.")

    with_table = run("score", name, "--json").json()["syllables"]
    by_rule = run("score", name, "--no-dictionary", "--json").json()["syllables"]

    assert (with_table, by_rule) == (7, 6)


def test_the_instruments_are_in_the_answer_and_on_the_page_when_asked_for(
    run: Run, write: Callable[..., str]
) -> None:
    name = write(EAR_TEXT)

    assert run("score", name, "--json").json()["instruments"]
    assert "Items of published instruments" not in run("score", name).out
    assert "Items of published instruments" in run("score", name, "--instruments").out
    polish = run("score", name, "--instruments", "--language", "pl")
    assert "made for English texts" in polish.out


# --- limits -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "language", "code"),
    [
        (EAR_TEXT, "en", 0),
        (HARD * 9, "en", 1),
        # Too short for a grade, and one sentence of 21 words.
        ("word " * 20 + "word.", "en", 1),
        ("word " * 19 + "word.", "en", 0),
        (POLISH * 8, "pl", 0),
        ("Niepełnosprawność postoperacyjna uniemożliwia samodzielność. " * 30, "pl", 1),
        ("word " * 21, "ur", 1),
    ],
)
def test_the_run_ends_with_1_when_a_limit_is_broken(
    text: str, language: str, code: int, run: Run, write: Callable[..., str]
) -> None:
    name = write(text)

    assert run("score", name, "--language", language).code == code
    assert run("score", name, "--language", language, "--json").code == code
    line = json.dumps({"id": "1", "text": text, "language": language})
    assert run("score", "--jsonl", "-", given=line).code == code


def test_an_ease_below_its_limit_is_under_it(run: Run, write: Callable[..., str]) -> None:
    Path("home").mkdir()
    run("init", "home/c")
    limits = Path("home/c/shared/limits.toml")
    limits.write_text(
        limits.read_text("utf-8").replace("smog = 9.0", "smog = 9.0\nflesch = 90"), "utf-8"
    )

    answer = run("score", write(EAR_TEXT), "--home", "home/c")

    assert answer.code == 1
    assert "! Flesch Reading Ease 87.0 is under the limit of 90" in answer.out
    assert "limit: at least 90" in answer.out


# --- for people -------------------------------------------------------------------------


def test_the_page_has_counts_grades_hard_sentences_and_hard_words(
    run: Run, write: Callable[..., str]
) -> None:
    answer = run("score", write(EAR_TEXT))

    lines = answer.out.splitlines()
    assert lines[:3] == [
        "a.md (en)",
        "  606 words, 56 sentences, the longest of 20 words",
        "  780 syllables, 1.29 a word; 27 words of three or more",
    ]
    (grade,) = (line for line in lines if line.startswith("  Flesch-Kincaid"))
    assert grade.split("  ")[-1].strip() == "US grade 4; limit: at most 6"
    hardest = lines.index("  Hardest sentences")
    assert (
        sum(line.startswith("    line ") for line in lines[hardest : lines.index("  Advice")]) == 5
    )
    words = lines.index("  Hard words")
    assert "soon (plainer: within (and say how many days))" in " ".join(lines[words + 1 :])
    assert answer.err == ""


@pytest.mark.parametrize("text", [EAR_TEXT, HARD * 9, "keep the ear dry " * 99], ids=len)
def test_no_line_is_wider_than_a_screen(text: str, run: Run, write: Callable[..., str]) -> None:
    out = run("score", write(text), "--instruments").out

    assert max(map(len, out.splitlines())) <= 100


def test_one_is_not_counted_as_many(run: Run, write: Callable[..., str]) -> None:
    out = run("score", write("Ear")).out

    assert "  1 word, 1 sentence, the longest of 1 word\n  1 syllable, 1.00 a word; 0 words" in out


def test_chinese_is_told_in_characters_and_held_to_its_own_limit(
    run: Run, write: Callable[..., str]
) -> None:
    most = 32  # shared/limits.toml
    short, long = "请让双耳保持干燥。", "请" * (most + 1) + "。"

    kept = run("score", write(short), "--language", "zh")
    broken = run("score", write(short + long), "--language", "zh")

    assert (kept.code, broken.code) == (0, 1)
    assert "  8 characters, 1 sentence, the longest of 8 characters" in kept.out
    told = f"  ! the longest sentence has {most + 1} characters, over the limit of {most}"
    assert told in broken.out.splitlines()


def test_what_is_said_of_the_same_words_again_is_said_once(
    run: Run, write: Callable[..., str]
) -> None:
    out = run("score", write("Come back soon.\n\n" * 8)).out

    assert out.count("Come back soon.") == 1
    assert "    lines 1, 3, 5, 7, 9 and 3 more, vague time: soon\n" in out


def test_formulas_made_for_another_language_are_not_named(
    run: Run, write: Callable[..., str]
) -> None:
    out = run("score", write(POLISH * 8), "--language", "pl").out

    assert "FOG-PL" in out
    assert "Flesch" not in out
    assert "Hardest sentences" not in out


def test_a_value_without_an_interval_is_shown_all_the_same(
    run: Run, write: Callable[..., str]
) -> None:
    """Three sentences say too little of their own spread where no usual one was measured."""
    text = ("Proszę nie moczyć ucha" + " i nie" * 16 + ". ") * 3
    name = write(text)

    one = run("score", name, "--language", "pl", "--json").json()["formulas"]["fog_pl"]
    (line,) = (
        line
        for line in run("score", name, "--language", "pl").out.splitlines()
        if line.startswith("  FOG-PL")
    )

    assert one["value"] is not None
    assert one["low"] is None
    assert f"{one['value']:.1f}  -" in line


@pytest.mark.parametrize("formula", ["lix", "rix"])
def test_an_index_has_no_interval_below_nothing(
    formula: str, run: Run, write: Callable[..., str]
) -> None:
    name = write("Sit down. Rest. " * 15)
    told = run("score", name, "--json").json()["formulas"][formula]

    assert told["low"] == 0 < told["high"]


def test_nothing_in_a_text_steers_the_terminal(run: Run, write: Callable[..., str]) -> None:
    out = run("score", write("Come \x1b[2Jback \u202esoon\u202c \u2066now\x07.")).out

    assert out.isascii() or not {"\x1b", "\x07", "\u202e", "\u2066"} & set(out)
    assert "\\u001b[2Jback \\u202esoon" in out


# --- the language that was declared -----------------------------------------------------


@pytest.mark.parametrize(
    ("text", "language", "told"),
    [
        (POLISH * 5, "en", "does not read like English"),
        (EAR_TEXT, "pl", "this reads like English"),
        (EAR_TEXT, "cy", "this reads like English"),
        (EAR_TEXT, "ur", "this reads like English"),
        ("Держите ухо сухим. " * 20, "en", "not in Latin letters"),
    ],
)
def test_a_wrong_language_is_noticed(
    text: str, language: str, told: str, run: Run, write: Callable[..., str]
) -> None:
    name = write(text)

    assert told in " ".join(run("score", name, "--language", language).out.split())
    found = run("score", name, "--language", language, "--json").json()["findings"]
    assert any(told in one["text"] for one in found if one["about"] == "language")


def test_a_right_language_is_not_doubted(library: Library) -> None:
    for language, catalogue in library.catalogues.items():
        text = "\n\n".join(found.phrase.msgid for found in catalogue.phrases.values())
        about = [(f.about, f.text) for f in score_text(text, language=language).findings]
        assert not [text for about, text in about if "reads like English" in text]


@pytest.mark.parametrize("language", ["", "english!", "e", "en_", "../en", "en\x00"])
def test_what_is_no_language_is_refused(language: str, run: Run, write: Callable[..., str]) -> None:
    answer = run("score", write("Ear."), "--language", language)

    assert (answer.code, answer.out) == (2, "")
    assert "is not a language tag" in answer.err


# --- bad input --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "there are no words to score"),
        ("   \n\n\t", "there are no words to score"),
        ("Ear", "too short for a single grade"),
        ("👂 💧. 😀 " * 30, "there are no words to score"),
        ("... --- ***", "there are no words to score"),
        ("keep the ear dry " * 40, "hardly any sentence ends"),
        ("Keep ear dry. Держите ухо. 保持耳朵干燥。 حافظ. " * 20, "not in Latin letters"),
        ("<p>One</p>\n", "there are no words to score"),
    ],
)
def test_words_that_allow_no_grade_get_none_and_the_reason(
    text: str, told: str, run: Run, write: Callable[..., str]
) -> None:
    name = write(text)
    answer = run("score", name)
    formulas = run("score", name, "--json").json()["formulas"]

    assert told in " ".join(answer.out.split())
    assert all(formulas[one]["value"] is None for one in ("flesch_kincaid", "smog", "lix"))
    assert answer.err == ""


def test_all_capitals_are_words_like_any_other(run: Run, write: Callable[..., str]) -> None:
    text = "Keep the ear dry for two weeks. Call us if it hurts. " * 12
    small = run("score", write(text), "--json").json()
    capital = run("score", write(text.upper()), "--json").json()

    for name in ("flesch_kincaid", "smog", "lix"):
        assert capital["formulas"][name]["value"] == small["formulas"][name]["value"]
    assert "turn it round: “IF IT HURTS, CALL US.”" in run("score", write(text.upper())).out


@pytest.mark.parametrize(
    "text",  # up to a megabyte
    ["word " * 200_000, "a" * 1_000_000, "The nurse saw my ear. " * 20_000, "soon " * 60_000],
    ids=["no full stop", "one word", "sentences", "advice"],
)
def test_a_very_long_line_is_answered(text: str, run: Run, write: Callable[..., str]) -> None:
    answer = run("score", write(text))

    assert answer.code in (0, 1)
    assert answer.err == ""
    assert len(answer.out) < 20_000


@pytest.mark.parametrize(
    ("raw", "told"),
    [
        (b"\x89PNG\r\n\x1a\n\x00\x00", "not text: byte 0 is not UTF-8"),
        (b"Ear\x00", "not text: a NUL character (U+0000) at position 3"),
        ("Müde".encode("latin-1"), "not text: byte 1 is not UTF-8"),
        (b"\xed\xa0\x80", "not text: byte 0 is not UTF-8"),  # half a character
        (b"a" * (TEXT_BYTES + 1), "over 16,000,000 bytes; score it in parts"),
    ],
    ids=["png", "nul", "latin-1", "surrogate", "too large"],
)
def test_what_is_no_text_is_refused_by_its_name(
    raw: bytes, told: str, run: Run, write: Callable[..., str]
) -> None:
    answer = run("score", write(raw))
    piped = run("score", "-", given=raw)

    assert (answer.code, answer.out) == (2, "")
    assert answer.err.startswith("aftercare: a.md: ")
    assert told in answer.err
    assert (piped.code, piped.out) == (2, "")
    assert piped.err.startswith("aftercare: standard input: ")


def test_folders_and_missing_files_are_refused(run: Run, tmp_path: Path) -> None:
    (tmp_path / "folder.md").mkdir()

    assert run("score", "folder.md").err == (
        "aftercare: folder.md: Is a directory; check the name\n"
    )
    assert run("score", "none.md").err == (
        "aftercare: none.md: No such file or directory; check the name\n"
    )
    assert run("score", "none.md").code == 2


def test_an_e_mail_without_text_is_refused(run: Run, write: Callable[..., str]) -> None:
    message = EmailMessage()
    message.add_attachment(b"%PDF", maintype="application", subtype="pdf", filename="a.pdf")

    answer = run("score", write(message.as_bytes(), "a.eml"))

    assert (answer.code, answer.out) == (2, "")
    assert "a.eml: an e-mail without text" in answer.err


def test_among_many_files_one_that_is_bad_stops_none(run: Run, write: Callable[..., str]) -> None:
    names = write("Rest."), write(b"\xff", "bad.md"), write("Sit.", "b.md")

    answer = run("score", *names, "--json")

    assert answer.code == 1
    assert [told["file"] for told in answer.lines()] == ["a.md", "b.md"]
    assert answer.err.startswith("aftercare: bad.md: ")
    assert run("score", names[1], "none.md").code == 2


def test_standard_input_is_read_once_and_is_the_default(run: Run) -> None:
    told = run("score", given="Rest now.")

    assert told.out.startswith("standard input (en)\n  2 words, 1 sentence")
    assert run("score", "-", "--json", given="Rest now.").json()["file"] == "-"
    twice = run("score", "-", "-", given="Rest.")
    assert (twice.code, twice.out) == (2, "")
    assert "standard input can be read once" in twice.err


@given(text=st.text(max_size=80))
@settings(
    max_examples=8,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
def test_any_text_is_answered_or_refused(run: Run, text: str) -> None:
    raw = text.encode("utf-8", "surrogatepass")
    for how in (("--json",), ("--language", "tr", "--instruments"), ()):
        answer = run("score", "-", *how, given=raw)
        assert answer.code in (0, 1, 2)
        assert bool(answer.out) != (answer.code == 2)


def test_a_clinic_that_cannot_be_read_is_told(run: Run, write: Callable[..., str]) -> None:
    answer = run("score", write("Rest."), "--home", "nowhere")

    assert (answer.code, answer.out) == (2, "")
    assert "nowhere" in answer.err


# --- a line of JSON each ----------------------------------------------------------------


def test_every_line_is_answered_with_its_id_in_the_contract_s_shape(run: Run) -> None:
    asked = [
        {"id": "a", "text": EAR_TEXT},
        {"id": "b", "text": POLISH * 8, "language": "pl"},
        {"id": "c", "text": ""},
    ]

    answer = run("score", "--jsonl", "-", given="\n".join(map(json.dumps, asked)))

    told = answer.lines()
    assert [(one["id"], one["language"]) for one in told] == [
        ("a", "en"),
        ("b", "pl"),
        ("c", "en"),
    ]
    for one, question in zip(told, asked, strict=True):
        jsonschema.validate(one, SCHEMA)
        assert one["words"] == score_text(question["text"], language=one["language"]).counts.words
    assert (answer.code, answer.err) == (0, "")


def test_the_language_of_the_run_holds_where_a_line_names_none(run: Run) -> None:
    given = json.dumps({"id": "1", "text": POLISH})

    (told,) = run("score", "--jsonl", "--language", "pl", given=given).lines()

    assert told["language"] == "pl"


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("{", "not JSON"),
        ('{"id": "1", "text": 5}', "lacks a 'text'"),
        ('{"id": true, "text": "a"}', "lacks an 'id'"),
        ('{"id": "1", "text": "a", "language": 5}', "language: not a text"),
        ('{"id": "1", "text": "a", "language": null}', "language: not a text"),
        ('{"id": "1", "text": "a", "language": "!"}', "is not a language tag"),
        ('{"id": "1", "text": "a\\ud800b"}', "half a character (U+D800)"),
        ('{"id": "1", "text": "a\\u0000b"}', "a NUL character"),
    ],
)
def test_a_bad_line_is_told_by_its_number_and_the_others_are_done(
    line: str, told: str, run: Run
) -> None:
    good = '{"id": "g", "text": "Rest."}'

    answer = run("score", "--jsonl", "-", given=f"{good}\n{line}\n{good}")

    assert answer.code == 1
    assert [one["id"] for one in answer.lines()] == ["g", "g"]
    assert answer.err.startswith("aftercare: line 2: ")
    assert told in answer.err
    assert run("score", "--jsonl", "-", given=line).code == 2


@pytest.mark.parametrize(
    "words",
    [
        ("--jsonl", "a.md", "b.md"),
        ("--jsonl", "--compare", "a.md"),
        ("--jsonl", "--instruments", "a.md"),
    ],
)
def test_what_cannot_go_together_is_refused(words: tuple[str, ...], run: Run) -> None:
    answer = run("score", *words)

    assert (answer.code, answer.out) == (2, "")
    assert "--jsonl takes one file" in answer.err


# --- blocks and messages ----------------------------------------------------------------


def test_a_block_is_scored_as_content_check_counts_it(run: Run, library: Library) -> None:
    block = next(one for one in library.blocks if one.id == "recall-agreed")
    path = ROOT / block.place

    told = run("score", path, "--json").json()

    (known,) = {
        (cost.counts.words, cost.counts.sentences, cost.counts.syllables)
        for cost in costs(library, "en")
        if (cost.wording.block, cost.wording.form) == (block.id, "page")
    }
    assert (told["words"], told["sentences"], told["syllables"]) == known


def test_the_lines_named_are_those_of_the_block_s_file(run: Run) -> None:
    path = ROOT / "content" / "recall" / "agreed.md"
    source = path.read_text("utf-8").split("\n")

    out = run("score", path).out

    told = [line.strip() for line in out.splitlines() if line.startswith("    line ")]
    assert told
    for line in told:
        number, _, words = line.removeprefix("line ").partition(": ")
        if words[:4].istitle():
            assert words.split()[0] in source[int(number) - 1]


def test_an_e_mail_counts_its_page_its_furniture_and_what_fills_the_slots(
    run: Run,
    a_case: Callable[..., Case],
    approved: Library,
    press: Any,
    today: Any,
    tmp_path: Path,
) -> None:
    """The summary leaves out greeting, sender and farewell, and whatever is a name or a number.

    A reader of the file cannot know a name from a word, nor a number of three figures from a
    figure, so the file counts them; a number of seven figures or more, an address and a heading
    are left out by both.
    """
    done = discharge(
        a_case(),
        approved,
        press=press,
        today=today,
        purpose=Purpose.PATIENT,
        channels=[Channel.EMAIL],
    )
    (message,) = done.messages
    assert message.body is not None
    (tmp_path / "message.eml").write_bytes(message.body)
    told = run("score", "message.eml", "--json").json()

    frame = done.worded.frame
    clinic = Line((Span(approved.clinic.name),), "frame", approved=True)
    read = [clinic, frame["salutation"], frame["signoff"], *message.lines]
    as_words = [Line((Span(line.text),), line.block_id, approved=True) for line in read]
    counts = count_lines(as_words, "en")

    assert (told["words"], told["sentences"], told["syllables"]) == (
        counts.words,
        counts.sentences,
        counts.syllables,
    )
    # What the summary counts, and then every name and short number, word by word.
    furniture = [Line((Span(one.text),), "frame", approved=True) for one in read[:3]]
    filled = [
        Line((span,), line.block_id, approved=True)
        for line in message.lines
        for span in (Span(one.text) for one in line.spans if one.role in (Role.NAME, Role.PHONE))
    ]
    extra = count_lines([*furniture, *filled], "en").words
    assert told["words"] == message.score.counts.words + extra
    assert 0 < extra < 0.2 * told["words"]


def test_the_samples_of_the_demo_can_be_scored(run: Run) -> None:
    run("demo", "--out", "out")
    for name in ("demo-01-cavity-dizzy", "demo-08-polish"):
        files = list(Path("out").glob(f"{name[:7]}*/message.eml"))
        for file in files:
            language = "pl" if "pol" in str(file) else "en"
            told = run("score", file, "--language", language, "--json").json()
            jsonschema.validate(told, SCHEMA)
            assert told["words"] > 100


# --- as a program -----------------------------------------------------------------------


def test_as_a_program_it_answers_without_a_traceback(
    environment: dict[str, str], tmp_path: Path
) -> None:
    (tmp_path / "a.md").write_text("Müde Ohren 耳 “so”.", "utf-8")
    for encoding in ("utf-8", "ascii"):
        done = subprocess.run(
            [sys.executable, "-m", "aftercare", "score", "a.md", "none.md"],
            env={**environment, "PYTHONIOENCODING": encoding},
            cwd=tmp_path,
            capture_output=True,
            check=False,
        )
        assert done.returncode == 1
        assert b"Traceback" not in done.stderr
        assert done.stderr.startswith(b"aftercare: none.md: ")
        assert done.stdout.startswith(b"a.md (en)\n")


def test_a_name_that_is_no_text_is_no_fault(environment: dict[str, str], tmp_path: Path) -> None:
    odd = os.path.join(os.fsencode(tmp_path), b"a\xff.md")  # noqa: PTH118 - bytes
    with open(odd, "wb") as file:  # noqa: PTH123 - a name in bytes
        file.write(b"Rest.")

    done = subprocess.run(
        [sys.executable, "-m", "aftercare", "score", odd, "--json"],
        env=environment,
        capture_output=True,
        check=False,
    )

    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["words"] == 1

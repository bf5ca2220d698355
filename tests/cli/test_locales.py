"""``aftercare locales``: status, extract, update, check, export, import, approve."""

from __future__ import annotations

import csv
import re
import sys
import tomllib
from collections.abc import Callable
from html.parser import HTMLParser
from io import StringIO
from pathlib import Path
from threading import Thread
from typing import Any

import pytest
from small_shelf import (
    BLOCK,
    BLOCKS,
    DRY,
    POLISH,
    SHORT,
    SWIM,
    URGENT,
    catalogue,
    texts_of,
    write_block,
    write_shelf,
    write_texts,
)

from aftercare.errors import AftercareError
from aftercare.library.po import read_po
from aftercare.library.tabled import plain

Run = Callable[..., Any]
WRONG_DRY = "Ucho ma być suche przez 3 tygodnie."
WHO = ("--by", "Anna Próbna", "--role", "translator")


@pytest.fixture
def home(tmp_path: Path, run: Run) -> Path:
    """A shelf with a Polish catalogue that is good where it is filled."""
    made = write_shelf(tmp_path / "home")
    assert run("locales", "update", "pl", "--home", made).code == 0
    write_texts(catalogue(made), POLISH)
    return made


def reworded(home: Path) -> None:
    """The shelf after an editor has changed a sentence."""
    write_block(home, "water/dry", BLOCKS["water/dry"].replace("2 weeks", "3 weeks"))


def status(run: Run, home: Path) -> dict[str, Any]:
    told = run("locales", "status", "--json", "--home", home).json()
    (row,) = told["languages"]
    return {**row, "everybody": told["patients"]}


# --- extract and update -------------------------------------------------------------------


def test_the_template_is_written_once_and_then_stays(home: Path, run: Run) -> None:
    template = home / "locales/aftercare.pot"
    before = template.read_bytes()

    again = run("locales", "extract", "--json", "--home", home)

    assert again.json() == {
        "file": "locales/aftercare.pot", "sentences": 30, "changed": False,
    }  # fmt: skip
    assert template.read_bytes() == before
    template.unlink()
    assert run("locales", "extract", "--json", "--home", home).json()["changed"]


def test_an_update_tells_what_is_stale_and_it_reaches_nobody(home: Path, run: Run) -> None:
    reworded(home)

    told = run("locales", "update", "--json", "--home", home).json()["pl"]

    later = DRY.replace("2", "3")
    assert told["stale"] == [{"block": "water-dry", "source": later}]
    assert told["gone"] == [{"block": "water-dry", "source": DRY}]
    assert later not in texts_of(catalogue(home))
    row = status(run, home)
    assert (row["stale"], row["blocked_safety"][0].split("#")[0]) == (1, "water-dry")


def test_words_that_come_back_bring_translation_and_approval_back(home: Path, run: Run) -> None:
    run("locales", "approve", "pl", *WHO, "--home", home)
    reworded(home)
    run("locales", "update", "--home", home)
    assert status(run, home)["approved"] == 3

    write_block(home, "water/dry", BLOCKS["water/dry"])
    run("locales", "update", "--home", home)

    assert status(run, home)["approved"] == 4


@pytest.mark.parametrize("named", ["cy", "zh-Hans", "pt_BR"])
def test_an_update_begins_a_catalogue_for_a_new_language(home: Path, run: Run, named: str) -> None:
    answer = run("locales", "update", named, "--home", home)

    language = named.replace("-", "_")
    made = catalogue(home, language)
    assert answer.code == 0
    assert read_po("x", made.read_bytes()).field("Language") == language
    assert f"{language}: 0 kept" in answer.err
    assert run("locales", "check", language, "--home", home).code == 0


@pytest.mark.parametrize("named", ["xx", "../pl", "PL", "", "pl/x"])
def test_what_is_no_language_is_refused(home: Path, run: Run, named: str) -> None:
    before = sorted(home.rglob("*"))

    assert run("locales", "update", named, "--home", home).code == 2
    assert run("locales", "check", named, "--home", home).code == 2
    assert sorted(home.rglob("*")) == before


@pytest.mark.parametrize(
    "spoilt", ["no header", BLOCKS["water/dry"].replace("condition:wax", "condition:unheard-of")]
)
def test_nothing_is_updated_while_the_shelf_cannot_be_read_whole(
    spoilt: str, home: Path, run: Run
) -> None:
    before = catalogue(home).read_bytes()
    write_block(home, "water/dry", spoilt)

    answer = run("locales", "update", "--home", home)

    assert (answer.code, "content/water/dry.md:" in answer.err) == (2, True)
    assert catalogue(home).read_bytes() == before
    assert run("locales", "extract", "--home", home).code == 2


def test_one_catalogue_that_cannot_be_read_keeps_all_as_they_were(home: Path, run: Run) -> None:
    run("locales", "update", "ur", "--home", home)
    broken = catalogue(home, "ur")
    broken.write_bytes(broken.read_bytes() + b"nonsense\n")
    before = catalogue(home).read_bytes()
    reworded(home)

    answer = run("locales", "update", "--home", home)

    assert answer.code == 2
    assert re.search(r"locales/ur/LC_MESSAGES/aftercare\.po:\d+: not a line", answer.err)
    assert catalogue(home).read_bytes() == before


def test_a_file_somebody_changes_meanwhile_is_not_overwritten(
    home: Path, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    from aftercare.cli import catalogues, updating

    reworded(home)
    theirs = catalogue(home).read_bytes() + b"\n# saved meanwhile\n"
    real = catalogues.asked

    def asked_while_somebody_saves(bench: Any) -> Any:
        catalogue(home).write_bytes(theirs)
        return real(bench)

    monkeypatch.setattr(updating, "asked", asked_while_somebody_saves)
    answer = run("locales", "update", "--home", home)

    assert (answer.code, "changed it meanwhile" in answer.err) == (2, True)
    assert catalogue(home).read_bytes() == theirs


@pytest.mark.skipif(sys.platform == "win32", reason="folders are not locked there")
def test_of_two_who_approve_at_once_neither_is_lost_unseen(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The second decides while the first has looked and not yet written."""
    from aftercare.cli import catalogues, exchange

    told: list[object] = []
    real = catalogues.rewrite

    def second() -> None:
        try:
            told.append(
                exchange.approve(str(home), "pl", "Bea Example", "translator", ["water-dry"])
            )
        except AftercareError as refused:
            told.append(refused.problem)

    other = Thread(target=second)

    def rewrite_late(contents: Any) -> None:
        monkeypatch.setattr(catalogues, "rewrite", real)
        other.start()
        other.join(timeout=1)
        real(contents)

    monkeypatch.setattr(catalogues, "rewrite", rewrite_late)
    exchange.approve(str(home), "pl", "Anna Example", "translator", ["urgent-now"])
    other.join(timeout=30)
    written = (home / "locales/pl/approvals.toml").read_text("utf-8")

    assert "Anna Example" in written
    assert told == ["somebody has changed it meanwhile"]
    assert "Bea Example" not in written


def test_the_shelf_inside_the_package_is_not_written_to(
    home: Path, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    from aftercare.cli import catalogues

    monkeypatch.setattr(catalogues, "is_shipped", lambda folder: True)
    reworded(home)
    before = catalogue(home).read_bytes()

    told = [run("locales", "update", "--home", home), run("locales", "extract", "--home", home)]
    told.append(run("locales", "approve", "pl", *WHO, "--home", home))

    assert [(one.code, "aftercare init" in one.err) for one in told] == [(2, True)] * 3
    assert catalogue(home).read_bytes() == before


# --- check --------------------------------------------------------------------------------


def test_a_good_catalogue_passes_and_says_what_is_left(home: Path, run: Run) -> None:
    answer = run("locales", "check", "--home", home)

    assert answer.code == 0
    assert "26 sentence(s) without a translation yet" in answer.out
    assert "pl: 1 found, 0 of them stop a translation" in answer.out


def test_a_fault_is_told_with_file_line_and_sentence(home: Path, run: Run) -> None:
    write_texts(catalogue(home), {DRY: WRONG_DRY})

    answer = run("locales", "check", "pl", "--json", "--home", home)

    found = next(one for one in answer.json()["findings"] if one["severity"] == "block")
    lines = catalogue(home).read_text("utf-8").split("\n")
    assert answer.code == 1
    assert found["safety"]
    assert found["file"] == "locales/pl/LC_MESSAGES/aftercare.po"
    assert DRY in lines[found["line"] - 1]
    assert found["id"].startswith("water-dry#")


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (lambda raw: raw[: len(raw) // 2], "in the middle of a line"),
        (lambda raw: raw.replace(b"Language: pl", b"Language: ur"), "the language is 'ur'"),
        (lambda raw: raw.replace(b"UTF-8", b"CP1250"), "the charset is 'cp1250'"),
        (lambda raw: raw.replace(b"suche", b"\xff"), "not UTF-8"),
        (lambda raw: raw.replace(b"nplurals=3", b"nplurals=2"), "a form there is none of"),
        (lambda raw: raw + raw[raw.index(b"\nmsgctxt") :], "the same source twice"),
        (lambda raw: raw + b'\nmsgctxt "x"\nmsgid ""\nmsgstr "Hej"\n', "an empty source"),
        (lambda raw: raw.replace(b"suche", b"<i>suche</i>"), "is not in the source"),
        (lambda raw: raw.replace(b'msgctxt "urgent-now"', b'#, fuzzy\nmsgctxt "urgent-now"'),
         "read to nobody"),
    ],
)  # fmt: skip
def test_a_spoilt_file_is_a_finding_with_file_and_line(
    spoil: Callable[[bytes], bytes], said: str, home: Path, run: Run
) -> None:
    catalogue(home).write_bytes(spoil(catalogue(home).read_bytes()))

    answer = run("locales", "check", "--json", "--home", home)

    found = [one for one in answer.json()["findings"] if said in one["why"]]
    assert answer.code == 1
    assert found[0]["severity"] == "block"
    assert found[0]["line"] >= 1


@pytest.mark.parametrize(
    ("spoil", "line", "said"),
    [
        (lambda raw: raw + b"[[approval\n", 9, "not TOML"),
        (lambda raw: raw.replace(b'    "', b'    "zz'), 5, "should match pattern"),
        (lambda raw: raw.replace(b"Anna", b"Ann\xe1"), 2, "not UTF-8"),
    ],
)
def test_spoilt_approvals_are_a_finding_of_their_language_alone(
    spoil: Callable[[bytes], bytes], line: int, said: str, home: Path, run: Run
) -> None:
    run("locales", "update", "ur", "--home", home)
    run("locales", "approve", "pl", *WHO, "--only", "water-dry", "--home", home)
    approvals = home / "locales/pl/approvals.toml"
    approvals.write_bytes(spoil(approvals.read_bytes()))
    spoilt = approvals.read_bytes()

    checked = run("locales", "check", "--json", "--home", home)
    told = run("locales", "status", "--json", "--home", home)
    approved = run("locales", "approve", "pl", *WHO, "--home", home)

    found = [one for one in checked.json()["findings"] if one["severity"] == "block"]
    places = [(one["file"], one["line"], said in one["why"]) for one in found]
    assert (checked.code, places) == (1, [("locales/pl/approvals.toml", line, True)])
    pl, ur = told.json()["languages"]
    assert (told.code, pl["approved"], len(pl["file"]), ur["file"]) == (1, 0, 1, [])
    assert pl["withheld"]["patients"] == told.json()["patients"]
    assert (approved.code, approvals.read_bytes()) == (2, spoilt)


def test_status_says_how_many_approvals_are_of_other_words(home: Path, run: Run) -> None:
    run("locales", "approve", "pl", *WHO, "--only", "water-dry", "--home", home)
    before = status(run, home)["approvals_of_other_words"]
    write_texts(catalogue(home), {DRY: "Ucho ma być suche 2 tygodnie."})

    assert (before, status(run, home)["approvals_of_other_words"]) == (0, 1)
    assert "count no more: 1" in run("locales", "status", "--home", home).out


def test_a_catalogue_of_no_known_language_is_a_finding(home: Path, run: Run) -> None:
    made = catalogue(home, "qq")
    made.parent.mkdir(parents=True)
    made.write_bytes(catalogue(home).read_bytes())

    answer = run("locales", "check", "--home", home)

    assert (answer.code, "no such language in CLDR" in answer.out) == (1, True)


def test_pairs_and_languages_are_not_mixed(home: Path, run: Run) -> None:
    assert run("locales", "check", "pl", "--pairs", "-", "--home", home).code == 2


# --- status -------------------------------------------------------------------------------


def test_status_counts_every_sentence_once(home: Path, run: Run) -> None:
    row = status(run, home)
    states = ("missing", "stale", "doubted", "blocked", "draft", "approved")

    assert sum(row[state] for state in states) == row["sentences"] == 30
    assert (row["missing"], row["draft"], row["translated"]) == (26, 4, 4)
    assert row["withheld"]["patients"] == row["everybody"]
    assert row["withheld"]["blocks"] == ["frame", "clinic", "urgent-now", "water-dry", "water-text"]


def test_status_says_what_the_letters_of_a_language_cost_in_text_messages(
    home: Path, run: Run
) -> None:
    """3GPP TS 23.038 and 23.040: a part of several holds 153 septets or 67 of 16 bits."""
    first = status(run, home)["texts"]
    shown = run("locales", "status", "--home", home).out
    write_texts(catalogue(home), {SHORT: "Prosze nie plywac przez 2 tygodnie."})
    plainly = run("locales", "status", "--home", home).out

    assert (first["short"], first["need_ucs2"]) == (1, 1)
    assert sorted(first["letters"]) == sorted("ęćł")
    assert "1 of 1 short texts need UCS-2, 67 characters a part where GSM-7 has 153" in shown
    assert "text messages: GSM-7, 153 characters a part\n" in plainly


def test_what_is_blocked_keeps_a_language_from_those_who_are_told_it(home: Path, run: Run) -> None:
    po = catalogue(home)
    sources = [entry.msgid for entry in read_po("x", po.read_bytes()).entries]
    # Everything is filled: what the checks find in a copy of the source is no matter here.
    write_texts(po, {source: source for source in sources} | POLISH | {DRY: WRONG_DRY})

    row = status(run, home)

    assert "water-dry" in [one.split("#")[0] for one in row["blocked_safety"]]
    assert {one["id"] for one in row["blocking"]} == set(row["blocked_safety"])
    people = run("locales", "status", "--home", home)
    assert (people.code, "with all else approved" in people.out) == (1, True)


def test_several_languages_are_compared_before_each_is_told_of(home: Path, run: Run) -> None:
    alone = run("locales", "status", "--home", home).out
    assert run("locales", "approve", "pl", *WHO, "--only", "water-dry", "--home", home).code == 0
    assert run("locales", "update", "cy", "--home", home).code == 0
    first = run("locales", "status", "--json", "--home", home).json()["languages"]
    counts = {row["language"]: (row["translated"], row["sentences"]) for row in first}

    lines = run("locales", "status", "--home", home).out.split("\n")

    assert alone.startswith("pl: ")
    rows = {line.split()[0]: line.split() for line in lines[1:3]}
    for language, (translated, total) in counts.items():
        assert rows[language][1] == f"{translated}/{total}"
    assert counts["cy"][0] == 0 < counts["pl"][0]
    assert (rows["pl"][2], rows["cy"][2]) == (str(first[1]["approved"]), "0")
    assert rows["cy"][4] == "100%"
    assert lines[3] == ""
    assert "for want of every one of its" in " ".join(" ".join(lines).split())


def test_the_line_on_help_is_approved_by_itself_and_told_apart(home: Path, run: Run) -> None:
    lines = tomllib.loads((home / "content/frame.toml").read_text())["texts"]
    call = lines["help_in_language"]
    write_texts(
        catalogue(home),
        {call: "Możemy pomóc w Państwa języku. Proszę dzwonić: {clinic_phone}, prosić tłumacza."},
    )
    before = status(run, home)["help_lines"]

    answer = run("locales", "approve", "pl", *WHO, "--only", "help_in_language", "--home", home)
    row = status(run, home)

    assert (answer.code, "1 translations approved: frame" in answer.err) == (0, True)
    texted = {"help_in_language_text": "missing", "help_in_language_email": "missing"}
    assert before == {"help_in_language": "draft", **texted}
    assert row["help_lines"] == {"help_in_language": "approved", **texted}
    assert row["approved"] == 1
    assert "frame" in row["withheld"]["blocks"]
    people = run("locales", "status", "--home", home).out
    assert "  the line on how to get help instead: approved, missing\n" in people


def test_status_of_a_catalogue_that_cannot_be_read_withholds_from_everybody(
    home: Path, run: Run
) -> None:
    catalogue(home).write_bytes(catalogue(home).read_bytes() + b"nonsense\n")

    row = status(run, home)

    assert row["withheld"]["patients"] == row["everybody"]
    assert "not a line of a PO file" in row["file"][0]["why"]


def test_a_shelf_without_catalogues_has_nothing_to_say(tmp_path: Path, run: Run) -> None:
    made = write_shelf(tmp_path / "bare")

    assert run("locales", "status", "--json", "--home", made).json()["languages"] == []
    assert run("locales", "check", "--home", made).code == 0


# --- export and import --------------------------------------------------------------------


@pytest.fixture
def sent(home: Path, run: Run) -> Path:
    """The catalogue as a translator gets it."""
    assert run("locales", "export", "pl", "--out", "to-them", "--home", home).code == 0
    return Path("to-them/aftercare-pl.po")


class _Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.met: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.met.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.texts.append(data.strip())


def parsed(path: Path) -> _Tags:
    found = _Tags()
    found.feed(path.read_text("utf-8"))
    return found


def test_a_translator_gets_the_catalogue_a_page_and_a_table(sent: Path) -> None:
    assert sorted(path.name for path in sent.parent.iterdir()) == [
        "aftercare-pl.csv", "aftercare-pl.html", "aftercare-pl.po",
    ]  # fmt: skip
    po = read_po("x", sent.read_bytes())
    told = next(e for e in po.entries if e.msgid == SHORT)
    assert any(line.startswith("told to: ") for line in told.extracted)
    assert any("part(s) of " in line for line in told.extracted)


def test_the_page_shows_every_sentence_and_fetches_nothing(sent: Path) -> None:
    page = parsed(sent.with_suffix(".html"))

    for source, target in POLISH.items():
        assert {source, target} <= set(page.texts)
    fetching = {"src", "href", "srcset", "data", "poster", "action"}
    links = [v for _, attrs in page.met for k, v in attrs.items() if k in fetching]
    assert all(link and link.startswith("#at-") for link in links)
    drawn = {attrs["id"] for tag, attrs in page.met if tag == "symbol"}
    assert {link.removeprefix("#") for link in links if link} <= drawn
    assert {tag for tag, _ in page.met}.isdisjoint({"script", "link", "img", "iframe", "object"})
    assert len({attrs["id"] for tag, attrs in page.met if tag == "tr" and "id" in attrs}) == 30


def test_words_that_look_like_markup_or_formulas_stay_words(home: Path, run: Run) -> None:
    write_texts(catalogue(home), {SWIM: "<script>alert(1)</script>", DRY: "=HYPERLINK(1)"})

    run("locales", "export", "pl", "--out", "o", "--home", home)

    assert "<script>alert" not in Path("o/aftercare-pl.html").read_text("utf-8")
    raw = Path("o/aftercare-pl.csv").read_bytes()
    cells = [cell for row in csv.reader(StringIO(raw.decode("utf-8-sig"))) for cell in row]
    assert raw.startswith(b"\xef\xbb\xbf")
    assert "'=HYPERLINK(1)" in cells
    assert not [cell for cell in cells if cell.startswith(("=", "+", "-", "@"))]


@pytest.mark.parametrize("cell", ["=1", "+1", "-1", "@a", " =1", "\t=1", "＝1"])
def test_a_cell_is_never_a_formula(cell: str) -> None:
    assert plain(cell) == f"'{cell}"
    assert plain("a = 1 - 2") == "a = 1 - 2"


def test_an_export_does_not_touch_a_folder_of_somebody_else(home: Path, run: Run) -> None:
    Path("theirs").mkdir()
    Path("theirs/notes.txt").write_text("x", "utf-8")

    assert run("locales", "export", "pl", "--out", "theirs", "--home", home).code == 2
    assert [path.name for path in Path("theirs").iterdir()] == ["notes.txt"]


def test_what_comes_back_changed_is_taken_and_the_rest_stays(
    home: Path, run: Run, sent: Path
) -> None:
    write_texts(sent, {SWIM: "Nie pływać."})
    before = texts_of(catalogue(home))

    answer = run("locales", "import", "pl", sent, "--json", "--home", home)

    assert (answer.code, answer.json()["counts"]["taken"]) == (0, 1)
    assert texts_of(catalogue(home)) == before | {SWIM: "Nie pływać."}
    # What was said to the translator alone is not in our catalogue.
    assert "as sent" not in catalogue(home).read_text("utf-8")


@pytest.mark.parametrize(
    "saved",
    [
        lambda rows: written(rows, ",").encode("utf-8-sig"),
        lambda rows: written(rows, ";").encode(),
        lambda rows: written(rows, "\t").encode("utf-8-sig"),
        lambda rows: written([rows[0], *sorted(rows[1:])], ";").encode(),
        lambda rows: written([[*row[2:], *row[:2]] for row in rows], ",").encode(),
    ],
)
def test_the_table_comes_back_as_table_programs_save_it(
    saved: Callable[[list[list[str]]], bytes], home: Path, run: Run, sent: Path
) -> None:
    rows = list(csv.reader(StringIO(sent.with_suffix(".csv").read_text("utf-8-sig"))))
    at = rows[0].index("translation")
    for row in rows:
        row[at] = "Nie pływać." if row[at] == POLISH[SWIM] else row[at]
    Path("back.csv").write_bytes(saved(rows))
    before = texts_of(catalogue(home))

    answer = run("locales", "import", "pl", "back.csv", "--json", "--home", home)

    counts = {k: v for k, v in answer.json()["counts"].items() if v}
    assert (answer.code, counts) == (0, {"taken": 1, "same": 3, "empty": 26})
    assert texts_of(catalogue(home)) == before | {SWIM: "Nie pływać."}


def written(rows: list[list[str]], separator: str) -> str:
    out = StringIO()
    csv.writer(out, delimiter=separator).writerows(rows)
    return out.getvalue()


@pytest.mark.parametrize(
    ("name", "spoil", "said"),
    [
        ("x.csv", lambda raw: raw.decode("utf-8-sig").encode("cp1250", "replace"), "not UTF-8"),
        ("x.csv", lambda raw: raw.decode("utf-8-sig").encode("ascii", "replace"), "question marks"),
        ("x.csv", lambda raw: raw.decode("cp1250", "replace").encode(), "no column 'id'"),
        ("x.csv", lambda raw: raw.replace(b"as sent", b"sent"), "no column 'as sent'"),
        ("x.csv", lambda raw: raw[: len(raw) // 2], ""),
        ("x.html", lambda raw: raw, "a page, which is not read"),
        ("x.xlsx", lambda raw: raw, "a workbook, which is not read"),
        ("x.po", lambda raw: raw, "not a catalogue"),
    ],
)
def test_a_table_spoilt_by_a_program_is_refused_whole(
    name: str, spoil: Callable[[bytes], bytes], said: str, home: Path, run: Run, sent: Path
) -> None:
    Path(name).write_bytes(spoil(sent.with_suffix(".csv").read_bytes()))
    before = catalogue(home).read_bytes()

    answer = run("locales", "import", "pl", name, "--home", home)

    assert (answer.code, said in answer.err) == (2, True)
    assert catalogue(home).read_bytes() == before


def test_newer_work_of_ours_is_a_conflict_and_stays(home: Path, run: Run, sent: Path) -> None:
    write_texts(catalogue(home), {SWIM: "Proszę jeszcze nie pływać."})
    write_texts(sent, {SWIM: "Nie pływać."})

    answer = run("locales", "import", "pl", sent, "--json", "--home", home)

    (conflict,) = answer.json()["conflicts"]
    assert (answer.code, conflict["source"]) == (1, SWIM)
    assert SWIM in sent.read_text("utf-8").split("\n")[conflict["line"] - 1]
    assert texts_of(catalogue(home))[SWIM] == "Proszę jeszcze nie pływać."
    assert (
        "changed on both sides; ours is kept"
        in run("locales", "import", "pl", sent, "--home", home).out
    )


def test_approvals_that_still_fit_stay_and_the_others_are_told(
    home: Path, run: Run, sent: Path
) -> None:
    run("locales", "approve", "pl", *WHO, "--home", home)
    approvals = (home / "locales/pl/approvals.toml").read_bytes()
    write_texts(sent, {SWIM: "Nie pływać."})

    told = run("locales", "import", "pl", sent, "--json", "--home", home).json()

    assert (told["approved"], told["approvals_undone"]) == (
        3, [{"block": "water-dry", "source": SWIM}],
    )  # fmt: skip
    assert (home / "locales/pl/approvals.toml").read_bytes() == approvals


def test_a_dangerous_translation_comes_in_unapproved_and_is_told(
    home: Path, run: Run, sent: Path
) -> None:
    write_texts(sent, {DRY: WRONG_DRY})

    answer = run("locales", "import", "pl", sent, "--json", "--home", home)

    assert answer.code == 1
    assert {one["id"].split("#")[0] for one in answer.json()["blocking"]} == {"water-dry"}
    assert status(run, home)["blocked"] == 1
    assert status(run, home)["approved"] == 0


def test_a_translation_no_shelf_could_be_opened_with_comes_in_as_fuzzy(
    home: Path, run: Run, sent: Path
) -> None:
    from aftercare import library
    from aftercare.edges.folder import read_home

    write_texts(sent, {URGENT: "Proszę dzwonić {telefon}."})

    answer = run("locales", "import", "pl", sent, "--json", "--home", home)

    (doubtful,) = answer.json()["doubtful"]
    assert (answer.code, "no slot is called" in doubtful["why"]) == (1, True)
    assert URGENT not in texts_of(catalogue(home))
    library.read(read_home(home))


@pytest.mark.parametrize(
    ("raw", "said"),
    [
        (b"", "not a catalogue"),
        (b"\x89PNG\r\n\x1a\n", "not UTF-8"),
        (b'msgid ""\nmsgstr "Language: ur\\n"\n', "a catalogue of 'ur', not pl"),
        (b'msgid ""\nmsgstr "Language: pl\\n"\n\nmsgid "x"\nmsgstr "ha', "cannot be read whole"),
        (b"a" * 4_194_305, "over 4,194,304 bytes"),
    ],
)
def test_what_is_no_catalogue_of_the_language_is_refused(
    raw: bytes, said: str, home: Path, run: Run
) -> None:
    Path("theirs.po").write_bytes(raw)
    before = catalogue(home).read_bytes()

    answer = run("locales", "import", "pl", "theirs.po", "--home", home)

    assert (answer.code, said in answer.err) == (2, True)
    assert catalogue(home).read_bytes() == before
    assert run("locales", "import", "pl", "nothing.po", "--home", home).code == 2


# --- approve ------------------------------------------------------------------------------


def test_an_approval_covers_what_is_translated_and_says_so(home: Path, run: Run) -> None:
    answer = run("locales", "approve", "pl", *WHO, "--home", home)

    assert answer.code == 1  # the rest has no translation
    assert "4 translations approved: urgent-now, water-dry, water-text" in answer.err
    assert "26 not approved" in answer.err
    assert status(run, home)["approved"] == 4
    again = run("locales", "approve", "pl", *WHO, "--home", home)
    assert "4 had been approved before" in again.err


def test_a_block_or_a_sentence_can_be_approved_alone(home: Path, run: Run) -> None:
    write_texts(catalogue(home), {SWIM: WRONG_DRY})
    found = run("locales", "check", "--json", "--home", home).json()["findings"]
    swim = next(one["id"] for one in found if one["severity"] == "block")
    write_texts(catalogue(home), POLISH)

    one = run("locales", "approve", "pl", *WHO, "--only", swim, "--home", home)
    block = run("locales", "approve", "pl", *WHO, "--only", "water-dry", "--home", home)

    assert (one.code, "1 translations approved" in one.err) == (0, True)
    assert (block.code, "1 had been approved before" in block.err) == (0, True)
    assert status(run, home)["approved"] == 2


def test_a_sentence_with_something_found_in_it_is_refused_by_name(home: Path, run: Run) -> None:
    write_texts(catalogue(home), {DRY: WRONG_DRY})

    answer = run("locales", "approve", "pl", *WHO, "--only", "water-dry", "--home", home)

    assert answer.code == 1
    assert re.search(r"water-dry#[0-9a-f]{8}  block: ", answer.out)
    assert "1 refused" in answer.err
    row = status(run, home)
    assert (row["approved"], row["approved_total"], row["blocked"]) == (1, 1, 1)


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--by", "x", "--role", "nurse"], "a name and a role"),
        ([*WHO, "--only", "water-wet"], "no block or sentence has this id"),
    ],
)
def test_a_wrong_approval_changes_nothing(
    options: list[str], said: str, home: Path, run: Run
) -> None:
    answer = run("locales", "approve", "pl", *options, "--home", home)

    assert (answer.code, said in answer.err) == (2, True)
    assert not (home / "locales/pl/approvals.toml").exists()


def test_nothing_is_approved_in_a_file_that_cannot_be_trusted(home: Path, run: Run) -> None:
    raw = catalogue(home).read_bytes()
    catalogue(home).write_bytes(raw.replace(b"Language: pl", b"Language: ur"))

    answer = run("locales", "approve", "pl", *WHO, "--home", home)

    assert (answer.code, "the language is 'ur'" in answer.err) == (2, True)
    assert not (home / "locales/pl/approvals.toml").exists()


def test_nothing_is_approved_while_the_shelf_cannot_be_read(home: Path, run: Run) -> None:
    write_block(
        home, "water/dry", BLOCK.format(name="x", kind="wrong", given="", short="", body="x")
    )

    assert run("locales", "approve", "pl", *WHO, "--home", home).code == 2
    assert not (home / "locales/pl/approvals.toml").exists()

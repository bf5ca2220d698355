"""``aftercare recall report``: numbers that add up, a page and a chart anybody can read."""

from __future__ import annotations

import json
import re
import stat
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from lxml import etree
from made_up_register import deed, opened, row, take_in

from aftercare.edges.register.forgetting import forget
from aftercare.recall.people import What

Run = Callable[..., Any]
DAY = ("--on", "2026-12-01")


@pytest.fixture
def busy(clinic: Path) -> Path:
    """The clinic with somebody booked, somebody with two recalls, and somebody with none."""
    with opened(clinic) as register:
        (third,) = register.recalls("P0000003")
        booked = replace(third, booked=datetime(2026, 12, 10, 9, tzinfo=UTC))
        register.change(deed(What.BOOKED), (third, booked))
        bare = {"anchor": None, "months": None, "due": None, "state": None}
        take_in(
            register,
            row(1, condition="condition:wax", anchor="2026-06-02", seen=None, due="2027-01-04"),
            row(8, **bare, conditions="condition:wax"),
            row(9),
        )
        forget(register, "P0000009", deed(What.FORGOTTEN))
    return clinic


def test_every_patient_is_counted_once_and_forgotten_ones_are_none(busy: Path, run: Run) -> None:
    answer = run("recall", "report", *DAY, "--json", "--home", busy)

    assert (answer.code, answer.err) == (0, "")
    found = answer.json()
    with opened(busy) as register:
        people = [one for one in register.people() if not one.ref.startswith("forgotten")]
        kept = [one for one, who in register.all_recalls() if not who.ref.startswith("forgotten")]
    assert found["patients"]["total"] == len(people) == 8
    assert sum(found["patients"]["places"].values()) == 8
    assert found["recalls"]["total"] == len(kept) == 8
    assert sum(found["recalls"]["places"].values()) == 8
    for name in ("total", "open", "due", "came", "reached", "lost"):
        assert found["recalls"][name] == sum(one[name] for one in found["conditions"].values())
    assert {name: count for name, count in found["patients"]["places"].items() if count} == {
        "due, or up to 4 weeks overdue": 2,
        "26 to 52 weeks overdue": 1,
        "waiting on a person": 2,
        "a visit is booked": 1,
        "came": 1,
        "no recall": 1,
    }
    assert found["conditions"]["open-cavity"]["lost"] == 1
    assert (found["recalls"]["reached"], found["recalls"]["came"]) == (1, 1)


def test_its_files_hold_the_same_and_no_name(busy: Path, run: Run, tmp_path: Path) -> None:
    answer = run("recall", "report", *DAY, "--json", "--home", busy)

    out = tmp_path / "out" / "report"
    assert json.loads((out / "report.json").read_text()) == answer.json()
    for file in out.iterdir():
        assert stat.S_IMODE(file.stat().st_mode) == 0o600
        assert not re.search(r"Nell|Invented|P000000|77009|@example", file.read_text())


def test_the_chart_is_well_formed_and_says_in_words_what_it_shows(
    busy: Path, run: Run, tmp_path: Path
) -> None:
    run("recall", "report", *DAY, "--home", busy)

    svg = etree.parse(tmp_path / "out" / "report" / "open.svg")
    name = "{http://www.w3.org/2000/svg}"
    assert svg.findtext(f"{name}title") == "Open recalls on 2026-12-01"
    told = svg.findtext(f"{name}desc")
    assert told is not None
    assert "open-cavity: 1 26 to 52 weeks overdue" in told
    words = [one.text for one in svg.iter(f"{name}text")]
    assert "open-cavity: 3 open" in words
    assert "1, 1 past limit" in words
    # No bar leaves the picture.
    width = float(svg.getroot().get("width"))
    for bar in svg.iter(f"{name}rect"):
        assert float(bar.get("x", 0)) + float(bar.get("width")) <= width


def test_the_page_loads_nothing_and_its_tables_add_up(busy: Path, run: Run, tmp_path: Path) -> None:
    run("recall", "report", *DAY, "--home", busy)

    page = etree.HTML((tmp_path / "out" / "report" / "report.html").read_text())
    assert not page.xpath("//@src | //link | //script")
    for table in page.xpath("//table"):
        rows = [
            [int(cell.text.replace(",", "")) for cell in line.xpath("td")]
            for line in table.xpath(".//tbody/tr")
        ]
        number = next(n for n, line in enumerate(table.xpath(".//tbody/tr")) if line.get("class"))
        assert [sum(column) for column in zip(*rows[:number], strict=True)] == rows[number]


def test_the_screen_fits_80_columns(busy: Path, run: Run) -> None:
    answer = run("recall", "report", *DAY, "--home", busy)

    assert max(map(len, answer.out.splitlines()[:-1])) <= 80
    assert "of 7 open recalls 3 are due" in answer.out
    assert re.search(r"^all +8 +1 +3 +2 +1 +1 +0 +1 +1$", answer.out, re.MULTILINE)


def test_an_empty_register_has_a_report_too(clinic: Path, run: Run) -> None:
    from aftercare.edges.register import find_place
    from aftercare.edges.register.register import make_register

    for file in (clinic / "out").iterdir():
        file.unlink()
    make_register(find_place(clinic, {})).close()

    answer = run("recall", "report", "--json", "--home", clinic)

    assert (answer.code, answer.json()["patients"]["total"]) == (0, 0)


def test_what_is_in_the_way_is_left_alone(busy: Path, run: Run, tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "letter.txt").write_text("mine")

    answer = run("recall", "report", *DAY, "--out", "mine", "--home", busy)

    assert answer.code == 2
    assert (tmp_path / "mine" / "letter.txt").read_text() == "mine"

"""The invented list that ships: what the README says of it can be done, and it is invented."""

from __future__ import annotations

import csv
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

from made_up import HOME

Run = Callable[..., Any]
LIST = HOME / "shared" / "demo" / "recall.csv"


def test_it_is_taken_in_listed_counted_and_proved(clinic: Path, run: Run) -> None:
    for file in (clinic / "out").iterdir():
        file.unlink()
    shutil.copytree(HOME / "content", clinic / "content", dirs_exist_ok=True)
    words = ("--home", clinic)

    assert run("recall", "import", LIST, "--by", "Ann Admin", *words).code == 0
    due = run("recall", "due", "--on", "2026-11-30", "--overdue", "--json", *words).json()
    assert [one["ref"] for one in due["people"]][:2] == ["LF-1004", "LF-1007"]
    found = run("recall", "report", "--on", "2026-11-30", "--json", *words).json()
    assert (found["patients"]["total"], found["recalls"]["open"]) == (8, 8)
    assert run("recall", "audit", *words).code == 0


def test_its_numbers_and_mailboxes_are_nobody_s() -> None:
    """Ofcom keeps 07700 900000 to 900999 for drama; RFC 2606 keeps example.org."""
    with LIST.open(newline="", encoding="utf-8") as stream:
        people = list(csv.DictReader(stream))

    assert len(people) == 8
    for one in people:
        assert re.fullmatch(r"(07700 900\d{3})?", one["mobile"])
        assert re.fullmatch(r"([a-z.]+@example\.org)?", one["email"])

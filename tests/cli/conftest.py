"""The command line in this process: a fixed day, a clinic's folder, and a visit to write."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Mapping
from copy import deepcopy
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from aftercare.edges.clock import SystemClock
from aftercare.errors import AftercareError

ROOT = Path(__file__).parents[2]
NAME, MOBILE, EMAIL = "Wilhelmina Featherby", "07700 900777", "w.featherby@example.org"
VISIT: dict[str, Any] = {
    "case": "v-1",
    "patient": {
        "name": NAME,
        "born": "1954-03-18",
        "agreed": ["sms", "email", "print"],
        "mobile": MOBILE,
        "email": EMAIL,
    },
    "visit": {"date": "2026-11-18", "clinician": "Idris Penhale, nurse", "treated": "left"},
    "ears": [
        {"side": "left", "conditions": ["wax"], "procedures": ["suction"], "findings": ["cleared"]}
    ],
    "recall": {"months": 9},
}


@dataclass(frozen=True)
class Answer:
    """What a command said and how it ended."""

    code: int
    out: str
    err: str

    def json(self) -> Any:
        return json.loads(self.out)

    def lines(self) -> list[Any]:
        return [json.loads(line) for line in self.out.splitlines()]


@pytest.fixture(autouse=True)
def _same_day_everywhere(today: date, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(SystemClock, "today", lambda clock: today)
    monkeypatch.delenv("AFTERCARE_HOME", raising=False)


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., Answer]:
    """One command in an empty current folder, ended as ``main`` ends it."""
    from aftercare.cli import BAD, commands

    monkeypatch.chdir(tmp_path)

    def ran(*words: object, given: str | bytes = b"") -> Answer:
        result = CliRunner().invoke(commands.app, [str(word) for word in words], input=given)
        if isinstance(result.exception, AftercareError):
            return Answer(BAD, result.stdout, f"{result.stderr}aftercare: {result.exception}\n")
        if result.exception and not isinstance(result.exception, SystemExit):
            raise result.exception
        return Answer(result.exit_code, result.stdout, result.stderr)

    return ran


@pytest.fixture(scope="session")
def approved_home(
    translated_shelf: Mapping[str, bytes], tmp_path_factory: pytest.TempPathFactory
) -> Path:
    """A clinic's folder in which everything is approved, in English, pl and ur."""
    home = tmp_path_factory.mktemp("clinic")
    for name, raw in translated_shelf.items():
        (home / name).parent.mkdir(parents=True, exist_ok=True)
        (home / name).write_bytes(raw)
    return home


@pytest.fixture
def visit(tmp_path: Path) -> Callable[..., Path]:
    """Writes a visit file: the usual one with the changes given by dotted path."""

    def wrote(name: str = "v.json", /, **changes: object) -> Path:
        data = deepcopy(VISIT)
        for path, value in changes.items():
            *steps, last = path.split("__")
            at: Any = data
            for step in steps:
                at = at[int(step) if step.isdigit() else step]
            at[last] = value
        (tmp_path / name).write_text(json.dumps(data), encoding="utf-8")
        return Path(name)

    return wrote


@pytest.fixture(scope="session")
def environment() -> dict[str, str]:
    """What a program started by a test needs to find this checkout."""
    unset = ("AFTERCARE_HOME", "PYTHONUNBUFFERED")
    kept = {name: value for name, value in os.environ.items() if name not in unset}
    return {**kept, "PYTHONPATH": str(ROOT)}

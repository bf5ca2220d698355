"""A clinic with an invented register, for the commands that work the list."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from made_up import HOME
from made_up_register import row, take_in

from aftercare.edges.clock import SystemClock
from aftercare.edges.register import find_place
from aftercare.edges.register.register import make_register
from aftercare.recall.port import IntakeRow

WAX = "condition:wax"
OTITIS = "condition:otitis-externa"


def six_months(number: int, due: str, since: str, **changed: Any) -> IntakeRow:
    """Somebody seen on one day and due six months later, for an open cavity unless said."""
    return row(number, due=due, seen=since, anchor=since, **changed)


def wax(condition: str = WAX) -> dict[str, str]:
    return {"condition": condition, "conditions": condition}


DAY = ("2026-11-30", "2026-05-30")
PEOPLE = (
    six_months(1, *DAY),
    six_months(2, *DAY, **wax()),
    six_months(3, "2026-12-07", "2026-06-07", **wax(OTITIS)),
    six_months(4, "2026-03-02", "2025-09-02"),  # past its limit
    six_months(5, *DAY, **wax(),
        state="waiting", waiting_on="Sam Field", because="asked for a call in the evening"),
    six_months(6, *DAY, standing="silent", reasons="no consent"),
    six_months(7, "2026-10-01", "2026-04-01", **wax(),
        state="closed", because="came", closed="2026-10-02"),
)  # fmt: skip


@pytest.fixture
def clinic(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A clinic's folder with the settings of this checkout and a register of seven."""
    for name in ("AFTERCARE_DATABASE", "AFTERCARE_REGISTER_KEY", "AFTERCARE_REGISTER_KEY_FILE"):
        monkeypatch.delenv(name, raising=False)
    noon = datetime(2026, 11, 24, 12, tzinfo=UTC).isoformat()
    monkeypatch.setattr(SystemClock, "now", lambda clock: noon)
    home = tmp_path / "clinic"
    (home / "content").mkdir(parents=True)
    shutil.copytree(HOME / "shared", home / "shared")
    register = make_register(find_place(home, {}))
    take_in(register, *PEOPLE)
    register.close()
    return home

"""A clinic with an invented register, for the commands that work the list."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime
from pathlib import Path

import pytest
from made_up import HOME
from made_up_register import row, take_in

from aftercare.edges.clock import SystemClock
from aftercare.edges.register import find_place
from aftercare.edges.register.register import make_register

WAX = "condition:wax"
OTITIS = "condition:otitis-externa"
PEOPLE = (
    row(1, due="2026-11-30"),  # an open cavity, due that day
    row(2, condition=WAX, conditions=WAX, due="2026-11-30"),
    row(3, condition=OTITIS, conditions=OTITIS, due="2026-12-07"),
    row(4, due="2026-03-02"),  # a cavity past its limit
    row(5, condition=WAX, conditions=WAX, due="2026-11-30",
        state="waiting", waiting_on="Sam Field", because="asked for a call in the evening"),
    row(6, standing="silent", reasons="no consent", due="2026-11-30"),
    row(7, condition=WAX, conditions=WAX, state="closed", because="came", due="2026-10-01",
        closed="2026-10-02"),
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

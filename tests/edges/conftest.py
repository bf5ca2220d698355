"""What the tests of the edges share."""

from __future__ import annotations

from pathlib import Path

import pytest


@pytest.fixture(scope="session")
def root() -> Path:
    """The checkout, for programs a test starts and files it reads as a translator would."""
    return Path(__file__).parents[2]

"""What many tests share: the shelf of this checkout, the same with everything approved, a press."""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Generator
from datetime import date

import pytest
from made_up import HOME, TODAY, FakePress, approvals, made_up_catalogue, made_up_rules
from made_up import a_case as built_case

from aftercare.edges.folder import read_home
from aftercare.library import block_paths, read
from aftercare.library.catalogues import languages
from aftercare.model import Case, Library

Reporting = Generator[None, pytest.TestReport, pytest.TestReport]
APPROVER = "Dr A. Example, consultant"
_APPROVAL = re.compile(rb"^(approval *[:=]).*$", re.MULTILINE)
_REVIEW = re.compile(rb"^(review_by *[:=]).*$", re.MULTILINE)


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--accept", action="store_true", help="rewrite golden files, then fail: read the difference"
    )


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(
    item: pytest.Item,
) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """In CI nothing is skipped: a tool that is missing there is a failure."""
    report = yield
    if report.skipped and os.environ.get("CI"):
        report.outcome = "failed"
        report.longrepr = f"skipped in CI: {report.longrepr}"
    return report


@pytest.fixture(scope="session")
def today() -> date:
    return TODAY


@pytest.fixture(scope="session")
def a_case() -> Callable[..., Case]:
    return built_case


@pytest.fixture(scope="session")
def press() -> FakePress:
    return FakePress()


@pytest.fixture(scope="session")
def shelf() -> dict[str, bytes]:
    """The files of this checkout."""
    return read_home(HOME)


@pytest.fixture(scope="session")
def library(shelf: dict[str, bytes]) -> Library:
    """The checkout as it stands: drafts."""
    return read(shelf)


@pytest.fixture(scope="session")
def approved_shelf(shelf: dict[str, bytes]) -> dict[str, bytes]:
    """The checkout with every block, the frame and every translation approved."""
    files = {path: _approve(path, raw) for path, raw in shelf.items()}
    for language, path in languages(files).items():
        files[f"locales/{language}/approvals.toml"] = approvals(language, path, files[path])
    return files


@pytest.fixture(scope="session")
def approved(approved_shelf: dict[str, bytes]) -> Library:
    return read(approved_shelf)


@pytest.fixture(scope="session")
def translated_shelf(approved_shelf: dict[str, bytes]) -> dict[str, bytes]:
    """The approved shelf with made-up catalogues for ``pl`` and ``ur``, whole and approved."""
    files = {path: raw for path, raw in approved_shelf.items() if not path.startswith("locales/")}
    files["shared/rules.toml"] = made_up_rules(files["shared/rules.toml"])
    for language in ("pl", "ur"):
        path = f"locales/{language}/LC_MESSAGES/aftercare.po"
        files[path] = made_up_catalogue(files, language)
        files[f"locales/{language}/approvals.toml"] = approvals(language, path, files[path])
    return files


@pytest.fixture(scope="session")
def translated(translated_shelf: dict[str, bytes]) -> Library:
    return read(translated_shelf)


def _approve(path: str, raw: bytes) -> bytes:
    if path in set(block_paths({path: raw})):
        yes = f'\\1 {{state: approved, approver: "{APPROVER}", date: 2026-11-20}}'
        return _REVIEW.sub(rb"\1 2028-11-01", _APPROVAL.sub(yes.encode(), raw))
    if path == "content/frame.toml":
        yes = f'\\1 {{ state = "approved", approver = "{APPROVER}", date = 2026-11-20 }}'
        return _REVIEW.sub(rb"\1 2028-11-01", _APPROVAL.sub(yes.encode(), raw))
    return raw

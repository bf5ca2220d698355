"""A few finished messages, whole, as files somebody reads: one for each moment and channel.

``pytest --accept`` rewrites them and fails, so that the difference is read before it counts.
"""

from __future__ import annotations

import email
import email.policy
import json
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from made_up import FakePress

from aftercare.edges.visit import parse_visit
from aftercare.flow import Discharge, discharge
from aftercare.model import Channel, Library, Purpose
from aftercare.summary import summary

HERE = Path(__file__).parent
DEMO = HERE.parents[1] / "shared" / "demo"
Golden = Callable[[str, str], None]


@pytest.fixture
def golden(request: pytest.FixtureRequest) -> Golden:
    """Compares a text with its file; with ``--accept`` rewrites the file and fails."""

    def compare(name: str, text: str) -> None:
        file = HERE / name
        if request.config.getoption("--accept"):
            file.write_text(text, encoding="utf-8")
            pytest.fail(f"{name} was rewritten: read the difference, then run without --accept")
        assert text == file.read_text(encoding="utf-8")

    return compare


def done(library: Library, visit: str, channel: Channel) -> Discharge:
    path = DEMO / visit
    case = parse_visit(visit, path.read_bytes(), library, date.max)
    return discharge(
        case,
        library,
        press=FakePress(),
        today=case.visit_date,
        purpose=Purpose.SAMPLE,
        channels=(channel,),
    )


@pytest.mark.parametrize(
    "visit", ["01-cavity-dizzy", "07-deaf-cavity", "08-reads-polish", "09-reads-urdu"]
)
def test_the_sms_somebody_read(library: Library, golden: Golden, visit: str) -> None:
    message = done(library, f"{visit}.toml", Channel.SMS).messages[0]

    assert message.body is not None
    golden(f"{visit}.sms.txt", message.body.decode())


@pytest.mark.parametrize("visit", ["04-child-grommets", "06-diabetes-infection"])
def test_the_email_somebody_read(library: Library, golden: Golden, visit: str) -> None:
    message = done(library, f"{visit}.toml", Channel.EMAIL).messages[0]

    assert message.body is not None
    parsed = email.message_from_bytes(message.body, policy=email.policy.default)
    plain = parsed.get_body(("plain",))
    assert plain is not None
    told = f"Subject: {parsed['Subject']}\n\n{plain.get_content()}"
    golden(f"{visit}.email.txt", told.replace("\r\n", "\n"))


@pytest.mark.parametrize("visit", ["07-deaf-cavity", "09-reads-urdu"])
def test_the_leaflet_somebody_read(library: Library, golden: Golden, visit: str) -> None:
    message = done(library, f"{visit}.toml", Channel.PRINT).messages[0]

    assert message.body is not None
    data = json.loads(message.body.removeprefix(b"%PDF-fake"))
    # The edition changes with any file of the shelf; that it is there is another test's claim.
    lines = [f"{place}: {words}" for place, words in placed(data) if not place.endswith("edition")]
    golden(f"{visit}.leaflet.txt", "\n".join(lines) + "\n")


def placed(node: Any) -> Iterator[tuple[str, str]]:
    """Every line of leaflet data: where it came from, and its words with their isolates."""
    if isinstance(node, dict) and "runs" in node:
        yield node["place"], "".join(flat(run["parts"]) for run in node["runs"])
    elif isinstance(node, dict):
        for value in node.values():
            yield from placed(value)
    elif isinstance(node, list):
        for value in node:
            yield from placed(value)


def flat(parts: Any) -> str:
    return parts if isinstance(parts, str) else "".join(map(flat, parts))


def test_the_summary_somebody_read(library: Library, golden: Golden) -> None:
    told = summary(done(library, "02-wax-suction.toml", Channel.SMS), Purpose.SAMPLE)
    told["library"] = "the edition"

    golden("02-wax-suction.summary.json", json.dumps(told, ensure_ascii=False, indent=1) + "\n")

"""One run over visits: each becomes a folder of files, a record, and a summary."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

from aftercare.cli import BAD, DONE, FAULT, FOUND, fault_of_ours, tell
from aftercare.cli.bootstrap import House
from aftercare.edges.folder import read_input, sweep, write_folder
from aftercare.edges.records import RecordFile
from aftercare.edges.visit import parse_visit
from aftercare.edges.visit_text import VISIT_BYTES
from aftercare.errors import AftercareError, BadInput
from aftercare.flow import Discharge, discharge, not_written, records
from aftercare.model import Case, Channel, Message, Purpose, Status
from aftercare.summary import FILES, summary

DEMO, STANDARD_INPUT = "shared/demo", "standard input"
SUMMARY = "summary.json"


def read_visit(named: str, house: House) -> Case:
    """The Case in a file, or on standard input for ``-``. Raises ``BadInput``."""
    if named == "-":
        raw = sys.stdin.buffer.read(VISIT_BYTES + 1)
        return parse_visit(STANDARD_INPUT, raw, house.library, house.today())
    raw = read_input(Path(named), VISIT_BYTES)
    return parse_visit(named, raw, house.library, house.today())


def demo_visits(house: House) -> list[Case]:
    """The invented visits of the shelf, in order of file name."""
    paths = sorted((house.home / DEMO).glob("*.toml"))
    if not paths:
        raise BadInput(str(house.home / DEMO), "no invented visits here", "see 'aftercare init'")
    # A sample's own day is its visit's, whatever the calendar says.
    return [
        parse_visit(f"{DEMO}/{path.name}", read_input(path, VISIT_BYTES), house.library, date.max)
        for path in paths
    ]


class Run:
    """Writes the visits of one command and remembers how it went."""

    def __init__(self, house: House, out: Path, purpose: Purpose, today: date) -> None:
        self._house, self._out, self._purpose, self._today = house, out, purpose, today
        self._store = RecordFile(out / "record.jsonl")
        self._written: set[str] = set()
        self._refused = self._faults = self._found = 0
        sweep(out)

    def case(self, case: Case, channels: tuple[Channel, ...]) -> Discharge:
        """One visit, written whole or not at all. Raises an ``AftercareError``."""
        # Some disks do not tell letter case apart, and one folder would take another's place.
        if case.ref.casefold() in self._written:
            raise BadInput("case", "another visit of this run has this reference", "change one")
        done = discharge(
            case,
            self._house.library,
            press=self._house.press,
            today=self._today,
            purpose=self._purpose,
            channels=channels,
        )
        # What was decided is on record before anything that could be handed out exists.
        self._store.add(records(done, self._house.clock.now()))
        folder = self._out / case.ref
        if self._purpose is Purpose.PATIENT and folder.exists():
            # The same reference may be a corrected visit, or another patient's by mistake.
            tell(f"{folder}: what an earlier run wrote is replaced; the record keeps both")
        try:
            write_folder(folder, self._files(done), ours={*FILES.values(), SUMMARY})
        except AftercareError:
            self._store.add(records(not_written(done), self._house.clock.now()))
            raise
        for said in _of_languages(done.messages):
            tell(f"{case.ref}: {said}")
        self._written.add(case.ref.casefold())
        self._found += any(
            message.status is Status.WITHHELD or message.findings for message in done.messages
        )
        return done

    def visits(self, named: list[str], channels: tuple[Channel, ...]) -> Iterator[Discharge]:
        """The visits in these files; one that cannot be used is told of and the others go on."""
        for visit in named:
            try:
                done = self.case(read_visit(visit, self._house), channels)
            except AftercareError as refusal:
                self._refused += 1
                tell(_placed(visit, str(refusal)))
            except Exception as fault:  # the other patients still get theirs
                self._faults += 1
                tell(_placed(visit, fault_of_ours(fault)))
            else:
                yield done

    def summary(self, done: Discharge) -> dict[str, Any]:
        """The visit's outcome, each file by the path it was written to."""
        return summary(done, self._purpose, f"{self._out / done.case.ref}/")

    def exit_code(self) -> int:
        """0 all well, 1 something was withheld, found or refused, 2 nothing was usable."""
        if self._faults:
            return FAULT
        if self._refused and not self._written:
            return BAD
        return FOUND if self._refused or self._found else DONE

    def _files(self, done: Discharge) -> dict[str, bytes]:
        told = json.dumps(summary(done, self._purpose), ensure_ascii=False, indent=2)
        bodies = {FILES[m.channel]: m.body for m in done.messages if m.body is not None}
        return {**bodies, SUMMARY: (told + "\n").encode()}


def _of_languages(messages: Iterable[Message]) -> Iterator[str]:
    """What the clinician hears at once: what this patient cannot read in their own language."""
    channels: dict[str, list[str]] = {}
    for message in messages:
        if message.instead_of is not None:
            channels.setdefault(message.noted[0], []).append(message.channel.value)
    for said, named in channels.items():
        yield f"{', '.join(named)}: {said}"


def _placed(named: str, said: str) -> str:
    """The message with its visit's file in front, unless it stands there already."""
    place = STANDARD_INPUT if named == "-" else named
    return said if said.startswith(place) else f"{place}: {said}"

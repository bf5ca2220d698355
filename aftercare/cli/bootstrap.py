"""The one place where this door is wired to the world."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from aftercare.errors import AftercareError
from aftercare.flow import Clock, Press
from aftercare.model import Clinic, Fact, Library, RecallMonths

if TYPE_CHECKING:
    from aftercare.edges.register import Place
    from aftercare.edges.register.register import SqlRegister
    from aftercare.library import Files
    from aftercare.library.approval import Signature
    from aftercare.proof.translated import Judge
    from aftercare.recall.risk import RiskOrder
    from aftercare.recall.steps import Planner

# More than any settings file of a clinic; what is longer is refused by who parses it.
_SETTINGS_BYTES = 262_144


@dataclass(frozen=True, slots=True)
class House:
    """A clinic's shelf, and the ports a command needs."""

    home: Path
    library: Library
    press: Press
    clock: Clock

    def today(self) -> date:
        """The day at the clinic."""
        return self.clock.today()


@dataclass(frozen=True, slots=True)
class Desk:
    """A shelf opened for its editor: what can be read of it, and why the rest cannot.

    Nothing of it is sent and no decision is taken on it while there are ``faults``.
    """

    home: Path
    files: Files
    library: Library
    faults: tuple[AftercareError, ...]
    today: date


@dataclass(frozen=True, slots=True, kw_only=True)
class RecallDesk:
    """What the recall list needs of a clinic's folder; no content is read for it.

    ``months`` are the conditions that come back for life, with what clinics agree for each.
    """

    clinic: Clinic
    conditions: frozenset[Fact]
    months: Mapping[Fact, RecallMonths]
    risks: RiskOrder
    planner: Planner
    today: date


def open_recall_desk(home: str | None) -> RecallDesk:
    """Read the four files the recall list needs. Raises an ``AftercareError`` for a bad one."""
    from aftercare.edges.clock import SystemClock
    from aftercare.edges.folder import find_home, read_input
    from aftercare.edges.reminder_plan import PLACE, parse_reminder_plan
    from aftercare.edges.risks import parse_risks
    from aftercare.library.settings import parse_clinic, parse_limits
    from aftercare.library.vocabulary import parse_facts
    from aftercare.recall.dates import closure
    from aftercare.recall.steps import Days, Planner

    folder = find_home(home, os.environ, _here())
    names = ("shared/clinic.toml", "shared/facts.toml", "shared/limits.toml", PLACE)
    raw = {name: read_input(folder / name, _SETTINGS_BYTES) for name in names}
    clinic = parse_clinic(names[0], raw[names[0]])
    values = parse_facts(names[1], raw[names[1]])["condition"].values
    conditions = frozenset(f"condition:{name}" for name in values)
    plan = parse_reminder_plan(raw[PLACE], conditions)
    return RecallDesk(
        clinic=clinic,
        conditions=conditions,
        months=parse_limits(names[2], raw[names[2]]).recall_months,
        risks=parse_risks(raw[PLACE], conditions),
        planner=Planner(
            plan=plan,
            days=Days(lambda day: closure(day, clinic), plan.hours),
            zone=clinic.timezone,
        ),
        today=SystemClock(clinic.timezone).today(),
    )


def open_house(home: str | None) -> House:
    """Find the clinic's folder and read it. Raises an ``AftercareError`` if it is unusable.

    A catalogue is read when somebody is written to in its language; one that cannot be used is
    then no worse than none.
    """
    from aftercare.edges.clock import SystemClock
    from aftercare.edges.folder import find_home, read_home
    from aftercare.edges.press import TypstPress

    folder = find_home(home, os.environ, _here())
    read = _library(read_home(folder))
    return House(folder, read, TypstPress(), SystemClock(read.clinic.timezone))


def open_library(home: str | None) -> Library:
    """The clinic's shelf alone, for commands that press and write nothing."""
    from aftercare.edges.folder import find_home, read_home

    return _library(read_home(find_home(home, os.environ, _here())))


def _library(files: Files) -> Library:
    """The shelf with its catalogues still closed, and in them only what the checks let through."""
    from aftercare import library
    from aftercare.library.shelved import Shelved
    from aftercare.sound import SoundCatalogues

    read = library.read(files, wanted=())
    return replace(read, catalogues=SoundCatalogues(Shelved(files), _Checks(read, files)))


class _Checks:
    """The checks of translations on this shelf, made when a language is first asked about."""

    def __init__(self, library: Library, files: Files) -> None:
        self._library, self._files = library, files
        self._judges: dict[str, Judge] = {}

    def stops(
        self, language: str, key: tuple[str, str], targets: Sequence[str], plural: str
    ) -> bool:
        """Whether anything found in the translation of a source stops it."""
        if language not in self._judges:
            from aftercare.cli.catalogues import judge_of

            self._judges[language] = judge_of(self._library, self._files, language)
        return self._judges[language].stops(language, key, targets, plural)


def open_desk(home: str | None) -> Desk:
    """The clinic's shelf for reading, faults and all.

    Raises an ``AftercareError`` when a file is unusable without which nothing can be read.
    """
    from aftercare.edges.clock import SystemClock
    from aftercare.edges.folder import find_home, read_home
    from aftercare.library import read_shelf

    folder = find_home(home, os.environ, _here())
    files = read_home(folder)
    shelf = read_shelf(files)
    today = SystemClock(shelf.library.clinic.timezone).today()
    return Desk(folder, files, shelf.library, shelf.faults, today)


def signature(home: str | None, name: str, role: str) -> Signature:
    """Who decides on a block today, on the clinic's calendar."""
    from aftercare.library.approval import Signature

    return Signature(name, role, open_house(home).today())


def register_place(home: str | None) -> Place:
    """Where the clinic's recall register is."""
    from aftercare.edges.folder import find_home
    from aftercare.edges.register import find_place

    return find_place(find_home(home, os.environ, _here()), os.environ)


def open_register(home: str | None) -> SqlRegister:
    """The clinic's recall register. Raises ``OutOfReach`` when there is none."""
    from aftercare.edges.register.register import open_register as open_at

    return open_at(register_place(home))


def make_register(home: str | None) -> SqlRegister:
    """The clinic's recall register, made now if there is none."""
    from aftercare.edges.register.register import make_register as make_at

    return make_at(register_place(home))


def read_retention(home: str | None) -> int:
    """How many years the clinic keeps somebody on the register."""
    from aftercare.edges.folder import find_home, read_input
    from aftercare.library.retention import PLACE, parse_retention

    folder = find_home(home, os.environ, _here())
    return parse_retention(read_input(folder / PLACE, _SETTINGS_BYTES))


def read_desk(house: House) -> str:
    """Who at the clinic a recall waits on when nobody is named."""
    from aftercare.edges.folder import read_input
    from aftercare.edges.reminder_plan import PLACE, parse_reminder_plan

    conditions = [f"condition:{name}" for name in house.library.facts["condition"].values]
    return parse_reminder_plan(read_input(house.home / PLACE, _SETTINGS_BYTES), conditions).desk


def moment() -> datetime:
    """The moment in UTC."""
    from aftercare.edges.clock import SystemClock

    return datetime.fromisoformat(SystemClock("UTC").now())


def _here() -> Path | None:
    """The current folder, unless somebody has removed it."""
    try:
        return Path.cwd()
    except OSError:
        return None

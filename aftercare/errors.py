"""Everything aftercare refuses, as one tree.

    AftercareError            place, problem and what to do next
    ├── BadInput              a visit, a text or an option the caller gave
    ├── BadContent            a block, a catalogue or a clinic file on the shelf
    ├── BadText               words that cannot travel or be printed
    └── OutOfReach            a file, a folder or a font the machine does not have

Doors turn these into a message and an exit code; nothing below a door prints.
An error about a patient names the field and the code point, never the person.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(eq=False)
class AftercareError(Exception):
    """One refusal: where it is, what is wrong there, and what to do next."""

    place: str
    problem: str
    remedy: str = ""

    def __str__(self) -> str:
        said = f"{self.place}: {self.problem}"
        return f"{said}; {self.remedy}" if self.remedy else said


class BadInput(AftercareError):
    """A visit, a text or an option the caller gave is not usable."""


class BadContent(AftercareError):
    """A file on the shelf is not usable."""


class BadText(AftercareError):
    """The words cannot travel, or cannot be printed, as they stand."""


class OutOfReach(AftercareError):
    """The machine does not have, or may not touch, what was asked for."""

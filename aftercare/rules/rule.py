"""What a rule is, and what it says when a message breaks it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import StrEnum

from aftercare.rules.seen import Seen

NAMED = "{name} (rule {row}): {why}"


class Act(StrEnum):
    """What a broken rule does: stop the message, or tell the clinician."""

    BLOCK = "block"
    WARN = "warn"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rule:
    """One contradiction no message may hold.

    ``row`` is its number in the project's table of contradictions. ``check`` answers with what
    is wrong, once for each place; it may raise ``Unlisted`` for a language without words.
    A rule of judgement is ``overridable`` by a clinician with a reason; what would send wrong
    facts, or words nobody stands behind, is not.
    """

    name: str
    row: int
    act: Act
    source: str
    check: Callable[[Seen], Iterator[str]]
    overridable: bool = False
    wording: str = NAMED


@dataclass(frozen=True, slots=True)
class Broken:
    """A rule this message breaks, what it does about it, and where it is broken."""

    rule: Rule
    act: Act
    why: str

    @property
    def text(self) -> str:
        """The reason as a clinician reads it."""
        # That it could not be checked says nothing without the name.
        wording = self.rule.wording if self.act is self.rule.act else NAMED
        return wording.format(name=self.rule.name, row=self.rule.row, why=self.why)

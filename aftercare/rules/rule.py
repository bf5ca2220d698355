"""What a rule is, and what it says when a message breaks it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum

from aftercare.rules.seen import Seen, Told

NAMED = "{name} (rule {row}): {why}"


class Act(StrEnum):
    """What a broken rule does: stop the message, or tell the clinician."""

    BLOCK = "block"
    WARN = "warn"


def _nothing(seen: Seen) -> Iterable[str]:
    return ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rule:
    """One contradiction no message may hold.

    ``row`` is its number in the project's table of contradictions. Each of three checks answers
    with what is wrong, once for each place, and may raise ``Unlisted`` for a language without
    words: ``record`` asks of what was recorded, whatever the words; ``line`` of one line by
    itself; ``check`` of lines together. What a check may look at is what ``Seen`` offers.
    A rule of judgement is ``overridable`` by a clinician with a reason; what would send wrong
    facts, or words nobody stands behind, is not.
    """

    name: str
    row: int
    act: Act
    source: str
    check: Callable[[Seen], Iterable[str]] = _nothing
    line: Callable[[Seen, Told], Iterable[str]] | None = None
    record: Callable[[Seen], Iterable[str]] = _nothing
    overridable: bool = False
    wording: str = NAMED

    def breaches(self, seen: Seen) -> Iterator[str]:
        """All that is wrong by this rule, in the order of its checks."""
        yield from self.record(seen)
        if self.line is not None:
            for told in seen.told:
                yield from self.line(seen, told)
        yield from self.check(seen)


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

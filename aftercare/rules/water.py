"""Water and washing: rows 4 and 5."""

from __future__ import annotations

from collections.abc import Iterator

from aftercare.model import Kind, Side
from aftercare.rules.rule import Act, Rule
from aftercare.rules.seen import Seen, Told, named

# Whoever has one of these may be told not to swim, grommet or no grommet.
_EXCEPTIONS_OF_AN_EAR = frozenset(
    {"finding:discharge", "condition:open-cavity", "condition:perforation",
     "condition:otitis-externa"}
)  # fmt: skip
_EXCEPTION_OF_A_PATIENT = "caution:weak-immunity"


def _swim_ban(seen: Seen) -> Iterator[str]:
    if _EXCEPTION_OF_A_PATIENT in seen.facts:
        return
    grommets = seen.ears("condition:grommet")
    plain = [
        ear.side
        for ear in grommets
        if not any(fact in ear.facts for fact in sorted(_EXCEPTIONS_OF_AN_EAR))
    ]
    if not plain:
        return
    for told in seen.saying("swim_ban"):
        # A ban that the other ear calls for is no contradiction.
        if _only_of(told, plain, seen):
            yield f"{named(told)} bans swimming, and nothing but a grommet is there"


def _only_of(told: Told, sides: list[Side], seen: Seen) -> bool:
    return all(ear.side in sides for ear in seen.case.ears if told.of(ear.side))


def _wax_advice(seen: Seen) -> Iterator[str]:
    for ear in seen.ears("condition:open-cavity"):
        for thing in ("irrigation", "wax_advice", "swim_freely"):
            for told in seen.saying(thing):
                if told.of(ear.side):
                    yield f"{named(told)} says so of the {ear.side} ear"


def _wax_template(seen: Seen, told: Told) -> Iterator[str]:
    if _is_wax_template(told):
        for ear in seen.ears("condition:open-cavity"):
            if told.of(ear.side):
                yield f"{named(told)} is advice for plain wax, given for the {ear.side} ear"


def _is_wax_template(told: Told) -> bool:
    """Advice, not an explanation, from a block written for wax and for no other condition."""
    if told.one is None or told.kind not in (Kind.CARE, Kind.WATER):
        return False
    conditions = {fact for fact in told.one.block.given_for if fact.startswith("condition:")}
    return conditions == {"condition:wax"}


RULES = (
    Rule(
        name="swim ban with a grommet", row=4, act=Act.BLOCK, overridable=True, check=_swim_ban,
        source="AAO-HNS 2013 grommet guideline, statement 12, and 2022, statement 15",
    ),
    Rule(
        name="wax advice for a cavity", row=5, act=Act.BLOCK, overridable=True, check=_wax_advice,
        line=_wax_template,
        source="AAO-HNS 2017 earwax guideline (Schwartz 2017), scope; NHS Tayside referral guide",
    ),
)  # fmt: skip

"""What may go into an ear: rows 1, 2, 3, 6 and 7."""

from __future__ import annotations

from collections.abc import Iterator

from aftercare.model import Ear
from aftercare.rules.rule import Act, Rule
from aftercare.rules.seen import NOT_WHOLE, Seen, named

_DRUM_MAY_BE_OPEN = (*sorted(NOT_WHOLE), "finding:drum-not-seen")
_NUTS = frozenset({"allergy:nut", "allergy:peanut", "allergy:soya"})


def _self_bought(seen: Seen) -> Iterator[str]:
    for ear in seen.ears(*_DRUM_MAY_BE_OPEN):
        for told in seen.saying("self_bought_drops"):
            if told.of(ear.side):
                yield f"{named(told)} speaks of them; the {ear.side} ear may have an open eardrum"


_UNDECIDED = "without a specialist's decision and a day to stop"


def _aminoglycoside_prescribed(seen: Seen) -> Iterator[str]:
    for ear in seen.ears(*_DRUM_MAY_BE_OPEN):
        if "drops:aminoglycoside" in ear.facts and not _decided_by_a_specialist(ear, seen):
            yield f"prescribed for the {ear.side} ear {_UNDECIDED}"


def _aminoglycoside(seen: Seen) -> Iterator[str]:
    for ear in seen.ears(*_DRUM_MAY_BE_OPEN):
        if _decided_by_a_specialist(ear, seen):
            continue
        for told in seen.saying("agent_aminoglycoside"):
            if told.of(ear.side):
                yield f"{named(told)} names them for the {ear.side} ear {_UNDECIDED}"


def _decided_by_a_specialist(ear: Ear, seen: Seen) -> bool:
    stop = ear.drops_stop
    return "drops:specialist" in ear.facts and stop is not None and stop >= seen.case.visit_date


def _exception(seen: Seen) -> Iterator[str]:
    for ear in seen.ears("drops:prescribed"):
        if any(told.of(ear.side) for told in seen.saying("drops_told")):
            continue
        for thing in ("keep_dry", "nothing_in"):
            for told in seen.saying(thing):
                if told.of(ear.side):
                    yield (
                        f"{named(told)} says to keep the {ear.side} ear dry or empty, and nothing "
                        "says to use the prescribed drops all the same"
                    )


def _nut_oil(seen: Seen) -> Iterator[str]:
    if seen.having(_NUTS):
        for told in seen.saying("nut_oil"):
            yield f"{named(told)} names one to a patient with such an allergy"


def _allergy_to_what_is_prescribed(seen: Seen) -> Iterator[str]:
    for agent in _agents(seen):
        for ear in seen.ears(f"drops:{agent}"):
            yield f"the drops for the {ear.side} ear hold {agent}"


def _allergy(seen: Seen) -> Iterator[str]:
    for agent in _agents(seen):
        for told in seen.saying(f"agent_{agent}"):
            yield f"{named(told)} names {agent}"


def _agents(seen: Seen) -> list[str]:
    """What the patient is allergic to, foods left out."""
    known = {f"allergy:{agent}" for agent in seen.asked.library.facts["allergy"].values}
    return [fact.partition(":")[2] for fact in seen.having(known - _NUTS)]


RULES = (
    Rule(
        name="self-bought drops", row=1, act=Act.BLOCK, overridable=True, check=_self_bought,
        source="NHS page on a burst eardrum: nothing in the ear, drops included, unless "
        "prescribed; NHS Tayside referral guide",
    ),
    Rule(
        name="aminoglycoside drops", row=2, act=Act.BLOCK, overridable=True, check=_aminoglycoside,
        record=_aminoglycoside_prescribed,
        source="BNF as cited in BMJ letter 349:g5259 (seen at second hand)",
    ),
    Rule(
        name="drops and keep dry", row=3, act=Act.BLOCK, overridable=True, check=_exception,
        source="AAO-HNS 2014 outer-ear infection guideline: keep dry, yet use the drops",
    ),
    Rule(
        name="nut oil", row=6, act=Act.BLOCK, overridable=True, check=_nut_oil,
        source="BNF, from memory",
    ),
    Rule(
        name="allergy to the drops", row=7, act=Act.BLOCK, overridable=True, check=_allergy,
        record=_allergy_to_what_is_prescribed,
        source="common practice, no source",
    ),
)  # fmt: skip

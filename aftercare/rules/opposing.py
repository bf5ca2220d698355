"""Two conditions at once: the stricter advice wins, and both are logged (row 23)."""

from __future__ import annotations

from collections.abc import Iterator

from aftercare.model import Block, Ear, Fact, Side
from aftercare.rules.rule import Act, Rule
from aftercare.rules.sayings import Known, says, sentences, text_of_source, vocabulary
from aftercare.rules.seen import Seen, Told, Unlisted, named


def _opposed(seen: Seen) -> Iterator[str]:
    """Both said of one ear: nobody could follow them."""
    for pair in seen.asked.library.rules.opposing:
        for strict, loose in _both(seen, pair.stricter, pair.looser):
            for ear in seen.case.ears:
                if strict.of(ear.side) and loose.of(ear.side):
                    yield (
                        f"for the {ear.side} ear, {named(strict)} says {_plain(pair.stricter)} and "
                        f"{named(loose)} says {_plain(pair.looser)}"
                    )


def _logged(seen: Seen) -> Iterator[str]:
    """Where one ear is told the stricter and the other the looser, or the looser was left out."""
    for pair in seen.asked.library.rules.opposing:
        for strict, loose in _both(seen, pair.stricter, pair.looser):
            if {strict.side, loose.side} == {Side.LEFT, Side.RIGHT}:
                yield (
                    f"{named(strict)} says {_plain(pair.stricter)} for the {strict.side} ear, "
                    f"{named(loose)} says {_plain(pair.looser)} for the {loose.side} ear"
                )
        for strict in seen.saying(pair.stricter):
            for side, block in _given_way(seen, strict, pair.looser):
                yield (
                    f"{named(strict)} says {_plain(pair.stricter)} for the {side} ear; "
                    f"{block.id}, which says {_plain(pair.looser)}, was left out"
                )


def _both(seen: Seen, stricter: str, looser: str) -> Iterator[tuple[Told, Told]]:
    for strict in seen.saying(stricter):
        for loose in seen.saying(looser):
            # One block may say: dry until it has healed, and wet after that.
            if strict.one and loose.one and strict.one.block.id != loose.one.block.id:
                yield strict, loose


def _given_way(seen: Seen, strict: Told, looser: str) -> Iterator[tuple[Side, Block]]:
    """The looser blocks an ear would have been given, but for what bars them there."""
    library = seen.asked.library
    known = vocabulary(library.rules, library.source_language).get(looser)
    if known is None:
        raise Unlisted(looser)
    given = {one.block.id for one in seen.asked.choice.chosen}
    for ear in seen.case.ears:
        if not strict.of(ear.side):
            continue
        for block in library.blocks:
            barred = block.id not in given and _barred(block, ear, seen.asked.facts)
            if barred and _says(block, known):
                yield ear.side, block


def _barred(block: Block, ear: Ear, facts: frozenset[Fact]) -> bool:
    holding = facts | ear.facts
    if not holding.intersection(block.withheld_from):
        return False
    wanted: dict[str, bool] = {}
    for fact in block.given_for:
        group = fact.partition(":")[0]
        wanted[group] = wanted.get(group, False) or fact in holding
    return all(wanted.values())


def _says(block: Block, known: Known) -> bool:
    return any(
        says(sentence, known)
        for unit in block.units()
        for variant in unit.variants
        for form in variant.phrase.forms
        for sentence in sentences(text_of_source(form))
    )


def _plain(thing: str) -> str:
    return f"'{thing.replace('_', ' ')}'"


_SOURCE = "common practice, no source: the advice that is safer for the ear wins"
RULES = (
    Rule(name="opposing advice", row=23, act=Act.BLOCK, check=_opposed, source=_SOURCE),
    Rule(name="both logged", row=23, act=Act.WARN, check=_logged, source=_SOURCE),
)
LOGGED = RULES[1]

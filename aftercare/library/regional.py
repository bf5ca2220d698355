"""What a clinic's region decides: words that need a number the region does not have."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from aftercare.errors import BadContent
from aftercare.model import Block, Fact, Region


def out_of_region(block: Block, region: Region) -> Iterator[BadContent]:
    """Each slot of a block that some patient of the clinic would see and nothing can fill."""
    settled = _settled(region)
    if _may_hold(block.given_for, settled) and not settled.intersection(block.withheld_from):
        yield from _unfilled(block, settled, region)


def _settled(region: Region) -> frozenset[Fact]:
    """The facts that are the same for every patient of the clinic."""
    return frozenset(
        {
            f"region:{region.code}",
            f"advice-line:{'yes' if region.urgent_advice_number else 'no'}",
            f"emergency-text:{'yes' if region.emergency_text_number else 'no'}",
        }
    )


def _may_hold(asked: Iterable[Fact], settled: frozenset[Fact]) -> bool:
    """Whether some patient of the clinic can have one fact of every group asked for."""
    groups = {fact.partition(":")[0] for fact in settled}
    wanted = {fact for fact in asked if fact.partition(":")[0] in groups}
    return len({fact.partition(":")[0] for fact in wanted & settled}) == len(
        {fact.partition(":")[0] for fact in wanted}
    )


def _unfilled(block: Block, settled: frozenset[Fact], region: Region) -> Iterator[BadContent]:
    for unit in block.units():
        for variant in unit.variants:
            if not _may_hold(variant.when, settled):
                continue
            for slot in variant.phrase.every_slot:
                if getattr(region, slot, "elsewhere") is None:
                    yield BadContent(
                        f"{block.place}:{variant.line}",
                        f"{region.code} has no number for {{{slot}}}",
                        "add it to shared/regions.toml, or name the regions it is for",
                    )

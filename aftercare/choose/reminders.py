"""What a recall message is made of: the moment, the channel and how the reader is reached."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from aftercare.model import (
    ApprovalState,
    Block,
    Channel,
    Chosen,
    Fact,
    Library,
    Moment,
    Side,
    Unit,
)


def remind(
    library: Library, moment: Moment, channel: Channel, facts: frozenset[Fact]
) -> tuple[Chosen, ...]:
    """The blocks of a recall message in the order they are told, each with its reason.

    ``facts`` are the person's, with the condition they come back for; only those of
    ``looked_at`` change the answer, so that it can be kept. A retired block is never chosen.
    """
    return tuple(
        Chosen(block, Side.BOTH, (f"moment:{moment}", *_because(block, facts)))
        for block in library.reminders
        if _called_for(block, moment, facts) and units_on(block, channel)
    )


def units_on(block: Block, channel: Channel) -> tuple[Unit, ...]:
    """The words of a block on a channel: its short form in a text, else its body."""
    if block.channels and channel not in block.channels:
        return ()
    if channel is Channel.SMS:
        return () if block.sms is None else (block.sms,)
    return tuple(unit for part in block.parts for unit in part.units)


def subject(library: Library, moment: Moment, facts: frozenset[Fact]) -> tuple[Block, Unit] | None:
    """The subject of an e-mail at this moment, and its block; None when the shelf has none."""
    found = (
        (block, block.subject)
        for block in library.reminders
        if block.subject is not None and _called_for(block, moment, facts)
    )
    return next(found, None)


def looked_at(blocks: Iterable[Block]) -> frozenset[Fact]:
    """The facts that choose blocks, or words in them."""
    return frozenset(_named(blocks))


def _named(blocks: Iterable[Block]) -> Iterator[Fact]:
    for block in blocks:
        yield from (*block.given_for, *block.withheld_from)
        for variant in (v for unit in block.units() for v in unit.variants):
            yield from variant.when


def _called_for(block: Block, moment: Moment, facts: frozenset[Fact]) -> bool:
    if moment not in block.moments or block.approval.state is ApprovalState.RETIRED:
        return False
    wanted: dict[str, set[Fact]] = {}
    for fact in block.given_for:
        wanted.setdefault(fact.partition(":")[0], set()).add(fact)
    return facts.isdisjoint(block.withheld_from) and all(facts & one for one in wanted.values())


def _because(block: Block, facts: frozenset[Fact]) -> tuple[Fact, ...]:
    return tuple(fact for fact in block.given_for if fact in facts)

"""Block files to Blocks, and the checks that need the vocabulary."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from itertools import product

from aftercare.errors import BadContent
from aftercare.library.approval import approval, block_digest
from aftercare.library.header import BLOCK_BYTES, split
from aftercare.library.phrases import UNFIT, parse_body, parse_short
from aftercare.library.reminders import check_recall_message
from aftercare.model import (
    ACTION_KINDS,
    AcceptedAdvice,
    Block,
    Channel,
    Fact,
    FactGroup,
    Kind,
    Moment,
    Shape,
    Unit,
    Variant,
)

# A slot that can be empty, and the facts of which one must be asked for so that it is not.
SLOT_NEEDS: Mapping[str, Fact] = {
    "recall_date": "recall:agreed",
    "removed_cm": "length:noted",
    "removed_inches": "length:noted",
    "urgent_advice_number": "advice-line:yes",
    "urgent_advice_relay": "advice-line:yes",
    "emergency_text_number": "emergency-text:yes",
    "clinic_text_number": "reply:text",
}


def parse_block(place: str, raw: bytes, facts: Mapping[str, FactGroup]) -> Block:
    """One block from its file's bytes. Raises ``BadContent`` with file and line."""
    text = decode(place, raw, BLOCK_BYTES)
    parts = split(place, text)
    header, lines = parts.header, parts.key_lines
    block = Block(
        id=header.id,
        version=header.version,
        kind=Kind(header.kind),
        given_for=tuple(header.given_for),
        withheld_from=tuple(header.withheld_from),
        rank=header.rank,
        parts=parse_body(place, parts.body, parts.body_line),
        sms=parse_short(place, header.sms, lines.get("sms", 1), parts.item_lines("sms")),
        sms_detail=parse_short(
            place, header.sms_detail, lines.get("sms_detail", 1), parts.item_lines("sms_detail")
        ),
        sources=tuple(header.sources),
        author=header.author,
        approval=approval(header.approval, block_digest(header, parts.body)),
        review_by=header.review_by,
        place=place,
        accepted=tuple(AcceptedAdvice(**one.model_dump()) for one in header.accepted),
        moments=tuple(Moment(one) for one in header.moments or ()),
        channels=tuple(Channel(one) for one in header.channels or ()),
        subject=parse_short(
            place, header.subject, lines.get("subject", 1), parts.item_lines("subject")
        ),
    )
    asked = _things_asked(block) if header.actions is None else header.actions
    block = replace(block, actions=asked)
    _check_facts(block, lines, facts)
    check_recall_message(block, lines)
    for unit in block.units():
        _check_unit(block, unit, facts)
    if not block.parts and not (block.moments and (block.sms or block.subject)):
        raise BadContent(f"{place}:{parts.body_line}", "the block has no words", "write its body")
    return block


def _things_asked(block: Block) -> int:
    """One for each paragraph or item of the kinds that ask; steps in order are one thing."""
    if block.kind not in ACTION_KINDS:
        return 0
    return sum(1 if part.shape is Shape.STEPS else len(part.units) for part in block.parts)


def decode(place: str, raw: bytes, limit: int) -> str:
    """UTF-8 text of at most ``limit`` bytes, line ends made plain. Raises ``BadContent``."""
    if len(raw) > limit:
        raise BadContent(
            f"{place}:1", f"{len(raw):,} bytes, over the limit of {limit:,}", "shorten it"
        )
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise BadContent(f"{place}:{line}", "not UTF-8 text", "save it as UTF-8") from None
    bad = UNFIT.search(text)
    if bad is not None:
        line = text.count("\n", 0, bad.start()) + 1
        raise BadContent(f"{place}:{line}", f"the character U+{ord(bad[0]):04X}", "remove it")
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _check_facts(block: Block, lines: Mapping[str, int], facts: Mapping[str, FactGroup]) -> None:
    for key, named in (("for", block.given_for), ("not_for", block.withheld_from)):
        for index, fact in enumerate(named):
            line = lines.get(f"{key}.{index}", lines.get(key, 1))
            _check_fact(f"{block.place}:{line}", fact, facts)
            if fact.startswith("side:"):
                raise BadContent(
                    f"{block.place}:{line}", f"'{fact}' chooses words, not blocks",
                    "tag the sentences that differ with it",
                )  # fmt: skip
    both = sorted(set(block.given_for) & set(block.withheld_from))
    if both:
        line = lines.get("not_for", 1)
        raise BadContent(
            f"{block.place}:{line}", f"'{both[0]}' is in for and in not_for", "keep one"
        )


def _check_fact(place: str, fact: Fact, facts: Mapping[str, FactGroup]) -> None:
    name, _, value = fact.partition(":")
    if name not in facts:
        raise BadContent(place, f"no group of facts is called '{name}'", known(facts))
    if value not in facts[name].values:
        raise BadContent(place, f"'{name}' has no value '{value}'", known(facts[name].values))


def known(names: Iterable[str]) -> str:
    """The remedy for a name that does not exist: those that do."""
    return "choose from " + ", ".join(sorted(names))


def _check_unit(block: Block, unit: Unit, facts: Mapping[str, FactGroup]) -> None:
    for variant in unit.variants:
        place = f"{block.place}:{variant.line}"
        for fact in sorted(variant.when):
            _check_fact(place, fact, facts)
            group = facts[fact.partition(":")[0]]
            if not group.exclusive or (group.scope == "ear" and group.name != "side"):
                raise BadContent(
                    place,
                    f"'{fact}' cannot choose words: its group may have several answers at once",
                    "write a block of its own for it",
                )
        for slot in variant.phrase.every_slot:
            need = SLOT_NEEDS.get(slot)
            if need and not _sure(need, block, variant):
                raise BadContent(place, f"{{{slot}}} can be empty here", f"add {need} to 'for'")
    _check_cover(block, unit, facts)


def _sure(need: Fact, block: Block, variant: Variant) -> bool:
    """Whether a fact holds wherever the words are used; of a group, any one value will do."""
    group = need.partition(":")[0]
    asked = {fact for fact in block.given_for if fact.startswith(f"{group}:")}
    return asked == {need} or need in variant.when


def _check_cover(block: Block, unit: Unit, facts: Mapping[str, FactGroup]) -> None:
    """Every value of the groups a unit depends on is written out exactly once."""
    groups = sorted({fact.partition(":")[0] for v in unit.variants for fact in v.when})
    place = f"{block.place}:{unit.variants[0].line}"
    wanted = [_values(name, block, facts) for name in groups]
    for combination in product(*wanted):
        holding = [v for v in unit.variants if v.when <= set(combination)]
        if len(holding) != 1:
            said = "no words" if not holding else f"{len(holding)} wordings"
            raise BadContent(
                place, f"{said} for [{' '.join(combination)}]", "write each value out exactly once"
            )


def _values(name: str, block: Block, facts: Mapping[str, FactGroup]) -> list[Fact]:
    """The facts of a group this block can meet, given who it is for."""
    asked = [fact for fact in block.given_for if fact.startswith(f"{name}:")]
    every = asked or [f"{name}:{value}" for value in facts[name].values]
    return [fact for fact in every if fact not in block.withheld_from]

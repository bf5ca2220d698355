"""What a block of a recall message may ask, say and be filled with."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from aftercare.errors import BadContent
from aftercare.model import Block, Fact, Kind, Moment, Unit

# Who reads, how they can reach the clinic, and what they come back for; never a need or an age.
CHOSEN_BY = frozenset({"reader", "speech", "reply", "condition"})
_KINDS = frozenset({Kind.RECALL, Kind.CONTACT})
_ALWAYS = frozenset(
    {
        "patient_name", "first_name", "clinic_name", "clinic_short_name", "clinic_phone",
        "clinic_text_number", "clinic_email", "clinic_hours",
    }
)  # fmt: skip
_DUE, _ANSWER = frozenset({"due_date"}), frozenset({"answer_by_date"})
_TIME = frozenset({"appointment_date", "appointment_time", "visit_minutes"})
# What is known when a message is written, beside what always is.
KNOWN: Mapping[Moment, frozenset[str]] = {
    Moment.INVITE: _DUE | _ANSWER,
    Moment.UNBOOKED: _DUE | _ANSWER,
    Moment.OVERDUE: _DUE | _ANSWER,
    Moment.BOOKED: _TIME,
    Moment.BEFORE: _TIME,
    Moment.CHANGED: _TIME | {"former_date", "former_time"},
    Moment.CANCELLED: _ANSWER | {"former_date", "former_time"},
    Moment.MISSED: _ANSWER | {"former_date", "former_time"},
    Moment.LETTER: _DUE | _ANSWER,
}
_OF_RECALL = frozenset[str]().union(*KNOWN.values()) | {"first_name"}


def check_recall_message(block: Block, lines: Mapping[str, int]) -> None:
    """Refuse a block of recall messages that could say what they must not, or lack a slot.

    ``lines`` are the lines of the header's keys. Raises ``BadContent`` with file and line.
    """
    if not block.moments:
        _check_visit_block(block, lines)
        return
    _check_header(block, lines)
    known = _ALWAYS.union(frozenset.intersection(*(KNOWN[one] for one in block.moments)))
    for place, slot in _slots(block, block.units()):
        if slot not in known:
            names = ", ".join(block.moments)
            raise BadContent(place, f"{{{slot}}} is not known at {names}", "see content/README.md")


def _check_visit_block(block: Block, lines: Mapping[str, int]) -> None:
    for key, given in (("channels", block.channels), ("subject", block.subject)):
        if given:
            raise BadContent(
                f"{block.place}:{lines.get(key, 1)}", f"'{key}' is for recall messages",
                "remove it, or name their 'moments'",
            )  # fmt: skip
    for place, slot in _slots(block, block.units()):
        if slot in _OF_RECALL:
            raise BadContent(
                place, f"{{{slot}}} is for recall messages", "name the 'moments' of the block"
            )


def _check_header(block: Block, lines: Mapping[str, int]) -> None:
    place = block.place
    if block.kind not in _KINDS:
        raise BadContent(
            f"{place}:{lines.get('kind', 1)}", f"no recall message has '{block.kind}'",
            "choose recall, or contact for a way to reach the clinic",
        )  # fmt: skip
    if block.sms_detail is not None:
        raise BadContent(
            f"{place}:{lines.get('sms_detail', 1)}", "a recall message gives no detail", "remove it"
        )
    for key, fact in _facts(block):
        if fact.partition(":")[0] not in CHOSEN_BY:
            raise BadContent(
                f"{place}:{lines.get(key, 1)}", f"'{fact}' chooses nothing in recall messages",
                f"facts of {', '.join(sorted(CHOSEN_BY))} do",
            )  # fmt: skip


def _facts(block: Block) -> Iterator[tuple[str, Fact]]:
    yield from (("for", fact) for fact in block.given_for)
    yield from (("not_for", fact) for fact in block.withheld_from)
    words = (v for unit in block.units() for v in unit.variants)
    yield from (("", fact) for variant in words for fact in sorted(variant.when))


def _slots(block: Block, units: Iterator[Unit]) -> Iterator[tuple[str, str]]:
    """Every slot with its place."""
    for variant in (v for unit in units for v in unit.variants):
        for slot in variant.phrase.every_slot:
            yield f"{block.place}:{variant.line}", slot

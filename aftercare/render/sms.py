"""The SMS: short forms in page order, fitted to the part limit without losing what is vital."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from aftercare.model import (
    VITAL_KINDS,
    Chosen,
    Limits,
    Line,
    Purpose,
    SmsCount,
    Worded,
)
from aftercare.render.gsm import count, parts_in_gsm7
from aftercare.render.isolate import plain
from aftercare.render.plain_text import make_safe

UCS2 = "UCS-2"
_UNITS = {"GSM-7": "septets", UCS2: "16-bit units"}
Short = tuple[Chosen, Line]


@dataclass(frozen=True, slots=True)
class Texted:
    """A composed SMS: what it says, how it travels, and the blocks left out for length."""

    text: str
    count: SmsCount
    kept: tuple[Short, ...]
    dropped: tuple[str, ...]


def compose(worded: Worded, limits: Limits, purpose: Purpose) -> Texted:
    """The text for one patient.

    While it is over the limit, the block of the highest rank is dropped; urgent signs and
    the way to reach the clinic stay, even when they alone are over it.
    """
    kept, dropped = _vital_first(worded.short), []
    text, counted = _counted(worded, kept, purpose)
    for victim in _least_needed_first(kept):
        if counted.parts <= part_limit(counted, limits):
            break
        kept = [short for short in kept if short is not victim]
        dropped.append(victim[0].block.id)
        text, counted = _counted(worded, kept, purpose)
    return Texted(text, counted, tuple(kept), tuple(dropped))


def part_limit(counted: SmsCount, limits: Limits) -> int:
    """The most parts a text may take in the alphabet it travels in."""
    return limits.sms_parts_ucs2 if counted.encoding == UCS2 else limits.sms_parts


def _vital_first(short: Sequence[Short]) -> list[Short]:
    return sorted(short, key=lambda pair: pair[0].block.kind not in VITAL_KINDS)


def _least_needed_first(short: Sequence[Short]) -> list[Short]:
    spare = [pair for pair in short if pair[0].block.kind not in VITAL_KINDS]
    return sorted(spare, key=lambda pair: (pair[0].block.rank, pair[0].block.id), reverse=True)


def _counted(worded: Worded, kept: Sequence[Short], purpose: Purpose) -> tuple[str, SmsCount]:
    opening = [worded.frame["sms_open"]]
    if purpose is Purpose.SAMPLE:
        opening.insert(0, worded.frame["stamp"])
    said = [plain(line, worded.direction) for line in opening]
    if worded.help is not None:
        said.append(plain(worded.help.line, worded.help.direction))
    said += [plain(line, worded.direction) for _, line in kept]
    text = make_safe("\n".join(said), language=worded.language).text
    return text, count(text)


def sheet(counted: SmsCount) -> str:
    """The text part by part as a person checks it before it goes: each part and its size."""
    parts = len(counted.texts)
    shown = [
        f"Part {number} of {parts}, {count(text).units} {_UNITS[counted.encoding]}\n{text}"
        for number, text in enumerate(counted.texts, 1)
    ]
    total = f"{counted.encoding}, {counted.units} {_UNITS[counted.encoding]}, {parts} parts in all"
    return "\n\n".join([*shown, f"{total}{_dearer(counted)}"]) + "\n"


def _dearer(counted: SmsCount) -> str:
    """What the alphabet costs: an SMS is paid for by the part."""
    if counted.encoding != UCS2:
        return ""
    return f" ({parts_in_gsm7(''.join(counted.texts))} if GSM-7 had its letters)"

"""What people see on the screen. Names and notes are printed as text, never as markup."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

from rich.console import Console
from rich.table import Table
from rich.text import Text

from aftercare.flow import Discharge
from aftercare.model import Message, Side, Status
from aftercare.score.languages import word_unit
from aftercare.score.reading import reading
from aftercare.summary import FILES

# Wide enough for the table when nobody watches and there is no terminal to ask.
WIDTH_IN_A_PIPE = 150


def _console() -> Console:
    width = None if sys.stdout.isatty() else WIDTH_IN_A_PIPE
    return Console(markup=False, emoji=False, highlight=False, width=width)


def _say(console: Console, line: str) -> None:
    """One line, whole: a path or a sentence is never broken to fit a screen."""
    console.print(line, soft_wrap=True)


def demo_table(done: Sequence[Discharge], out: Path) -> None:
    """Every sample on one screen, then where they are and what they are not."""
    table = Table(show_lines=False, pad_edge=False)
    for heading in (
        "Patient",
        "Channel",
        "Language",
        "Grade",
        "Length",
        "Left out or withheld",
        "Recall due",
    ):
        table.add_column(heading, overflow="fold")
    for one in done:
        for number, message in enumerate(one.messages):
            table.add_row(*map(Text, _row(one, message, number)))
        table.add_section()
    console = _console()
    console.print(table)
    waiting = sorted({why for one in done for m in one.messages for why in _kinds(m)})
    _say(console, f"Samples are in {out}. They are stamped and are not for patients:")
    for why in waiting:
        _say(console, f"  {why}")


def _kinds(message: Message) -> Iterator[str]:
    """The reasons without their lists, which the summaries hold."""
    yield from (why.partition(":")[0] for why in message.would_withhold)


def _row(done: Discharge, message: Message, number: int) -> tuple[str, ...]:
    name = f"{done.case.patient.name} ({done.case.ref})" if number == 0 else ""
    recall = done.recall.on.isoformat() if done.recall else "none agreed"
    return (
        name,
        message.channel.value,
        message.language,
        _grade(message),
        _length(message),
        "; ".join(_held(message)) or "-",
        recall if number == 0 else "",
    )


def _grade(message: Message) -> str:
    if message.score.fkgl is not None:
        return f"{message.score.fkgl:.1f}"
    if message.score.own:
        name, value = message.score.own[0]
        return f"{value:.1f} ({name})"
    return "too short" if reading(message.language).scores else "not scored"


def _length(message: Message) -> str:
    if message.sms is not None:
        return f"{message.sms.parts} parts, {message.sms.encoding}"
    if message.pages is not None:
        return f"{message.pages} page{'' if message.pages == 1 else 's'}"
    return f"{message.score.counts.words} {word_unit(message.language)}s"


def _held(message: Message) -> Iterator[str]:
    yield from message.withheld_because
    yield from message.findings
    if message.dropped:
        yield f"for length: {', '.join(message.dropped)}"


def outcome(done: Discharge, out: Path) -> None:
    """One visit's messages, a line each, with what to do about those withheld."""
    console = _console()
    for line in _outcome(done, out):
        _say(console, line)


def _outcome(done: Discharge, out: Path) -> Iterator[str]:
    yield done.case.ref
    for message in done.messages:
        if message.status is Status.RELEASED:
            file = out / done.case.ref / FILES[message.channel]
            yield f"  {message.channel}: {file} ({_length(message)})"
        else:
            yield f"  {message.channel}: WITHHELD, nothing was written"
        for why in _held(message):
            yield f"    {why}"
        for kept in message.noted:
            if kept not in message.findings:
                yield f"    on record: {kept}"
    yield from _next(done)
    if done.recall:
        yield f"  recall due {done.recall.on}: {done.recall.reason}"
    else:
        yield f"  no recall: {done.case.recall_declined}"


# What somebody can do about a reason to withhold, by how the reason begins.
_REMEDIES = {
    "not approved by a clinician": "a clinician reads it, then 'aftercare content approve ID'",
    "edited since it was approved": "read it again, then 'aftercare content approve ID'",
    "past its review date": "review it, set a new review_by, and approve it again",
    "translation": "a named translator approves it in locales/<language>/approvals.toml",
}


def _next(done: Discharge) -> Iterator[str]:
    """What to do about what was withheld; the patient still needs the words today."""
    reasons = [why for message in done.messages for why in message.withheld_because]
    if not reasons:
        return
    yield "  the patient still needs this advice today: give it by your usual means"
    for begins, remedy in _REMEDIES.items():
        if any(why.startswith(begins) for why in reasons):
            yield f"  next, for '{begins}': {remedy}"


def reasons(done: Discharge) -> None:
    """Which fact chose which block, its sentences, and every block left out with its reason."""
    console = _console()
    for line in _reasons(done):
        _say(console, line)


def _ears(side: Side) -> str:
    return "both ears" if side is Side.BOTH else f"{side} ear"


def _reasons(done: Discharge) -> Iterator[str]:
    told: dict[str, list[str]] = {}
    for line in done.worded.lines():
        told.setdefault(line.block_id, []).append(line.text)
    yield f"{done.case.ref}: chosen from library {done.library.fingerprint}"
    for one in done.choice.chosen:
        block = one.block
        yield ""
        yield (
            f"{block.id} {block.version} ({block.kind}, {_ears(one.side)}, {block.approval.state}) "
            f"because {', '.join(one.because)}"
        )
        # A block told once for each ear has its sentences in the order of the ears.
        for _ in (unit for part in block.parts for unit in part.units):
            yield f"    {told[block.id].pop(0)}"
    yield ""
    yield "Left out"
    for omitted in done.choice.omitted:
        yield f"  {omitted.block_id}: {omitted.because}"

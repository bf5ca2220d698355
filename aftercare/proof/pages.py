"""How many pages a leaflet can take, and whose takes the most.

Lines are added up as if every letter had the same width, the leaflet with the most of them is
found exactly, and that one is laid out. So the pages told are a real leaflet's; that no other
takes more is likely, and is not proved.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from math import ceil

from aftercare.flow import Press, discharge
from aftercare.model import VITAL_KINDS, Channel, Kind, Library, Message, Purpose, Side
from aftercare.proof.editing import Finding
from aftercare.proof.programme import Programme, Sign
from aftercare.proof.space import Asked
from aftercare.proof.spoken import Speech
from aftercare.proof.witness import case_of

LARGE = "format:large-print"
# Letters on a line of A4 at 14 point, and what a line, a gap and a heading take up, in lines.
_LETTERS, _GAP, _HEADING = 78, 0.35, 3.0


@dataclass(frozen=True, slots=True)
class Pages:
    """The pages of the longest leaflet in standard and in large print, and whose it is.

    None where the language lacks words for it; ``refused`` is why it could not be laid out.
    """

    standard: int | None
    large: int | None
    held: frozenset[Asked]
    refused: tuple[str, ...] = ()

    def findings(self, library: Library, language: str) -> Iterator[Finding]:
        """What is over the clinic's limits."""
        limits = library.limits
        for why in self.refused:
            yield Finding(
                block="shelf", file="content", language=language, problem=f"print: {why}",
                help="shorten what this patient is told",
                case=tuple(map(str, sorted(self.held))),
            )  # fmt: skip
        for name, found, most in (
            ("standard print", self.standard, limits.print_pages),
            ("large print", self.large, limits.print_pages_large),
        ):
            if found is not None and found > most:
                yield Finding(
                    block="shelf", file="content", language=language,
                    problem=f"print: {found} pages in {name}, limit {most}",
                    help="shorten what this patient is told",
                    case=tuple(map(str, sorted(self.held))),
                )  # fmt: skip


def pages(speech: Speech, programme: Programme, press: Press, today: date) -> Pages:
    """The longest leaflet of a language, laid out in both sizes of print."""
    found = programme.most(
        [*_lines(speech, programme), *_headings(speech, programme)],
        [programme.holds("route:print", Side.LEFT), ~programme.holds(LARGE, Side.LEFT)],
    )
    if found is None:
        return Pages(None, None, frozenset())
    held = found.held
    standard = _laid_out(held, speech, press, today)
    large = _laid_out(held | {Asked(LARGE)}, speech, press, today)
    refused = dict.fromkeys((*_refused(standard), *_refused(large)))
    return Pages(standard.pages, large.pages, held, tuple(refused))


def boxes_that_do_not_fit(
    speech: Speech, programme: Programme, press: Press, today: date
) -> Iterator[Finding]:
    """Whether the most there can be of urgent signs and contact fits its page in large print.

    A box is never split, so that is asked apart of the longest leaflet.
    """
    vital = [one for one in speech.lines if one.told.kind in VITAL_KINDS]
    found = programme.most(
        [(programme.line(one), ceil(len(one.told.line.text) / _LETTERS) + _GAP) for one in vital],
        [programme.holds("route:print", Side.LEFT)],
    )
    if found is not None:
        held = found.held | {Asked(LARGE)}
        for why in _refused(_laid_out(held, speech, press, today)):
            yield Finding(
                block="shelf", file="content", language=speech.language, problem=f"print: {why}",
                help="shorten the urgent signs and the ways to reach the clinic",
                case=tuple(map(str, sorted(held))),
            )  # fmt: skip


def _lines(speech: Speech, programme: Programme) -> Iterator[tuple[Sign, float]]:
    for one in speech.lines:
        yield programme.line(one), ceil(len(one.told.line.text) / _LETTERS) + _GAP


def _headings(speech: Speech, programme: Programme) -> Iterator[tuple[Sign, float]]:
    for kind in Kind:
        lines = (programme.line(one) for one in speech.lines if one.told.kind is kind)
        yield programme.any_of(lines), _HEADING


def _refused(message: Message) -> Iterator[str]:
    """Why a leaflet of words that are all there was not laid out."""
    if message.pages is None and message.score.counts.words:
        yield from (why for why in message.withheld_because if not why.startswith("translation"))


def _laid_out(held: frozenset[Asked], speech: Speech, press: Press, today: date) -> Message:
    """It as a sample."""
    done = discharge(
        case_of(held, speech.language, today), speech.library, press=press, today=today,
        purpose=Purpose.SAMPLE, channels=[Channel.PRINT],
    )  # fmt: skip
    return done.messages[0]

"""How many pages a leaflet can take: the worst that was found, and that none takes more.

The press tries one layout after another and takes the first within the clinic's limit, so it is
enough that the last of them always is (``layout``: what it is, as sums). With what follows, a
page is left with as much room as it has, less than what goes to the next page together:

- A box goes whole. For every way the pages can end before boxes, the most is asked that can
  then stand on the last of these pages and after, of those whose boxes fill the pages before.
- In the flow less than a line with the space above it, or than a heading with the first line
  below it, is left over. The ending goes whole too, but nothing comes after it.

With N pages full of that and some left, there are N + 1 pages or more: so a leaflet of height T
whose boxes end b pages, the rest of its words counted from the top of the page they end on,
takes no more than N if T <= N * room - (N - 1 - b) * chunk. The programme may allow for
leaflets nobody gets; it leaves none out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import combinations, pairwise
from typing import Protocol

from aftercare.flow import Press, discharge
from aftercare.model import Channel, Library, Message, Purpose, Side
from aftercare.proof.editing import Finding
from aftercare.proof.heights import Ruler, measured
from aftercare.proof.layout import Amount, Box, Layout, joined, layout
from aftercare.proof.programme import Programme, Worst
from aftercare.proof.shelf import example
from aftercare.proof.signs import ALWAYS, Between, Sign
from aftercare.proof.space import Asked, Condition, Space
from aftercare.proof.spoken import Speech
from aftercare.proof.witness import case_of

PRINTED, LARGE = "route:print", "format:large-print"
# The solver's own slack, and a hair's breadth on paper.
_SLACK = 0.01
_SHORTEN_ALL = "shorten what this patient is told"
_SHORTEN_BOX = "shorten the urgent signs and the ways to reach the clinic"


class Paper(Press, Ruler, Protocol):
    """Lays out leaflets, and measures what they are made of."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Longest:
    """The longest leaflet of one size of print.

    ``found`` is its pages as it was laid out, for the patient of whom ``held`` is recorded, and
    ``most`` what is proved: no leaflet takes more. ``limit`` is the clinic's.
    """

    size: str
    found: int | None
    most: int
    limit: int
    held: frozenset[Asked]


@dataclass(frozen=True, slots=True)
class Pages:
    """The longest leaflets of a language; none where it lacks words or nobody is sent paper."""

    sizes: tuple[Longest, ...]
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class Reckoned:
    """The most pages, what is on them with the room boxes leave empty, and whose leaflet it is."""

    pages: int
    total: float
    held: frozenset[Asked]


def pages(speech: Speech, programme: Programme, paper: Paper, today: date) -> Pages:
    """The longest leaflets of a language, and the proof that none is longer."""
    found: list[Longest] = []
    wrong = list(_joined(speech))
    for size in _sizes(speech.library):
        heights = measured(speech, paper, size.point)
        if heights is None:
            return Pages(())
        page = layout(speech, heights, programme)
        tallest = [tallest_of(box, size, speech) for box in page.boxes]
        worst = reckoned(page, tallest, size.where(programme), programme, enough=size.limit)
        if worst is not None:
            wrong += _boxes_that_do_not_fit(page, tallest, size, speech)
            message = _laid_out(worst.held, speech, paper, today)
            one = Longest(
                size=size.name, found=message.pages, most=max(worst.pages, size.limit),
                limit=size.limit, held=worst.held,
            )  # fmt: skip
            found.append(one)
            wrong += _findings(one, message, speech.language)
    return Pages(tuple(found), tuple(wrong))


# --- the two sizes ------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Size:
    """A size of print: in points, how many pages it may take, and whether it is the large one."""

    name: str
    point: float
    limit: int
    large: bool

    def where(self, programme: Programme) -> tuple[Sign, Sign]:
        """The signs of whoever is sent it."""
        printed, large = (programme.holds(fact, Side.LEFT) for fact in (PRINTED, LARGE))
        return printed, large if self.large else ~large

    def sent(self, space: Space) -> Condition:
        """Who is sent it."""
        printed, large = map(space.holds, (PRINTED, LARGE))
        return printed & (large if self.large else ~large)


def _sizes(library: Library) -> tuple[_Size, _Size]:
    limits = library.limits
    return (
        _Size("standard print", limits.print_point, limits.print_pages, large=False),
        _Size("large print", limits.large_print_point, limits.print_pages_large, large=True),
    )


# --- the bound ----------------------------------------------------------------------------


def tallest_of(box: Box, size: _Size, speech: Speech) -> Worst:
    """The most that one box comes to, whatever else there is on the page."""
    space = speech.space
    found = {0.0: speech.everybody & size.sent(space)}
    for who, tall in box.told:
        more: dict[float, Condition] = {}
        for total, those in found.items():
            for new, part in ((total, those & ~who), (total + tall, those & who)):
                if part.satisfiable():
                    new = round(new, 3)
                    more[new] = more[new] | part if new in more else part
        found = more
    most = max(found, default=0.0)
    return Worst(most, space.example(found[most]) if found else frozenset())


def reckoned(
    page: Layout,
    tallest: Sequence[Worst],
    where: Sequence[Sign],
    programme: Programme,
    *,
    enough: int,
) -> Reckoned | None:
    """The most pages a leaflet can need, over all the ways its pages can end before a box.

    Ways that surely need no more than ``enough`` are not looked into. None where nobody fits
    ``where``.
    """
    longest = programme.most([(ALWAYS, page.head), *_tall(page.boxes), *page.flow], where)
    if longest is None:
        return None
    worst = Reckoned(_pages(longest.total, 0, page), longest.total, longest.held)
    later = range(1, len(page.boxes))
    for ends in (ends for many in later for ends in combinations(later, many)):
        # What is pushed to a new page leaves less room than it takes empty on the old one.
        most = longest.total + sum(tallest[end].total for end in ends)
        needed = _pages(most, len(ends), page) > max(enough, worst.pages)
        if needed and _may_end_before(ends, page, tallest):
            one = _ending_before(ends, page, where, programme)
            worst = max(worst, one or worst, key=lambda found: (found.pages, found.total))
    return worst


def _may_end_before(ends: Sequence[int], page: Layout, tallest: Sequence[Worst]) -> bool:
    """Whether the fullest boxes would fill these pages and be too much for them."""
    return all(
        (0 if start else page.head) + sum(box.total for box in tallest[start : end + 1])
        >= page.room
        for start, end in pairwise([0, *ends])
    )


def _ending_before(
    ends: Sequence[int], page: Layout, where: Sequence[Sign], programme: Programme
) -> Reckoned | None:
    """The most pages where the first ones end before just these boxes; None if nobody's do."""
    full = [
        Between((*_first(start, page), *_tall(page.boxes[start : end + 1])), least=page.room)
        for start, end in pairwise([0, *ends])
    ]
    worst = programme.most(
        [*_tall(page.boxes[ends[-1] :]), *page.flow],
        [*where, *(page.boxes[end].there for end in ends)],
        full,
    )
    if worst is None:
        return None
    total = len(ends) * page.room + worst.total
    return Reckoned(_pages(total, len(ends), page), total, worst.held)


def _first(start: int, page: Layout) -> Iterator[Amount]:
    """What stands above the first box of a page."""
    if start == 0:
        yield ALWAYS, page.head


def _tall(boxes: Sequence[Box]) -> Iterator[Amount]:
    for box in boxes:
        yield from box.tall


def _pages(total: float, ended: int, page: Layout) -> int:
    """The fewest pages that surely hold so much, when this many of them ended before a box."""
    many = ended + 1
    while total + _SLACK > many * page.room - (many - 1 - ended) * page.chunk:
        many += 1
    return many


# --- what is wrong ------------------------------------------------------------------------


def _boxes_that_do_not_fit(
    page: Layout, tallest: Sequence[Worst], size: _Size, speech: Speech
) -> Iterator[Finding]:
    """A box is never split, and the first stands on page 1."""
    for number, (box, most) in enumerate(zip(page.boxes, tallest, strict=True)):
        if most.total + (0 if number else page.head) > page.room:
            yield _finding(
                f"print: a box under '{box.kind}' does not fit on its page in {size.name}",
                _SHORTEN_BOX, most.held, speech.language,
            )  # fmt: skip


def _joined(speech: Speech) -> Iterator[Finding]:
    who = joined(speech)
    if speech.space.anybody_fits(who):
        yield Finding(
            block="shelf", file="content", language=speech.language,
            problem="print: some patients are told urgent signs without the line above them, or"
            " that line without signs: how many pages they get is not proved",
            help="give the blocks with signs to whoever is given their first line, and no others",
            **example(speech.reach, who),
        )  # fmt: skip


def _findings(one: Longest, message: Message, language: str) -> Iterator[Finding]:
    """What is over the clinic's limits, or could not be laid out though all words are there."""
    if message.pages is None and message.score.counts.words:
        for why in message.withheld_because:
            if not why.startswith("translation"):
                yield _finding(f"print: {why}", _SHORTEN_ALL, one.held, language)
    if one.found is not None and one.found > one.limit:
        problem = f"print: {one.found} pages in {one.size}, limit {one.limit}"
        yield _finding(problem, _SHORTEN_ALL, one.held, language)
    elif one.most > one.limit:
        problem = f"print: {one.most} pages in {one.size} are not ruled out, limit {one.limit}"
        yield _finding(problem, _SHORTEN_ALL, one.held, language)


def _finding(problem: str, help_with: str, held: frozenset[Asked], language: str) -> Finding:
    return Finding(
        block="shelf", file="content", language=language, problem=problem, help=help_with,
        case=tuple(map(str, sorted(held))),
    )  # fmt: skip


def _laid_out(held: frozenset[Asked], speech: Speech, press: Press, today: date) -> Message:
    """It as a sample."""
    done = discharge(
        case_of(held, speech.language, today), speech.library, press=press, today=today,
        purpose=Purpose.SAMPLE, channels=[Channel.PRINT],
    )  # fmt: skip
    return done.messages[0]

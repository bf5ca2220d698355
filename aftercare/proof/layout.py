"""A leaflet on paper as sums over what is told: its boxes, and what flows after them.

This is the last of the ways the press tries (``edges.press``): lines close together, urgent signs
and contact first, a box to each group of signs, and a page may end after any line. A group is a
paragraph with the lists that follow it. Which lines make a group is worked out beforehand, so
nobody may be told a list without the paragraph it belongs to, nor two such paragraphs in a row
from different groups: ``joined`` says who is.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

from aftercare.choose import OF_ONE_EAR
from aftercare.model import VITAL_KINDS, Kind, Shape, Side
from aftercare.proof.heights import Measured, gap, shape_of
from aftercare.proof.programme import Programme
from aftercare.proof.signs import ALWAYS, Sign
from aftercare.proof.space import Condition, Space
from aftercare.proof.spoken import Speech, Spoken

Amount = tuple[Sign, float]
_HEADING, _BOX, _ENDING = "heading", "box", "ending"
_PARAGRAPHS = Shape.PARAGRAPHS.value
_ABOVE_HEADING = (*(shape.value for shape in Shape), _BOX)


@dataclass(frozen=True, slots=True)
class Run:
    """Lines of one shape that one block has in a row, told of any ear."""

    shape: Shape
    lines: tuple[Spoken, ...]


@dataclass(frozen=True, slots=True)
class Group:
    """Runs that stand together, in order, and whether the heading of their kind is over them."""

    kind: Kind
    headed: bool
    runs: tuple[Run, ...]

    def lines(self) -> Iterator[Spoken]:
        """Every line of it."""
        for run in self.runs:
            yield from run.lines


@dataclass(frozen=True, slots=True)
class Box:
    """A box on the page: whether it is there, and what it takes up with the space above it.

    ``told`` says the same as ``tall``, as conditions.
    """

    kind: Kind
    there: Sign
    tall: tuple[Amount, ...]
    told: tuple[tuple[Condition, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """All leaflets of a language in one size of print, in points.

    ``head`` stands above the boxes and ``flow`` below them; ``boxes`` come in order. Where a
    page ends in the flow, less than ``chunk`` is left empty on it.
    """

    room: float
    head: float
    boxes: tuple[Box, ...]
    flow: tuple[Amount, ...]
    chunk: float


def layout(speech: Speech, measured: Measured, programme: Programme) -> Layout:
    """What everybody's leaflet comes to, in the signs of this programme."""
    adding = _Adding(measured, programme, speech.space)
    vital, others = boxes_of(speech), sections_of(speech)
    return Layout(
        room=measured.pieces.page,
        head=measured.pieces.head,
        boxes=tuple(map(adding.box, vital)),
        flow=(
            (ALWAYS, adding.visit() + adding.ending()),
            *(amount for section in others for amount in adding.section(section)),
        ),
        chunk=max(adding.first_lines(others)),
    )


# --- what stands together -----------------------------------------------------------------


def sections_of(speech: Speech) -> tuple[Group, ...]:
    """What flows after the boxes, kind by kind."""
    every = _by_kind(speech)
    return tuple(Group(kind, True, runs) for kind, runs in every if kind not in VITAL_KINDS)


def boxes_of(speech: Speech) -> tuple[Group, ...]:
    """The boxes: a section's first runs, then from each paragraph that follows a list."""
    found: list[Group] = []
    for kind, runs in _by_kind(speech):
        if kind in VITAL_KINDS:
            cuts = [0, *(at for at in range(1, len(runs)) if _begins(runs, at)), len(runs)]
            pieces = [runs[one:other] for one, other in pairwise(cuts)]
            found += [Group(kind, number == 0, piece) for number, piece in enumerate(pieces)]
    return tuple(found)


def _begins(runs: Sequence[Run], at: int) -> bool:
    return runs[at].shape is Shape.PARAGRAPHS and runs[at - 1].shape is not Shape.PARAGRAPHS


def _by_kind(speech: Speech) -> Iterator[tuple[Kind, tuple[Run, ...]]]:
    """The lines of every block, part by part; of a block told of each ear apart, ear by ear."""
    order = {one: number for number, one in enumerate(block.id for block in speech.reach.blocks)}
    told = sorted(
        (one for one in speech.lines if one.telling),
        key=lambda one: (order[one.told.line.block_id], _ear_of(one), one.part, one.unit),
    )
    for kind in Kind:
        mine = [one for one in told if one.told.kind is kind]
        runs = groupby(mine, key=lambda one: (one.told.line.block_id, _ear_of(one), one.part))
        made = tuple(Run(shape_of(lines[0]), lines) for _, same in runs for lines in [tuple(same)])
        if made:
            yield kind, made


def _ear_of(one: Spoken) -> int:
    """Which telling of its block a line is in, where there can be more than one."""
    if one.telling is None or not OF_ONE_EAR.intersection(one.telling.block.given_for):
        return 0
    return list(Side).index(one.telling.side)


def joined(speech: Speech) -> Condition:
    """Whose boxes are not the groups as they are worked out here."""
    space = speech.space
    found = space.nobody
    for _, same in groupby(boxes_of(speech), key=lambda group: group.kind):
        section = list(same)
        every, first = (space.any_of(one.who for one in lines) for lines in _parts(section))
        found |= every & ~first
        after = space.nobody
        for group in section:
            wrong, after = _joins(group, after, speech)
            found |= wrong
    return found & speech.everybody


def _parts(section: Sequence[Group]) -> tuple[list[Spoken], list[Spoken]]:
    return [one for group in section for one in group.lines()], list(section[0].lines())


def _joins(group: Group, after: Condition, speech: Speech) -> tuple[Condition, Condition]:
    """Whose group begins wrong after others that end with a paragraph; and whose ends with one."""
    space = speech.space
    wrong, lead, before = space.nobody, space.nobody, after
    for run in group.runs:
        who = space.any_of(one.who for one in run.lines)
        if run.shape is Shape.PARAGRAPHS:
            wrong |= who & before
            lead, after = lead | who, after | who
        else:
            wrong |= who & ~lead
            after = after & ~who
    return (space.nobody if group.headed else wrong), after


# --- what it takes up ---------------------------------------------------------------------


class _Adding:
    """Heights as amounts, each where its sign holds."""

    def __init__(self, measured: Measured, programme: Programme, space: Space) -> None:
        self._measured, self._programme, self._space = measured, programme, space
        self._pieces = measured.pieces

    def box(self, group: Group) -> Box:
        """What a group takes up in a box of its own, with the space above."""
        frame = gap(self._pieces, [_BOX, _PARAGRAPHS], _BOX) + self._pieces.padding
        frame += self._heading(group)
        lines = [(one, above + self._tall(one)) for one, above in self._with_space(group)]
        there, somebody = self._any(group), self._space.any_of(one.who for one in group.lines())
        return Box(
            kind=group.kind,
            there=there,
            tall=((there, frame), *((self._programme.line(one), tall) for one, tall in lines)),
            told=((somebody, frame), *((one.who, tall) for one, tall in lines)),
        )

    def section(self, group: Group) -> Iterator[Amount]:
        """What a section takes up, with the space above its heading."""
        above = gap(self._pieces, _ABOVE_HEADING, _HEADING)
        yield self._any(group), above + self._heading(group)
        for one, space in self._with_space(group):
            yield self._programme.line(one), space + self._tall(one)

    def visit(self) -> float:
        """The line that says which visit it was, below the boxes."""
        return self._above_visit() + self._measured.visit.whole

    def ending(self) -> float:
        """What stands after the last section."""
        return gap(self._pieces, _ABOVE_HEADING, _ENDING) + self._pieces.ending

    def first_lines(self, sections: Iterable[Group]) -> Iterator[float]:
        """What goes to the next page together: a line, or a heading with the line below it."""
        yield self._above_visit() + self._measured.visit.line
        over = gap(self._pieces, _ABOVE_HEADING, _HEADING)
        for group in sections:
            heading = over + self._measured.headings[group.kind].whole
            for one, above in self._with_space(group):
                line = self._measured.lines[one].line
                yield above + line
                if one.unit == 0:
                    yield heading + self._pieces.gaps[_HEADING][shape_of(one).value] + line

    def _above_visit(self) -> float:
        return gap(self._pieces, [_BOX, _PARAGRAPHS], _PARAGRAPHS)

    def _any(self, group: Group) -> Sign:
        return self._programme.any_of(map(self._programme.line, group.lines()))

    def _heading(self, group: Group) -> float:
        return self._measured.headings[group.kind].whole if group.headed else 0.0

    def _tall(self, one: Spoken) -> float:
        return self._measured.lines[one].whole

    def _with_space(self, group: Group) -> Iterator[tuple[Spoken, float]]:
        """Each line with the most space that can be above it."""
        before = [_HEADING] if group.headed else []
        for run in group.runs:
            above = gap(self._pieces, before, run.shape.value)
            for one in run.lines:
                yield one, self._within(run.shape) if one.unit else above
            before.append(run.shape.value)

    def _within(self, shape: Shape) -> float:
        name = shape.value
        return self._pieces.step if shape is Shape.STEPS else self._pieces.gaps[name][name]

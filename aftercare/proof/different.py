"""How many different answers everybody together can give: leaflets counted, none of them listed.

Questions are answered one after another, and what no later question turns on is forgotten on
the way. So everybody who differs no more is one, and the count is exact.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from aftercare.proof.space import Asked, Condition, Space


def different(
    space: Space, groups: Iterable[Iterable[Condition]], who: Condition | None = None
) -> int:
    """How many different answers to these questions, taken together, anybody in ``who`` can give.

    The groups are asked in turn, each in the order that leaves the fewest facts to bear in mind.
    """
    questions = [one for group in groups for one in _in_good_order(space, group)]
    later = _asked_later(space, questions)
    known: dict[tuple[int, Condition], int] = {}

    def answers(who: Condition, number: int) -> int:
        if not who.satisfiable():
            return 0
        if number == len(questions):
            return 1
        who = who.exists(later[number])
        key = (number, who)
        if key not in known:
            asked = questions[number]
            known[key] = answers(who & asked, number + 1) + answers(who & ~asked, number + 1)
        return known[key]

    return answers(space.recorded(space.possible if who is None else space.possible & who), 0)


def _in_good_order(space: Space, group: Iterable[Condition]) -> Iterator[Condition]:
    """The question next that opens the fewest facts, after those that are open already.

    A question that turns on nothing is none.
    """
    left = [(question, space.support(question)) for question in group]
    left = [(question, turns_on) for question, turns_on in left if turns_on]
    opened: set[Asked] = set()
    while left:
        cheapest = min(left, key=lambda one: len(one[1] - opened))
        left.remove(cheapest)
        opened |= cheapest[1]
        yield cheapest[0]


def _asked_later(space: Space, questions: Sequence[Condition]) -> list[Condition]:
    """For each question, the facts that neither it nor any after it turns on."""
    found: list[Condition] = []
    needed: set[Asked] = set()
    for question in reversed(questions):
        needed |= space.support(question)
        found.append(space.cube(asked for asked in space.questions if asked not in needed))
    return found[::-1]

"""People who wait and clinics to plan them into, made up."""

from __future__ import annotations

from datetime import date, timedelta
from random import Random

from aftercare.recall.catch_up import Opening, Span, Waiting
from aftercare.recall.risk import Stake

START = date(2026, 11, 30)  # a Monday
CAVITY, GENERAL = frozenset({"cavity", "general"}), frozenset({"general"})
SKILLS = {"cavity": CAVITY, "general": GENERAL}


def week(number: int) -> Span:
    """The week so many after the first."""
    monday = START + timedelta(weeks=number)
    return Span(monday, monday + timedelta(days=6))


def opening(
    number: int, slots: int = 1, *, minutes: int = 20, skill: str = "general", shared: bool = False
) -> Opening:
    """Slots in the week so many after the first, counted on its Thursday."""
    return Opening(
        when=week(number),
        day=START + timedelta(weeks=number, days=3),
        minutes=minutes,
        skill=skill,
        skills=SKILLS[skill],
        slots=slots,
        shared=shared,
    )


def waiting(
    ref: str,
    *,
    weight: int = 1,
    over: int = 0,
    left: int = 3650,
    minutes: int = 20,
    skill: str = "general",
    listed: int = 0,
    promised: Span | None = None,
    told: bool = False,
) -> Waiting:
    """Somebody ``over`` days overdue on the first day who has ``left`` days to the limit."""
    return Waiting(
        ref=ref,
        stake=Stake(
            condition="made-up",
            weight=weight,
            limit_weeks=1,
            minutes=minutes,
            skills=frozenset({skill}),
        ),
        due=START - timedelta(days=over),
        limit=START + timedelta(days=left),
        listed=listed,
        promised=promised,
        told=told,
    )


_LINES = (
    # weight, weeks to the limit, minutes, skill, how common
    (8, 26, 30, "cavity", 3),
    (6, 8, 20, "general", 1),
    (4, 26, 20, "general", 2),
    (3, 26, 15, "general", 1),
    (1, 52, 20, "general", 4),
    (2, 39, 20, "general", 1),
)


def many_waiting(number: int, *, seed: int = 1, longest: int = 1460) -> list[Waiting]:
    """People of six conditions, overdue up to ``longest`` days, most of them not so long."""
    dice = Random(seed)  # noqa: S311 - not a secret
    people = []
    for at in range(number):
        weight, limit, minutes, skill, _ = dice.choices(_LINES, [line[-1] for line in _LINES])[0]
        over = min(int(dice.expovariate(1 / 250)), longest)
        left = 7 * limit - over
        ref = f"p-{at:05}"
        people.append(
            waiting(
                ref, weight=weight, over=over, left=left, minutes=minutes, skill=skill, listed=at
            )
        )
    return people


def many_openings(weeks: int, slots: int, *, shared: bool = False) -> list[Opening]:
    """Every week four kinds of slots, ``slots`` of each."""
    kinds = ((30, "cavity"), (20, "general"), (15, "general"), (20, "cavity"))
    plain = [
        opening(number, slots, minutes=minutes, skill=skill)
        for number in range(weeks)
        for minutes, skill in kinds
    ]
    long = [
        opening(number, slots, minutes=60, skill="cavity", shared=True) for number in range(weeks)
    ]
    return plain + long if shared else plain

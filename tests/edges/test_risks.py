"""The order of risk: what ships, and what is refused with its line."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

import pytest

from aftercare.edges.risks import PLACE, parse_risks
from aftercare.errors import BadContent
from aftercare.model import Library

FACTS = frozenset({"condition:open-cavity", "condition:wax"})
FILE = """\
[catch_up]
limits = "held"
passing_weeks = 26
invite_weeks_before = 3
share_who_come = 1.0

[skills]
general = []
cavity = ["general"]
both = ["cavity"]

[risk.open-cavity]
weight = 8
limit_weeks = 26
minutes = 30
skill = "cavity"
source = "proposed"

[risk.other]
weight = 2
limit_weeks = 39
minutes = 40
skill = "general"
source = "proposed"
"""


def test_the_order_that_ships_covers_every_condition_and_says_it_is_a_proposal(
    shelf: Mapping[str, bytes], library: Library
) -> None:
    facts = {f"condition:{name}" for name in library.facts["condition"].values}

    order = parse_risks(shelf[PLACE], facts)

    assert set(order.lines) == {*facts, "other"}
    assert all("proposed" in line.source for line in order.lines.values())


def test_no_line_can_be_about_anything_but_a_condition(shelf: Mapping[str, bytes]) -> None:
    """Age, sex, language, origin and disability cannot enter: there is no place for them."""
    for line in ("[risk.adult]\n", '[risk."age:adult"]\n'):
        text = FILE + line + FILE.split("[risk.other]\n")[1]
        with pytest.raises(BadContent, match="no condition"):
            parse_risks(text.encode(), FACTS)


def test_several_conditions_count_by_the_worst_of_each() -> None:
    order = parse_risks(FILE.encode(), FACTS)

    both = order.of(["condition:wax", "condition:open-cavity"])

    assert (both.condition, both.weight, both.limit_weeks) == ("open-cavity", 8, 26)
    assert (both.minutes, both.skills) == (40, {"cavity", "general"})
    assert order.of([]) == order.of(["condition:wax"])
    assert order.of([]).condition == "other"
    assert both.limit(date(2026, 1, 1)) == date(2026, 7, 2)


def test_what_a_skill_may_do_is_followed_all_the_way() -> None:
    skills = parse_risks(FILE.encode(), FACTS).skills
    assert skills["both"] == {"both", "cavity", "general"}
    assert skills["general"] == {"general"}


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("weight = 8", "weight = 0", ":13: 'risk.open-cavity.weight'"),
        ("weight = 8", "weight = 1.5", ":13: 'risk.open-cavity.weight'"),
        ('skill = "cavity"', 'skill = "laser"', ":16: no skill 'laser'"),
        ('cavity = ["general"]', 'cavity = ["laser"]', ":7: no skill 'laser'"),
        ("[risk.other]", "[risk.wax]", "no [risk.other]"),
        ("[risk.open-cavity]", "[risk.nose]", ":12: no condition 'nose'"),
        ('limits = "held"', 'limits = "kept"', ":2: 'catch_up.limits'"),
        ("passing_weeks = 26", "passing_weeks = -1", ":3: 'catch_up.passing_weeks'"),
        ("share_who_come = 1.0", "share_who_come = 0.0", ":5: 'catch_up.share_who_come'"),
        ("minutes = 30", "minutes = 30\nage = 70", "'risk.open-cavity.age'"),
        ("[catch_up]", "[catch_up", ":1: not TOML"),
    ],
)
def test_what_cannot_be_reckoned_with_is_refused_with_its_line(
    old: str, new: str, said: str
) -> None:
    assert old in FILE
    with pytest.raises(BadContent) as refused:
        parse_risks(FILE.replace(old, new, 1).encode(), FACTS)
    assert said in str(refused.value)
    assert str(refused.value).startswith(PLACE)

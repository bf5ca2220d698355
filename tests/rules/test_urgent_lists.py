"""A sign is in time by its own words, or by the urgent list it stands in."""

from __future__ import annotations

import sys
from typing import Any

import pytest
from made_up import TODAY

from aftercare.model import (
    Channel,
    Choice,
    Counts,
    Kind,
    Library,
    Message,
    Score,
    Status,
    Worded,
)
from aftercare.rules import Asked
from aftercare.rules.seen import Seen

SAME_DAY = (Kind.URGENT, "Contact us the same day for any of these:")
IN_DAYS = (Kind.URGENT, "Contact us within three days for any of these:")
PAIN = (Kind.URGENT, "Bad pain.")
DULL = (Kind.URGENT, "Dull hearing.")
NORMAL_DULL = (Kind.NORMAL, "Dull hearing is common.")
NORMAL_SOON = (Kind.NORMAL, "Ask us the same day if you like.")
NORMAL_LATER = (Kind.NORMAL, "Ringing can last a week.")
BOTH = (Kind.NORMAL, "Contact us the same day for dull hearing.")


@pytest.mark.parametrize(
    ("lines", "in_time"),
    [
        ([DULL], [False]),
        ([BOTH], [True]),
        ([SAME_DAY, DULL], [True]),
        ([SAME_DAY, PAIN, DULL, DULL], [True, True]),
        ([IN_DAYS, DULL], [False]),
        ([SAME_DAY, PAIN, IN_DAYS, DULL], [False]),
        ([IN_DAYS, PAIN, SAME_DAY, DULL], [True]),
        # Outside the list it is no longer in it, nor is what stands after that.
        ([SAME_DAY, NORMAL_DULL], [False]),
        ([SAME_DAY, NORMAL_DULL, DULL], [False, False]),
        ([SAME_DAY, NORMAL_LATER, DULL], [False]),
        # Words elsewhere open no list of signs.
        ([NORMAL_SOON, DULL], [False]),
        ([SAME_DAY, NORMAL_SOON, DULL], [False]),
        ([SAME_DAY, BOTH, DULL], [True, False]),
        ([DULL, SAME_DAY, DULL], [False, True]),
    ],
)
def test_the_nearest_word_on_time_decides(
    lines: list[tuple[Kind, str]], in_time: list[bool], library: Library, visit: Any, judge: Any
) -> None:
    said = sys.modules[type(judge).__module__].Said
    made = [said(text, block=f"b-{n}", kind=kind) for n, (kind, text) in enumerate(lines)]
    chosen = tuple(one.chosen() for one in made)
    case = visit(("condition:wax",), (), patient=("age:adult",))
    message = Message(
        channel=Channel.PRINT, language="en", lines=tuple(one.line() for one in made),
        chosen=chosen, score=Score(counts=Counts()), status=Status.RELEASED,
    )  # fmt: skip
    worded = Worded(language="en", direction="ltr", frame={}, sections=(), short=())
    asked = Asked(case, library, None, case.patient.facts, Choice(chosen, ()), worded, TODAY)

    found = list(Seen(message, asked).in_time("hearing_change"))

    assert [one for _, one in found] == in_time
    assert [told.line.block_id for told, _ in found] == [
        f"b-{n}" for n, (_, text) in enumerate(lines) if "ull hearing" in text
    ]

"""The right ear is named, in every language: row 17."""

from __future__ import annotations

from collections.abc import Iterator

from aftercare.model import Side
from aftercare.rules.rule import Act, Rule
from aftercare.rules.seen import Seen, Told, named


def _wrong_ear(seen: Seen, told: Told) -> Iterator[str]:
    left, right = seen.known("side_left"), seen.known("side_right")
    if told.one is None:
        return
    says_left, says_right = told.says(left), told.says(right)
    if told.side is Side.BOTH and says_left is not says_right:
        named_ear = Side.LEFT if says_left else Side.RIGHT
        yield f"{named(told)} is about both ears and names the {named_ear} one only"
    elif (told.side is Side.LEFT and says_right) or (told.side is Side.RIGHT and says_left):
        yield f"{named(told)} is about the {told.side} ear and names the other"


RULES = (
    Rule(
        name="wrong ear", row=17, act=Act.BLOCK, line=_wrong_ear,
        source="the clinician's own record of the visit",
    ),
)  # fmt: skip

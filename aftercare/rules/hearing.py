"""The patient who hears with one ear only: row 11."""

from __future__ import annotations

from collections.abc import Iterator

from aftercare.rules.rule import Act, Rule
from aftercare.rules.seen import Seen, Told, named


def _only_hearing_ear(seen: Seen) -> Iterator[str]:
    if "caution:only-hearing-ear" not in seen.facts:
        return
    for told in seen.saying("irrigation"):
        yield f"{named(told)} speaks of washing out an ear"
    for told in _can_wait(seen):
        yield f"{named(told)} lets a change in hearing wait; it needs the same day"


def _can_wait(seen: Seen) -> Iterator[Told]:
    """Lines on a change in hearing that do not ask for help the same day."""
    change = seen.known("hearing_change")
    for told, in_time in seen.in_time():
        if not in_time and told.says(change):
            yield told


RULES = (
    Rule(
        name="only-hearing ear", row=11, act=Act.BLOCK, overridable=True, check=_only_hearing_ear,
        source="NHS Tayside referral guide: no irrigation of an only-hearing ear; any change the "
        "same day: proposed by this project; a clinician must confirm",
    ),
)  # fmt: skip

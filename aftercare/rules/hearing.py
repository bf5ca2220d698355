"""The patient who hears with one ear only: row 11."""

from __future__ import annotations

from collections.abc import Iterator

from aftercare.rules.rule import Act, Rule
from aftercare.rules.seen import Seen, named


def _only_hearing_ear(seen: Seen) -> Iterator[str]:
    if "caution:only-hearing-ear" not in seen.facts:
        return
    for told in seen.saying("irrigation"):
        yield f"{named(told)} speaks of washing out an ear"
    for told, in_time in seen.in_time("hearing_change"):
        if not in_time:
            yield f"{named(told)} lets a change in hearing wait; it needs the same day"


RULES = (
    Rule(
        name="only-hearing ear", row=11, act=Act.BLOCK, overridable=True, check=_only_hearing_ear,
        source="NHS Tayside referral guide: no irrigation of an only-hearing ear; any change the "
        "same day: proposed by this project; a clinician must confirm",
    ),
)  # fmt: skip

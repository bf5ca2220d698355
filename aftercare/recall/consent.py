"""Why somebody has given no consent, in the words the register keeps and a person can act on."""

from __future__ import annotations

from datetime import date
from enum import StrEnum

_LACKS = "no consent"
# What registers hold that were filled before it was told apart.
_EARLIER = "consent withdrawn"
# What a list tells beside, of which none keeps anybody from agreeing to messages.
_ASIDE = (
    "mobile: the same as in another row",
    "mobile: not a number that takes texts",
    "recall: ",
)


class Want(StrEnum):
    """Why there is no consent, from what binds most to what binds least."""

    REFUSED = "refused or withdrawn"
    UNTOLD = "whether refused or never asked is not told; find out which"
    NOT_ASKED = "not asked; ask, and record the answer"


def lack(want: Want, on: date | None) -> str:
    """The reason of somebody without consent; ``on`` is the day they said so, where known."""
    return f"{_LACKS} on {on}: {want}" if on else f"{_LACKS}: {want}"


def is_lack(reason: str) -> bool:
    """Whether somebody is silent for want of consent by this reason, and for nothing worse."""
    return reason.startswith(_LACKS) or reason == _EARLIER


def is_aside(reason: str) -> bool:
    """Whether a reason only tells something, and silences and holds nobody."""
    return reason.startswith(_ASIDE)

"""Words in a language nobody stands behind: row 16."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from aftercare.model import Line
from aftercare.rules.rule import Act, Rule
from aftercare.rules.seen import Seen

_SOURCE = "house law 6; ISPOR good practice for translation (Wild 2005): a second person reviews"


def _missing(seen: Seen) -> Iterator[str]:
    missing, language = seen.asked.worded.missing, seen.message.language
    if missing and language not in seen.asked.library.catalogues:
        yield f"there is no catalogue for {language}"
    elif missing:
        yield f"translation ({language}) missing: {', '.join(dict.fromkeys(missing))}"


def _unreviewed(seen: Seen) -> Iterator[str]:
    if not seen.asked.worded.missing:
        lines = (*seen.message.lines, *seen.asked.worded.frame.values())
        yield from not_approved(lines, seen.message.language)


def not_approved(lines: Iterable[Line], language: str) -> Iterator[str]:
    """Which of the lines of a message in ``language`` nobody stands behind, by language."""
    foreign: dict[str, dict[str, None]] = {}
    for line in lines:
        if not line.approved:
            foreign.setdefault(line.language or language, {})[line.block_id] = None
    for spoken, named in foreign.items():
        yield f"translation ({spoken}) not approved: {', '.join(named)}"


MISSING = Rule(
    name="translation missing", row=16, act=Act.BLOCK, record=_missing, wording="{why}",
    source=_SOURCE,
)  # fmt: skip
# The one rule a sample may break: it is stamped, and shows what still needs a reviewer.
UNREVIEWED = Rule(
    name="translation not reviewed", row=16, act=Act.BLOCK, record=_unreviewed, wording="{why}",
    source=_SOURCE,
)  # fmt: skip
RULES = (MISSING, UNREVIEWED)

"""Which column holds which field: by the words of the header."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from aftercare.errors import BadInput
from aftercare.recall.incoming.plan import ImportPlan, plain

NEEDED = ("ref", "first_name", "last_name")
SEVERAL = "address"


@dataclass(frozen=True, slots=True)
class Layout:
    """The columns of each field by place, how many there are, and the headers nobody reads."""

    at: Mapping[str, tuple[int, ...]]
    headers: tuple[str, ...]
    unread: tuple[str, ...]

    @property
    def width(self) -> int:
        """How many cells a row has."""
        return len(self.headers)


def lay_out(place: str, headers: Sequence[str], plan: ImportPlan) -> Layout:
    """Find the fields in a header. Raises ``BadInput`` when one is missing or stands there twice.

    Of several words for a field the one named first in the plan is taken; ``address`` takes all
    its columns, in the order of the list.
    """
    said = [plain(header) for header in headers]
    at: dict[str, tuple[int, ...]] = {}
    taken: set[int] = set()
    for field, words in plan.columns.items():
        found = _places(place, field, words, said, headers)
        if found:
            at[field] = found
            taken.update(found)
    for field in NEEDED:
        if field not in at:
            told = f"no column for '{field}' in the header"
            raise BadInput(f"{place}:1", told, _how(field, plan))
    unread = tuple(header for n, header in enumerate(headers) if n not in taken and header)
    return Layout(at, tuple(headers), unread)


def _places(
    place: str, field: str, words: Sequence[str], said: Sequence[str], headers: Sequence[str]
) -> tuple[int, ...]:
    wanted = [plain(word) for word in words]
    if field == SEVERAL:
        found = [n for n, header in enumerate(said) if header in wanted]
    else:
        first = next((word for word in wanted if word in said), None)
        found = [n for n, header in enumerate(said) if header == first]
    if len({said[n] for n in found}) < len(found):
        told = f"the column '{headers[found[0]][:40]}' stands there twice"
        raise BadInput(f"{place}:1", told, "take one out, or name them apart")
    return tuple(found)


def _how(field: str, plan: ImportPlan) -> str:
    return (
        f"name it like {', '.join(plan.columns[field][:3])}, or write in a mapping file under "
        f'[columns]: {field} = "the header"'
    )

"""A recall letter: the data of one page, drawn by the leaflet's own template.

It has an address instead of boxes of urgent signs, and no headings.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence

from aftercare.errors import BadText
from aftercare.model import Chosen, Line, Purpose, Worded
from aftercare.render.leaflet import Paper, address_data, leaflet_data

SUBJECT = "subject"
_NOTHING = Line((), "frame", approved=True)


def letter_data(
    worded: Worded,
    *,
    address: Sequence[str],
    clinic: str,
    purpose: Purpose,
    point: float,
    paper: Paper = Paper.A4,
    edition: str = "",
    chosen: Iterable[Chosen] = (),
    most_pages: int | None = None,
) -> str:
    """The data of one letter as JSON, the same for the same words; see ``leaflet_data``.

    ``address`` are the lines of the address, the name first. Its subject is the title. Raises
    ``BadText`` when the words have none.
    """
    title = worded.frame.get(SUBJECT)
    if title is None:
        raise BadText("subject", "the letter has none", "write 'subject' in the block's header")
    frame = {**worded.frame, "title": title, "visit_line": _NOTHING, "caution": _NOTHING}
    framed = Worded(
        language=worded.language, direction=worded.direction, frame=frame,
        sections=worded.sections, short=(), missing=worded.missing, help=worded.help,
    )  # fmt: skip
    told = leaflet_data(
        framed, clinic=clinic, purpose=purpose, point=point, paper=paper, edition=edition,
        chosen=chosen, most_pages=most_pages,
    )  # fmt: skip
    posted = {"address": address_data(address, worded.language)}
    return json.dumps({**json.loads(told), **posted}, ensure_ascii=False)

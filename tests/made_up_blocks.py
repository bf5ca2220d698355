"""Block files made up for tests that need a shelf of their own."""

from __future__ import annotations

HEADER = """---
id: {id}
version: "1"
kind: {kind}
for: [{given}]
not_for: [{withheld}]
rank: 10
{more}sources:
  - "common practice, no source"
author: "A. N. Editor"
approval: {{state: {state}}}
review_by: 2028-11-01
---
"""


def block(
    name: str,
    body: str,
    *,
    kind: str = "care",
    given: str = "",
    withheld: str = "",
    state: str = "draft",
    more: str = "",
) -> str:
    """A block file; ``more`` are whole lines of its header."""
    head = HEADER.format(id=name, kind=kind, given=given, withheld=withheld, state=state, more=more)
    return head + body

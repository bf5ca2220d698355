"""Options that several ``recall`` commands share, and how their words are read."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from aftercare.errors import BadInput

Home = Annotated[str | None, typer.Option("--home", metavar="DIR", help="The clinic's folder.")]
AsJson = Annotated[bool, typer.Option("--json", help="Answer in JSON on standard output.")]
WIDTH = 80  # columns of a screen


def day_of(option: str, words: str | None) -> date | None:
    """The day an option names. Raises ``BadInput``."""
    from aftercare.edges.days import read_day
    from aftercare.errors import BadInput

    if words is None:
        return None
    try:
        return read_day(words)
    except ValueError as error:
        raise BadInput(option, str(error), "write it like 2026-11-24") from None


def wrapped(words: str, indent: str) -> str:
    """Words on as many lines as they need, with nothing in them that could steer a terminal."""
    from textwrap import fill

    from aftercare.cli.lines import steady

    return fill(
        steady(words), WIDTH, initial_indent=indent, subsequent_indent=indent,
        break_long_words=True, break_on_hyphens=False,
    )  # fmt: skip


def nobody(*refs: str) -> BadInput:
    """The refusal of references nobody has. Like ones are not offered: they are others' own."""
    from aftercare.errors import BadInput

    shown = ", ".join(f"'{ref[:40]}'" for ref in refs[:5])
    more = f" and {len(refs) - 5:,} more" if len(refs) > 5 else ""
    return BadInput("REF", f"nobody has the reference {shown}{more}", "check it; nothing was done")

"""``aftercare recall write``: every reminder that is due, as finished files."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def write(
    on: Annotated[
        str | None,
        typer.Option("--on", metavar="DATE", help="The day they are for; else today."),
    ] = None,
    out: Annotated[
        Path, typer.Option("--out", metavar="DIR", help="Where the messages and the list go.")
    ] = Path("out/recall"),
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Say what would be written; change nothing.")
    ] = False,
    home: Annotated[
        str | None, typer.Option("--home", metavar="DIR", help="The clinic's folder.")
    ] = None,
    as_json: Annotated[
        bool, typer.Option("--json", help="Answer in JSON on standard output.")
    ] = False,
) -> None:
    """Write every reminder due on a day: text messages, e-mails with calendar files, letters.

    Nothing is sent. Each is marked in the register as prepared, once, and its file is put in
    place after that; what may not leave is not written, and the list says why. list.csv and
    list.txt are for whoever works the recalls: whom to phone, who waits on whom, who was not
    written to and why. They and the files name patients: keep them as you keep records.

    After a run that was stopped, run it again: it goes on where that one ended, and puts in place
    what that one had finished, in its own --out. If that folder is gone, the list says whose
    message nobody can answer for. Ends with 1 when anybody was not written to or is for a person.
    """
    from aftercare.cli.recall.writing import Asked, write_due

    asked = Asked(on=on, out=out, home=home)
    raise typer.Exit(write_due(asked, dry_run=dry_run, as_json=as_json))

"""``aftercare recall import``: a list somebody handed over, judged row by row and taken in."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def import_(
    files: Annotated[
        list[Path],
        typer.Argument(
            metavar="FILE...",
            help="Lists: .csv, .tsv or .txt, .xlsx, .jsonl, or .json with a FHIR bundle.",
        ),
    ],
    mapping: Annotated[
        Path | None,
        typer.Option(
            "--mapping",
            metavar="FILE",
            help="Which column is which and how dates are written, in the form of "
            "shared/import.toml; what it leaves out stands there.",
        ),
    ] = None,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Judge the rows; take nothing in.")
    ] = False,
    by: Annotated[
        str | None,
        typer.Option("--by", metavar="NAME", help="Who takes the list in, and held rows wait on."),
    ] = None,
    home: Annotated[
        str | None, typer.Option("--home", metavar="DIR", help="The clinic's folder.")
    ] = None,
    as_json: Annotated[
        bool, typer.Option("--json", help="One JSON object for each row on standard output.")
    ] = False,
) -> None:
    """Take lists of patients, visits and recalls into the register, all of them or nothing.

    Every row is ready (may be contacted), silent (kept and never contacted: refused, never
    asked, died, moved away) or held: it waits for a person, because a date could be read in two
    ways, a number cannot be right, or somebody may stand there twice. Nothing is guessed: say
    in a mapping what the list means, and import it again. The same list twice changes nothing;
    a newer one brings contacts up to date and undoes nothing that was decided here, but for a
    consent: a no that is not known to be older ends it, and is told. Ends with 1 when any row
    is held.
    """
    from aftercare.cli.recall.importing import Asked, import_lists

    asked = Asked(files=files, mapping=mapping, by=by, home=home, dry_run=dry_run)
    raise typer.Exit(import_lists(asked, as_json=as_json))

"""``aftercare locales``: the translator's commands."""

from __future__ import annotations

from typing import Annotated

import typer

locales = typer.Typer(
    name="locales", help="The translator's commands.", no_args_is_help=True, rich_markup_mode=None
)


@locales.callback()
def _translators() -> None:
    """Keep ``check`` a command of its own, however many there are."""


@locales.command(short_help="Check translations for what could hurt.")
def check(
    pairs: Annotated[
        str,
        typer.Option(
            "--pairs",
            metavar="FILE.jsonl",
            help='Read {"id", "source", "target", "language"} from each line; - reads '
            "standard input.",
        ),
    ],
    as_json: Annotated[bool, typer.Option("--json", help="Answer in a line of JSON each.")] = False,
    home: Annotated[
        str | None, typer.Option("--home", metavar="DIR", help="The clinic's folder.")
    ] = None,
) -> None:
    """Check loose translations of English sentences, before they go into a catalogue.

    A line may also say "kind": "sms" and "limit", the most parts. Ends with 1 when something
    found stops a translation, and with 2 when a line cannot be read.
    """
    from aftercare.cli.translating import check_file

    raise typer.Exit(check_file(pairs, home, as_json=as_json))

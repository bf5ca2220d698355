"""``aftercare locales``: the translator's commands."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

locales = typer.Typer(
    name="locales", help="The translator's commands.", no_args_is_help=True, rich_markup_mode=None
)

Home = Annotated[str | None, typer.Option("--home", metavar="DIR", help="The clinic's folder.")]
AsJson = Annotated[bool, typer.Option("--json", help="Answer in JSON on standard output.")]
Language = Annotated[str, typer.Argument(metavar="LL", help="A language, such as pl or pt_BR.")]
Languages = Annotated[
    list[str] | None, typer.Argument(metavar="[LL...]", help="Languages; all when none is named.")
]


@locales.command(short_help="Which language is safe to send today, and to whom.")
def status(as_json: AsJson = False, home: Home = None) -> None:
    """Show how far each language has come, which sentences are stopped, and what that withholds.

    Ends with 1 when anything is withheld from anybody.
    """
    from aftercare.cli.standing import status as show_status

    raise typer.Exit(show_status(home, as_json=as_json))


@locales.command(short_help="Write down what is to be translated.")
def extract(as_json: AsJson = False, home: Home = None) -> None:
    """Write locales/aftercare.pot: every sentence of the shelf, with where and when it is used."""
    from aftercare.cli.updating import extract_template

    raise typer.Exit(extract_template(home, as_json=as_json))


@locales.command(short_help="Bring catalogues into step with the shelf.")
def update(languages: Languages = None, as_json: AsJson = False, home: Home = None) -> None:
    """Bring the template and the catalogues into step with the shelf; begin one for a new language.

    No translation is lost. Where the source has changed, the old one stays as fuzzy, which reaches
    no patient; what is asked no longer stays as obsolete.
    """
    from aftercare.cli.updating import update_catalogues

    raise typer.Exit(update_catalogues(home, languages or (), as_json=as_json))


@locales.command(short_help="Check translations for what could hurt.")
def check(
    languages: Languages = None,
    pairs: Annotated[
        str | None,
        typer.Option(
            "--pairs",
            metavar="FILE.jsonl",
            help='Read {"id", "source", "target", "language"} from each line; - reads '
            "standard input.",
        ),
    ] = None,
    as_json: AsJson = False,
    home: Home = None,
) -> None:
    """Check every translation of the catalogues and their files, or loose pairs before import.

    A line of --pairs may also say "kind": "sms" and "limit", the most parts. Ends with 1 when
    something found stops a translation, and with 2 when something cannot be read.
    """
    if pairs is None:
        from aftercare.cli.vetting import check_catalogues

        raise typer.Exit(check_catalogues(home, languages or (), as_json=as_json))
    if languages:
        raise typer.BadParameter("each line of --pairs names its own language")
    from aftercare.cli.translating import check_file

    raise typer.Exit(check_file(pairs, home, as_json=as_json))


@locales.command(short_help="Write a folder for a translator.")
def export(
    language: Language,
    out: Annotated[Path, typer.Option("--out", metavar="DIR", help="The folder to write.")],
    home: Home = None,
) -> None:
    """Write the catalogue for a translator, and a sheet to read: one page of HTML, and a table.

    The sheets show each sentence beside its translation, where it appears, who is told it, how
    long it may be, and what was found in it.
    """
    from aftercare.cli.exchange import export as write_export

    raise typer.Exit(write_export(home, language, out))


@locales.command(name="import", short_help="Take in what a translator sends back.")
def import_(
    language: Language,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The .po or .csv that came back.")],
    as_json: AsJson = False,
    home: Home = None,
) -> None:
    """Take in what a translator has changed; what was changed here since the export stays ours.

    Ends with 1 when a sentence is in conflict, in doubt, or has something that stops it.
    """
    from aftercare.cli.exchange import take_in

    raise typer.Exit(take_in(home, language, file, as_json=as_json))


@locales.command(short_help="Put a named reviewer behind translations.")
def approve(
    language: Language,
    by: Annotated[str, typer.Option("--by", metavar="NAME", help="Who decides.")],
    role: Annotated[str, typer.Option("--role", metavar="ROLE", help="In which role.")],
    only: Annotated[
        list[str] | None,
        typer.Option("--only", metavar="ID", help="A block, or one sentence; may be repeated."),
    ] = None,
    home: Home = None,
) -> None:
    """Approve translations as they stand; any later change of the words undoes it.

    Ends with 1 when one is refused because of what was found in it, or is not finished.
    """
    from aftercare.cli.exchange import approve as approve_words

    raise typer.Exit(approve_words(home, language, by, role, only or ()))

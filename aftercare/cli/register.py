"""``aftercare register``: keeping the recall register itself."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

register = typer.Typer(
    name="register",
    help="Keeping the recall register: copies, checks, forgetting.",
    no_args_is_help=True,
    rich_markup_mode=None,
)

Home = Annotated[str | None, typer.Option("--home", metavar="DIR", help="The clinic's folder.")]
AsJson = Annotated[bool, typer.Option("--json", help="Answer in JSON on standard output.")]
By = Annotated[str, typer.Option("--by", metavar="NAME", help="Who decides.")]


@register.command(short_help="Copy the register to a file, and check the copy.")
def backup(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The new file.")],
    as_json: AsJson = False,
    home: Home = None,
) -> None:
    """Copy the register to a new file while others work on it, and check the copy.

    The key of the chain is not copied: keep it apart. Who was forgotten since is in an older copy.
    """
    from aftercare.cli.keeping import back_up

    raise typer.Exit(back_up(home, file, as_json=as_json))


@register.command(short_help="Put a copy in the place of the register.")
def restore(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A copy made by backup.")],
    by: By,
    as_json: AsJson = False,
    home: Home = None,
) -> None:
    """Check a copy, keep the register as it is beside it, and put the copy in its place.

    Killed half way, the register is as it was. Who was forgotten since the copy was made is
    forgotten again; where nobody can tell, it says so and ends with 1.
    """
    from aftercare.cli.keeping import bring_back

    raise typer.Exit(bring_back(home, file, by, as_json=as_json))


@register.command(short_help="Check the file, its ties, and the chain of what happened.")
def verify(as_json: AsJson = False, home: Home = None) -> None:
    """Check that the register is whole, and that nobody altered what happened.

    Ends with 1 when something is found, and says which row.
    """
    from aftercare.cli.keeping import check

    raise typer.Exit(check(home, as_json=as_json))


@register.command(short_help="Forget a person.")
def forget(
    ref: Annotated[str, typer.Argument(metavar="REF", help="The clinic's reference.")],
    by: By,
    home: Home = None,
) -> None:
    """Take away all that says who a person is; what happened stays, and the chain still verifies.

    Copies made before still hold the person, and so does whatever the register is filled from.
    """
    from aftercare.cli.keeping import forget_one

    raise typer.Exit(forget_one(home, ref, by))


@register.command(short_help="Forget those whose time is over.")
def retention(
    by: Annotated[str | None, typer.Option("--by", metavar="NAME", help="Who decides.")] = None,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Say how many; forget none.")] = False,
    as_json: AsJson = False,
    home: Home = None,
) -> None:
    """Forget everybody whose last recall was closed, and last visit was, longer ago than the clinic
    keeps them: years_after_closing in shared/recall.toml, which local policy decides.
    """
    from aftercare.cli.keeping import count_over, forget_over

    if dry_run:
        raise typer.Exit(count_over(home, as_json=as_json))
    if not by:
        raise typer.BadParameter("say --by NAME, or --dry-run")
    raise typer.Exit(forget_over(home, by, as_json=as_json))

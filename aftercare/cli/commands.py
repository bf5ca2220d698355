"""The commands. Heavy rooms are opened inside them, so that --help answers at once."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from aftercare.cli import say_json, tell
from aftercare.cli.locales import locales
from aftercare.cli.recall import recall
from aftercare.cli.register import register
from aftercare.model import Channel, Purpose

app = typer.Typer(
    name="aftercare",
    help="From the facts of an ear-care visit to words the patient can use.\n\nTry: aftercare demo",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
)

Home = Annotated[
    str | None,
    typer.Option(
        "--home",
        metavar="DIR",
        help="The clinic's folder; else AFTERCARE_HOME, the current folder, "
        "or the shelf that ships with aftercare.",
    ),
]
AsJson = Annotated[bool, typer.Option("--json", help="Answer in JSON on standard output.")]


def _say_version(wanted: bool) -> None:
    if wanted:
        from aftercare import __version__

        print(f"aftercare {__version__}")
        raise typer.Exit


@app.callback()
def aftercare(
    version: Annotated[
        bool,
        typer.Option(
            "--version", help="Say which version this is.", is_eager=True, callback=_say_version
        ),
    ] = False,
) -> None:
    """Options of the command line itself."""


class Schema(StrEnum):
    """What has a schema."""

    VISIT = "visit"


@app.command(short_help="Write stamped samples for an invented clinic.")
def demo(
    out: Annotated[Path, typer.Option("--out", metavar="DIR", help="Where the samples go.")] = Path(
        "out/demo"
    ),
    home: Home = None,
    as_json: AsJson = False,
) -> None:
    """Write samples for an invented clinic: SMS, e-mail and leaflet for each invented visit.

    Every sample is stamped; none may be given to a patient.
    """
    from aftercare.cli.bootstrap import open_house
    from aftercare.cli.runs import Run, demo_visits
    from aftercare.cli.show import demo_table

    house = open_house(home)
    cases = demo_visits(house)
    # The samples keep their own day, so that they come out the same whenever they are made: the
    # last visit's, or the day the numbers were checked if that is later.
    days = [house.library.region.checked, *(case.visit_date for case in cases)]
    run = Run(house, out, Purpose.SAMPLE, max(days))
    done = [run.case(case, tuple(Channel)) for case in cases]
    if as_json:
        for one in done:
            say_json(run.summary(one))
    else:
        demo_table(done, out)
    raise typer.Exit(run.exit_code())


@app.command(short_help="Write what each patient gets; say what was withheld.")
def discharge(
    visits: Annotated[
        list[str],
        typer.Argument(
            metavar="VISIT...", help="Visit files, TOML or JSON; - reads standard input."
        ),
    ],
    out: Annotated[
        Path,
        typer.Option(
            "--out", metavar="DIR", help="Where the messages go, a folder for each visit."
        ),
    ] = Path("out"),
    channel: Annotated[
        list[Channel] | None, typer.Option("--channel", help="Only this channel; may be repeated.")
    ] = None,
    home: Home = None,
    as_json: AsJson = False,
) -> None:
    """Write what each patient gets, and say what was withheld and why.

    Where the clinic keeps a recall register, a released visit is put there with the recall that
    was agreed, or with the reason why none was; 'ref' in [patient] says whose it is.
    """
    from aftercare.cli.bootstrap import open_house
    from aftercare.cli.enrolling import enrolment
    from aftercare.cli.runs import Run
    from aftercare.cli.show import outcome

    house = open_house(home)
    run = Run(house, out, Purpose.PATIENT, house.today())
    with enrolment(home) as enrolled:
        for done in run.visits(visits, tuple(channel or ())):
            if as_json:
                say_json(run.summary(done))
            else:
                outcome(done, out)
            enrolled.take(done)
    raise typer.Exit(run.exit_code() or enrolled.code)


@app.command(short_help="Show which fact chose which sentence.")
def why(
    visit: Annotated[
        str, typer.Argument(metavar="VISIT", help="A visit file, or - for standard input.")
    ],
    home: Home = None,
) -> None:
    """Show which block was chosen by which fact, sentence by sentence, and what was left out."""
    from aftercare.cli.bootstrap import open_house
    from aftercare.cli.runs import read_visit
    from aftercare.cli.show import reasons
    from aftercare.flow import discharge as run_path

    house = open_house(home)
    case = read_visit(visit, house)
    reasons(
        run_path(
            case,
            house.library,
            press=house.press,
            today=house.today(),
            purpose=Purpose.PATIENT,
            channels=(Channel.SMS,),  # the reasons are the same on each; this one is quick
        )
    )


@app.command(short_help="Print the JSON Schema of a visit.")
def schema(
    what: Annotated[Schema, typer.Argument(help="What to describe.")],
    home: Home = None,
) -> None:
    """Print the JSON Schema of a visit, with this clinic's own vocabulary in it."""
    from aftercare.cli.bootstrap import open_house
    from aftercare.edges.visit_file import visit_schema

    say_json(visit_schema(open_house(home).library), indent=2)


@app.command(short_help="Make a clinic's own folder.")
def init(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="The folder to make.")],
    home: Home = None,
) -> None:
    """Make a clinic's own folder: content, locales, shared and out, every text still a draft."""
    import os

    from aftercare.edges.folder import copy_shelf, find_home, shipped

    source = find_home(home, os.environ, Path("/nonexistent")) if home else shipped()
    copy_shelf(source, folder)
    tell(
        f"{folder} is ready. Next: put your clinic in {folder / 'shared' / 'clinic.toml'}, have a "
        "clinician approve the blocks in content/, check the numbers in shared/regions.toml."
    )


@app.command(short_help="Show how a text will travel.")
def sms(
    text: Annotated[
        str, typer.Argument(metavar="[TEXT|-]", help="The text; - reads standard input.")
    ] = "-",
    exact: Annotated[bool, typer.Option("--exact", help="Replace nothing.")] = False,
    jsonl: Annotated[
        bool, typer.Option("--jsonl", help='Read {"id", "text"} from each line.')
    ] = False,
    as_json: AsJson = False,
    home: Home = None,
) -> None:
    """Show how a text will travel: its alphabet, its parts, and what makes it long."""
    from aftercare.cli.texting import Wording, count_lines, count_one

    wording = Wording.EXACT if exact else Wording.SAFE
    if jsonl:
        raise typer.Exit(count_lines(text, wording))
    raise typer.Exit(count_one(text, wording, as_json=as_json))


@app.command(short_help="Say how hard a text is to read, and what would help.")
def score(
    files: Annotated[
        list[str] | None,
        typer.Argument(metavar="FILE...", help="Markdown, text or .eml; - reads standard input."),
    ] = None,
    language: Annotated[str, typer.Option("--language", help="en, pl, es, pt-BR ...")] = "en",
    compare: Annotated[
        bool, typer.Option("--compare", help="Two files, OLD and NEW: what the rewrite gained.")
    ] = False,
    no_dictionary: Annotated[
        bool, typer.Option("--no-dictionary", help="Count syllables by the rules alone.")
    ] = False,
    jsonl: Annotated[
        bool, typer.Option("--jsonl", help='Read {"id", "text", "language"} from each line.')
    ] = False,
    instruments: Annotated[
        bool, typer.Option("--instruments", help="Add the items of published instruments.")
    ] = False,
    as_json: AsJson = False,
    home: Home = None,
) -> None:
    """Say how hard a text is to read, how surely, and what would help.

    Ends with 1 when a limit of shared/limits.toml is broken.
    """
    from aftercare.cli.bootstrap import open_library
    from aftercare.cli.scoring import Asked, score_files, score_lines_of_json
    from aftercare.score import Dictionary

    names = files or ["-"]
    if names.count("-") > 1:
        raise typer.BadParameter("standard input can be read once")
    if jsonl and (compare or instruments or len(names) > 1):
        raise typer.BadParameter("--jsonl takes one file and neither --compare nor --instruments")
    if compare and (no_dictionary or instruments or language[:2].lower() != "en"):
        raise typer.BadParameter("--compare is for English, with the dictionary and no instruments")
    if compare and len(names) != 2:
        raise typer.BadParameter("--compare takes two files, OLD and NEW")
    library = open_library(home)
    if compare:
        from aftercare.cli.comparing import compare_files

        raise typer.Exit(compare_files(names[0], names[1], library, as_json=as_json))
    asked = Asked(language, Dictionary.HIDDEN if no_dictionary else Dictionary.USED, library)
    if jsonl:
        raise typer.Exit(score_lines_of_json(names[0], asked))
    raise typer.Exit(score_files(names, asked, as_json=as_json, instruments=instruments))


content = typer.Typer(
    name="content", help="The editor's commands.", no_args_is_help=True, rich_markup_mode=None
)
app.add_typer(content)
app.add_typer(locales)
app.add_typer(recall)
app.add_typer(register)


@content.command(short_help="Prove what can be proved of the shelf; list what to look at.")
def check(as_json: AsJson = False, home: Home = None) -> None:
    """Prove the shelf over every patient who can walk in, in every language; list what to mend.

    Asked of everybody: the contradiction rules, reading, length, pages, what must be told.
    Ends with 1 when there is anything to look at.
    """
    from aftercare.cli.bootstrap import open_desk
    from aftercare.cli.checking import check as check_shelf

    raise typer.Exit(check_shelf(open_desk(home), as_json=as_json))


Wanted = Annotated[str, typer.Argument(metavar="ID", help="A block's id, or frame.")]
By = Annotated[str, typer.Option("--by", metavar="NAME", help="Who decides.")]
AsRole = Annotated[str, typer.Option("--role", metavar="ROLE", help="In which role.")]


@content.command(name="list", short_help="List the blocks: state, approver, review date.")
def list_(as_json: AsJson = False, home: Home = None) -> None:
    """List the blocks with their state.

    Ends with 1 when a file cannot be read, or a review date is past or too far off.
    """
    from aftercare.cli.bootstrap import open_desk
    from aftercare.cli.shelf import list_blocks

    raise typer.Exit(list_blocks(open_desk(home), as_json=as_json))


@content.command(short_help="Show one block whole.")
def show(wanted: Wanted, as_json: AsJson = False, home: Home = None) -> None:
    """Show one block: who gets it, its words with their lines, its sources, who approved it."""
    from aftercare.cli.bootstrap import open_desk
    from aftercare.cli.shelf import show_block

    raise typer.Exit(show_block(open_desk(home), wanted, as_json=as_json))


@content.command(short_help="Who is told a block, and what an edit of it changes.")
def impact(
    wanted: Wanted,
    before: Annotated[
        str | None,
        typer.Option("--before", metavar="FILE", help="An older copy of the block's file."),
    ] = None,
    as_json: AsJson = False,
    home: Home = None,
) -> None:
    """Show which kinds of patient are told a block, and every leaflet a pending edit changes.

    Compared with the words as they were last approved, or with those of --before.
    """
    from aftercare.cli.bootstrap import open_desk
    from aftercare.cli.impact import impact as show_impact

    raise typer.Exit(show_impact(open_desk(home), wanted, before, as_json=as_json))


@content.command(short_help="Put a named clinician behind a block's words.")
def approve(wanted: Wanted, by: By, role: AsRole, home: Home = None) -> None:
    """Approve a block's words as they stand; any later edit makes it a draft again.

    A copy of what was approved is kept in content/.approved. Translations are approved apart.
    """
    from aftercare.cli.bootstrap import signature
    from aftercare.cli.shelf import approve as approve_words

    raise typer.Exit(approve_words(home, wanted, signature(home, by, role)))


@content.command(short_help="Take a block out of use.")
def retire(wanted: Wanted, by: By, role: AsRole, home: Home = None) -> None:
    """Take a block out of use; its file stays."""
    from aftercare.cli.bootstrap import signature
    from aftercare.cli.shelf import retire as retire_words

    raise typer.Exit(retire_words(home, wanted, signature(home, by, role)))

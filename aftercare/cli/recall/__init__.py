"""``aftercare recall``: whom to call back, and when."""

from __future__ import annotations

import typer

from aftercare.cli.recall.audit import audit
from aftercare.cli.recall.catch_up import catch_up
from aftercare.cli.recall.date import date_
from aftercare.cli.recall.decide import (
    deceased,
    done,
    hand_over,
    moved,
    opt_in,
    opt_out,
    snooze,
    still_here,
)
from aftercare.cli.recall.due import due
from aftercare.cli.recall.import_ import import_
from aftercare.cli.recall.next import next_
from aftercare.cli.recall.report import report
from aftercare.cli.recall.visits import book, call_off, missed, told
from aftercare.cli.recall.write import write

recall = typer.Typer(
    name="recall",
    help="Whom to call back, and when.",
    no_args_is_help=True,
    rich_markup_mode=None,
)

recall.command("due", short_help="Who is due on a day, in the order of risk.")(due)
recall.command("next", short_help="What happens next for a patient, when and why.")(next_)
recall.command("book", short_help="Book a visit, or move it.")(book)
recall.command("call-off", short_help="Call visits off.")(call_off)
recall.command("missed", short_help="The patient did not come.")(missed)
recall.command("told", short_help="The patient knows what became of the visit.")(told)
recall.command("snooze", short_help="Put recalls off.")(snooze)
recall.command("done", short_help="Close recalls: seen, or over with a reason.")(done)
recall.command("hand-over", short_help="Put recalls on a named person.")(hand_over)
recall.command("moved", short_help="The patient has moved away.")(moved)
recall.command("deceased", short_help="The patient has died.")(deceased)
recall.command("still-here", short_help="Neither dead nor moved away after all.")(still_here)
recall.command("opt-out", short_help="No messages, by topic and channel.")(opt_out)
recall.command("opt-in", short_help="Messages again, by topic and channel.")(opt_in)
recall.command("report", short_help="How the recalls stand, with a page and a chart.")(report)
recall.command("audit", short_help="Prove that nobody is dropped.")(audit)
recall.command("date", short_help="Count months, weeks or days on from a day.")(date_)
recall.command("catch-up", short_help="Whom to call first after cancelled clinics.")(catch_up)
recall.command("import", short_help="Take a list of patients into the register.")(import_)
recall.command("write", short_help="Write every reminder that is due, as finished files.")(write)

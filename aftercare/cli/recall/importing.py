"""What ``recall import`` does, and what is shown of it."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from aftercare.cli import DONE, FOUND, tell
from aftercare.cli.bootstrap import make_register, moment, open_house, open_register, read_desk
from aftercare.cli.lines import folded
from aftercare.edges.folder import read_input
from aftercare.edges.incoming.crew import hands
from aftercare.edges.incoming.plan_file import PLACE, parse_plan
from aftercare.edges.incoming.reading import Answer, Found, Lists, Registered, registered
from aftercare.edges.incoming.sources import open_source
from aftercare.edges.register.register import NO_REGISTER
from aftercare.errors import OutOfReach
from aftercare.library.settings import SETTINGS_BYTES
from aftercare.recall.incoming.trouble import remedy
from aftercare.recall.people import Deed, Standing, What
from aftercare.recall.port import Taken

if TYPE_CHECKING:
    from aftercare.edges.incoming.source import Source
    from aftercare.recall.incoming.plan import ImportPlan

# Below this many bytes, starting a second process takes longer than it saves.
WORTH_SPLITTING = 1_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What the command was asked to do."""

    files: list[Path]
    mapping: Path | None
    by: str | None
    home: str | None
    dry_run: bool


def import_lists(asked: Asked, *, as_json: bool) -> int:
    """Judge the lists, take them in, and say what became of the rows."""
    plan = _plan(asked)
    sources = [open_source(path, plan) for path in asked.files]
    large = sum(path.stat().st_size for path in asked.files) > WORTH_SPLITTING
    lists = Lists(
        sources,
        plan,
        _known(asked),
        hands=hands() if large else 1,
        packed=not asked.dry_run,
        told=as_json,
    )
    # The processes that judge are started before the register is opened: it is not for them.
    with lists.answers() as answers:
        taken, found = _look(answers) if asked.dry_run else _take_in(asked, plan, answers)
    if as_json:
        tell(_counts(found))
    else:
        _report(sources, lists, found, taken)
    return FOUND if found.outcomes[Standing.HOLD] else DONE


def _plan(asked: Asked) -> ImportPlan:
    house = open_house(asked.home)
    mapping = None
    if asked.mapping is not None:
        mapping = (str(asked.mapping), read_input(asked.mapping, SETTINGS_BYTES))
    raw = read_input(house.home / PLACE, SETTINGS_BYTES)
    by = asked.by or read_desk(house)
    return parse_plan(raw, mapping, house.library, house.today(), by)


def _known(asked: Asked) -> Registered:
    """Who is in the register already, by key; nobody when there is none."""
    try:
        register = open_register(asked.home)
    except OutOfReach as refused:
        if refused.problem != NO_REGISTER:
            raise
        return registered(())
    with closing(register):
        return registered(register.standings())


def _look(answers: Iterator[Answer]) -> tuple[None, Found]:
    found = Found()
    for answer in answers:
        _said(answer, found)
    return None, found


def _take_in(asked: Asked, plan: ImportPlan, answers: Iterator[Answer]) -> tuple[Taken, Found]:
    found, deed = Found(), Deed(what=What.IMPORTED, by=plan.by, at=moment())
    with closing(make_register(asked.home)) as register, register.intake(deed) as intake:
        for answer in answers:
            if answer.parcel:
                intake.parcel(answer.parcel)
            _said(answer, found)
    return intake.taken(), found


def _said(answer: Answer, found: Found) -> None:
    if answer.lines:
        sys.stdout.write(answer.lines.decode("ascii"))
    found.add(answer.found)


def _counts(found: Found) -> str:
    counts = ", ".join(f"{found.outcomes[one]} {one.value}" for one in Standing)
    return f"{sum(found.outcomes.values())} rows: {counts}"


def _report(sources: list[Source], lists: Lists, found: Found, taken: Taken | None) -> None:
    for source, layout in zip(sources, lists.layouts, strict=True):
        print(f"{source.place}: {'; '.join(source.notes)}")
        fields = [
            f"{field} from {' + '.join(repr(layout.headers[n]) for n in at)}"
            for field, at in layout.at.items()
        ]
        _print("columns: " + ", ".join(fields), "  ")
        if layout.unread:
            _print("not read: " + ", ".join(map(repr, layout.unread)), "  ")
    print(_counts(found))
    for standing in (Standing.HOLD, Standing.SILENT, Standing.READY):
        _reasons(standing, found)
    if found.outside:
        _print(
            "Not in the register, for want of a reference that can be trusted: "
            + ", ".join(found.outside),
            "",
        )
    _of_register(taken)


def _reasons(standing: Standing, found: Found) -> None:
    titles = {
        Standing.HOLD: "Held, each waits for a person:",
        Standing.SILENT: "Silent, kept and never contacted:",
        Standing.READY: "Worth a look:",
    }
    some = {said: rows for (one, said), rows in found.reasons.items() if one is standing}
    if some:
        print(titles[standing])
    for said, (count, rows) in sorted(some.items(), key=lambda item: (-item[1][0], item[0])):
        more = f" and {count - len(rows)} more" if count > len(rows) else ""
        word = "row" if count == 1 else "rows"
        _print(f"{count} {said}: {word} {', '.join(rows)}{more}", "  ")
        if standing is not Standing.READY and remedy(said):
            _print(f"to do: {remedy(said)}", "    ")


def _of_register(taken: Taken | None) -> None:
    if taken is None:
        print("Nothing was taken in: --dry-run.")
    elif taken.nothing:
        print("The register is as it was.")
    else:
        print(
            f"In the register: {taken.new} new people, {taken.changed} changed, {taken.same} as "
            f"they were; {taken.visits} visits and {taken.recalls} recalls new; "
            f"{taken.handed_over} recalls handed over to a person."
        )
    if taken and taken.silenced:
        _print(
            f"{taken.silenced} who had a consent on record here are silent now: the list says no, "
            "and not that this was before.",
            "",
        )


def _print(words: str, indent: str) -> None:
    for line in folded(words, indent):
        print(line)

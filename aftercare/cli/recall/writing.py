"""One run of `recall write`: plan what is due, write it, put it on record, and list the rest."""

from __future__ import annotations

import platform
from collections import Counter
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from functools import partial
from pathlib import Path
from typing import Any

from aftercare.cli import DONE, FOUND, say_json, tell
from aftercare.cli.bootstrap import House, RecallDesk, open_house, open_recall_desk, open_register
from aftercare.cli.bootstrap import moment as this_moment
from aftercare.cli.lines import folded
from aftercare.cli.recall.made import BY, Made, Maker
from aftercare.cli.recall.options import day_of
from aftercare.cli.recall.parts import cores, in_parts
from aftercare.cli.recall.stopped import Stopped, finish_others
from aftercare.cli.recall.write_list import (
    READABLE,
    TABLE,
    AdminList,
    Listing,
    admin_list,
    join_lists,
)
from aftercare.edges.outbox_files import Outbox, held
from aftercare.edges.places import places
from aftercare.edges.register.register import SqlRegister
from aftercare.errors import BadInput
from aftercare.model import Channel, Purpose
from aftercare.recall.decide import waiting
from aftercare.recall.people import Deed, RecallState, Reminder, ReminderState, What
from aftercare.recall.port import WHOLE, Claimed, Part, Settled, Underway
from aftercare.recall.write import Followed, follow
from aftercare.reminding import Forms, Order, Reminding
from aftercare.reminding.judge import Judge, Verdict, day_span
from aftercare.sending import May
from aftercare.sending.households import Households

# How many are claimed, written and settled at once, and planned in one transaction.
AT_A_TIME, PLANNED_AT_A_TIME = 500, 5000
# With so many open recalls, half of them due, two processes end in two thirds of the time; with
# fewer, each of them making its first messages takes most of it.
WORTH_A_PROCESS = 20_000
# Longer than any run takes, so that no other run takes up what this one holds.
_HELD = timedelta(hours=2)
# The most different reasons a summary names.
MOST_REASONS = 50
_LISTED = {May.LATER: Listing.LATER, May.NEVER: Listing.SKIPPED, May.PERSON: Listing.PERSON}
# The list of what earlier runs left; those of parts are called by their numbers.
_STOPPED = "stopped"
_BY_NAME = "somebody by name: no message is left"
# What will never be written, so that the register is told.
_OVER = frozenset({Listing.SKIPPED, Listing.PERSON})


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What was asked for, as it was written."""

    on: str | None
    out: Path
    home: str | None


@dataclass(slots=True)
class Outcome:
    """How a run went, in figures alone: nothing of a patient is in it.

    ``completed`` are files an earlier run had put on record and not in place; ``elsewhere`` are
    the folders of runs on other machines that have not ended. ``handed_over`` are recalls of
    which no message is left, and which wait on somebody by name from now on.
    """

    written: Counter[str] = field(default_factory=Counter)
    reasons: Counter[str] = field(default_factory=Counter)
    findings: Counter[str] = field(default_factory=Counter)
    listed: Counter[Listing] = field(default_factory=Counter)
    planned: int = 0
    completed: int = 0
    handed_over: int = 0
    elsewhere: list[str] = field(default_factory=list)

    def add(self, part: Outcome) -> None:
        """Count what became of a part as well."""
        self.written += part.written
        self.reasons += part.reasons
        self.findings += part.findings
        self.listed += part.listed
        self.planned += part.planned
        self.handed_over += part.handed_over


@dataclass(frozen=True, slots=True)
class Judged:
    """A reminder that may be written."""

    order: Order
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class NotNow:
    """A reminder that may not be written, where it is listed, and why."""

    listing: Listing
    because: str
    verdict: Verdict


def write_due(asked: Asked, *, dry_run: bool, as_json: bool) -> int:
    """Write what is due, or say what would be; 1 when somebody is left for a person."""
    house, desk = open_house(asked.home), open_recall_desk(asked.home)
    on = day_of("--on", asked.on) or desk.today
    if on < desk.today:
        raise BadInput("--on", f"{on} is over", "what was not written then is written today")
    if on > desk.today and not dry_run:
        tell(f"written ahead for {on}: who opts out or books until then must be taken out by hand")
    with closing(open_register(asked.home)) as register:
        run = Run(house, desk, register, on, asked)
        outcome = run.part().preview() if dry_run else run.write()
    told = _summary(outcome, asked, on, dry_run=dry_run)
    if as_json:
        say_json(told)
    else:
        print("\n".join(_screen(told)))
    left = outcome.listed[Listing.PERSON] + outcome.listed[Listing.WITHHELD]
    return FOUND if left or outcome.elsewhere else DONE


class Run:
    """One run on one register: what earlier ones left, and then its parts."""

    def __init__(
        self, house: House, desk: RecallDesk, register: SqlRegister, on: date, asked: Asked
    ) -> None:
        self.house, self.desk, self.register = house, desk, register
        self.on, self.out, self.now = on, asked.out, this_moment()
        self.open = register.count_open_before(date.max)

    def part(self, part: Part = WHOLE) -> PartOfRun:
        """One part of it."""
        return PartOfRun(self, part)

    def write(self) -> Outcome:
        """Plan, write and settle everything due, whatever earlier runs left included."""
        outcome, count = Outcome(), self._count()
        with held(self.out) as outbox:
            with admin_list(self.out, _STOPPED) as listed:
                stopped = self._go_on(outbox, listed, outcome)
            # What is connected to a register is not to be split in two.
            self.register.close()
            outcomes = in_parts(lambda n: self.part(Part(n, count)).write(outbox), count)
            for one in (Outcome(listed=listed.counts), *outcomes):
                outcome.add(one)
            join_lists(self.out, (_STOPPED, *map(str, range(count))))
        for lost in stopped.lost:
            self.register.given_up(lost)
        return outcome

    def _count(self) -> int:
        """In how many parts it is worth being done."""
        return 1 if self.open < WORTH_A_PROCESS else cores()

    def _go_on(self, outbox: Outbox, listed: AdminList, outcome: Outcome) -> Stopped:
        """Finish what earlier runs left, to this folder and to others.

        Holding a folder, we know that whoever wrote to it before has ended.
        """
        here = outbox.recover(self.register.digests)
        for run in self.register.underway():
            if run.outbox == outbox.name:
                self.register.arrived(run)
        stopped = finish_others(self.register, outbox.name, self.now, listed)
        outcome.completed = here + stopped.completed
        outcome.elsewhere = [run.folder for run in stopped.elsewhere]
        return stopped


class PartOfRun:
    """The steps of one part of a run: all of it for some households."""

    def __init__(self, run: Run, part: Part) -> None:
        self._desk, self.part = run.desk, part
        self.register, self.on, self.now, self._out = run.register, run.on, run.now, run.out
        self.outcome = Outcome()
        house, desk, on = run.house, run.desk, run.on
        self.writer = Forms(Reminding(house.library, house.press, Purpose.PATIENT))
        had = self.register.written_to(*day_span(on, desk.clinic.timezone), part=part)
        # As many as may be written to; what is not used of it takes no room.
        counter = partial(Households, room=run.open // part.of, empty=places)
        self._judge = Judge(desk.planner, desk.risks, had, on=on, now=self.now, counter=counter)

    def _followed(self) -> Iterator[Followed]:
        recalls = self.register.all_recalls(part=self.part)
        reminders = self.register.all_reminders(part=self.part)
        return follow(recalls, reminders, self._desk.planner, self.on)

    def preview(self) -> Outcome:
        """Count what would be written and listed; nothing is changed."""
        outcome = self.outcome
        for one in self._followed():
            outcome.planned += len(one.new)
            outcome.handed_over += one.ended
            turn = _turn(one, self.on)
            outcome.listed.update([turn] if turn else [])
            for reminder in (*one.known, *one.new):
                judged = self.judged(
                    Claimed(reminder=reminder, recall=one.recall, person=one.person)
                )
                if isinstance(judged, Judged):
                    outcome.written[judged.order.channel.value] += 1
                else:
                    outcome.listed[judged.listing] += 1
        return outcome

    def judged(self, claimed: Claimed) -> Judged | NotNow:
        """Whether a reminder may be written now, in the words there are for it."""
        verdict = self._judge.ask(claimed)
        if verdict.answer.may is not May.GO:
            return NotNow(_LISTED[verdict.answer.may], str(verdict.answer.because), verdict)
        order = self._judge.order(claimed, verdict)
        refused = self.writer.refusals(order)
        if refused:
            self.outcome.reasons.update(refused)
            return NotNow(Listing.WITHHELD, "; ".join(refused), verdict)
        # Only now: whoever cannot be written to does not take the household's turn.
        self._judge.count(claimed)
        return Judged(order, verdict)

    def write(self, outbox: Outbox) -> Outcome:
        """Plan, write and settle everything due of this part."""
        run = _underway(outbox, self.now, self.part.number)
        self.register.set_out(run)
        with admin_list(self._out, str(self.part.number)) as listed:
            self._plan(listed)
            _Writing(self, run, outbox, listed).all()
        self.register.arrived(run)
        self.outcome.listed = listed.counts
        return self.outcome

    def _plan(self, listed: AdminList) -> None:
        """Plan what is due and not planned yet, and list whose turn it is by hand."""
        new: list[Reminder] = []
        ended: list[Followed] = []
        for one in self._followed():
            new += one.new
            ended += [one] if one.ended else []
            turn, by_hand = _turn(one, self.on), one.handover
            if turn is not None and by_hand is not None:
                listed.add(
                    turn, one.person, by_hand.because, order=f"1 {one.recall.id:019}",
                    day=by_hand.day, who=by_hand.who, how=" or ".join(by_hand.how),
                )  # fmt: skip
            if len(new) >= PLANNED_AT_A_TIME:
                self._keep(new)
            if len(ended) >= PLANNED_AT_A_TIME:
                self._hand_over(ended)
        self._keep(new)
        self._hand_over(ended)

    def _keep(self, new: list[Reminder]) -> None:
        if new:
            self.outcome.planned += self.register.plan(new, self.deed(What.PLANNED))
            new.clear()

    def _hand_over(self, ended: list[Followed]) -> None:
        """Put recalls of which no message is left on whoever's turn it is, by name."""
        swaps = [
            (one.recall, waiting(one.recall, one.handover.who, one.handover.because))
            for one in ended
            if one.handover is not None
        ]
        if swaps:
            deed = self.deed(What.HANDED_OVER)
            self.outcome.handed_over += self.register.hand_over(swaps, deed)
            ended.clear()

    def deed(self, what: What) -> Deed:
        """What the chain keeps of a batch."""
        return Deed(what=what, by=BY, at=this_moment(), details=(("on", str(self.on)),))


class _Writing:
    """Claims some after some, has them made, and tells what became of each."""

    def __init__(self, part: PartOfRun, me: Underway, outbox: Outbox, listed: AdminList) -> None:
        self._part, self._me, self._listed = part, me, listed
        self._maker = Maker(part.writer, part.register, outbox, me, part.on, lambda: this_moment())

    def all(self) -> None:
        """Every reminder that is due and nobody else holds."""
        for claimed in self._claims():
            judged = [(one, self._part.judged(one)) for one in claimed]
            self._settle_over(judged)
            orders = tuple(one.order for _, one in judged if isinstance(one, Judged))
            made = {one.key: one for one in self._maker.make(orders)} if orders else {}
            for one, verdict in judged:
                if isinstance(verdict, Judged):
                    self._finish(one, made[verdict.order.key])
                else:
                    self._list(one, verdict.listing, verdict.because)

    def _claims(self) -> Iterator[tuple[Claimed, ...]]:
        """Some at a time, each looked at once: what is held back stays claimed to the end."""
        last: Claimed | None = None
        while claimed := self._claim(last):
            yield claimed
            last = claimed[-1]

    def _claim(self, after: Claimed | None) -> tuple[Claimed, ...]:
        part, now = self._part, this_moment()
        return part.register.claim(
            part.on, worker=self._me.worker, now=now, until=now + _HELD, limit=AT_A_TIME,
            after=after, part=part.part,
        )  # fmt: skip

    def _settle_over(self, judged: list[tuple[Claimed, Judged | NotNow]]) -> None:
        """Tell the register of what will never be written."""
        over = [
            _skipped(one, verdict) for one, verdict in judged
            if isinstance(verdict, NotNow) and verdict.listing in _OVER
        ]  # fmt: skip
        if over:
            self._part.register.settle(over, self._part.deed(What.SKIPPED))

    def _finish(self, claimed: Claimed, made: Made) -> None:
        """Count what is in place, and list the rest."""
        outcome = self._part.outcome
        outcome.findings.update(made.findings)
        if made.placed:
            outcome.written[made.channel.value] += 1
            return
        outcome.reasons.update(made.because)
        because = "; ".join(made.because) or "somebody else settled it meanwhile"
        self._list(claimed, Listing.WITHHELD, because)

    def _list(self, one: Claimed, listing: Listing, because: str) -> None:
        reminder = one.reminder
        self._listed.add(
            listing, one.person, because, order=f"2 {reminder.day} {reminder.recall:019}",
            step=reminder.step, day=reminder.day,
        )  # fmt: skip


def _skipped(one: Claimed, judged: NotNow) -> Settled:
    return Settled(
        key=one.reminder.key,
        state=ReminderState.SKIPPED,
        because=judged.because,
        at=judged.verdict.at,
    )


def _turn(one: Followed, on: date) -> Listing | None:
    """Whether somebody of the clinic is to act on a recall by now, or is named to."""
    if one.recall.state is RecallState.WAITING:
        return Listing.WAITING
    due = one.handover is not None and one.handover.day <= on
    return Listing.PERSON if due else None


def _underway(outbox: Outbox, now: datetime, part: int) -> Underway:
    return Underway(
        outbox=outbox.name, folder=str(outbox.folder.resolve()), host=platform.node(),
        until=now + _HELD, part=part,
    )  # fmt: skip


# --- what is told -------------------------------------------------------------------------------


def _summary(outcome: Outcome, asked: Asked, on: date, *, dry_run: bool) -> dict[str, Any]:
    return {
        "on": on.isoformat(),
        "dry_run": dry_run,
        "out": None if dry_run else str(asked.out),
        "planned": outcome.planned,
        "completed": outcome.completed,
        "handed_over": outcome.handed_over,
        "not_ended_elsewhere": outcome.elsewhere,
        "written": {channel.value: outcome.written[channel.value] for channel in Channel},
        "listed": {one.value: outcome.listed[one] for one in Listing},
        "not_written_because": dict(outcome.reasons.most_common(MOST_REASONS)),
        "findings": dict(outcome.findings.most_common(MOST_REASONS)),
    }


def _screen(told: dict[str, Any]) -> Iterator[str]:
    would = "would be " if told["dry_run"] else ""
    yield f"Reminders due by {told['on']}"
    for channel, count in told["written"].items():
        yield f"  {count:>9,}  {would}written, {channel}"
    if told["completed"]:
        yield f"  {told['completed']:>9,}  put in place for an earlier run that was stopped"
    if told["handed_over"]:
        yield f"  {told['handed_over']:>9,}  {would}put on {_BY_NAME}"
    for listing, count in told["listed"].items():
        if count:
            yield f"  {count:>9,}  {listing}"
    for name in ("not_written_because", "findings"):
        for because, count in told[name].items():
            yield from folded(f"{count:,} times: {because}", "             ")
    if told["out"]:
        yield f"In {told['out']}: {TABLE}, {READABLE}, record.jsonl and a folder for each channel."

"""One run of `recall write`: plan what is due, write it, put it on record, and list the rest."""

from __future__ import annotations

import platform
from collections import Counter
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from aftercare.cli import DONE, FOUND, say_json, tell
from aftercare.cli.bootstrap import House, RecallDesk, open_house, open_recall_desk, open_register
from aftercare.cli.bootstrap import moment as this_moment
from aftercare.cli.lines import folded
from aftercare.cli.recall.made import BY, Batch, Here, Made, Maker, Makers, beside, cores
from aftercare.cli.recall.options import day_of
from aftercare.cli.recall.stopped import Stopped, finish_others
from aftercare.cli.recall.write_list import READABLE, TABLE, AdminList, Listing, admin_list
from aftercare.edges.outbox_files import Outbox, held
from aftercare.edges.register.register import SqlRegister
from aftercare.errors import BadInput
from aftercare.model import Channel, Purpose
from aftercare.recall.decide import waiting
from aftercare.recall.people import Deed, RecallState, Reminder, ReminderState, What
from aftercare.recall.port import Claimed, Settled, Underway
from aftercare.recall.write import Followed, follow
from aftercare.reminding import Forms, Order, Reminding
from aftercare.reminding.judge import Judge, Verdict, day_span
from aftercare.sending import May

# How many are claimed, written and settled at once, and planned in one transaction.
AT_A_TIME, PLANNED_AT_A_TIME = 500, 5000
# With fewer, one process was never slower than two, and on a busy machine twice as fast: the other
# has the shelf to read first, and both wait for their turns at the register.
WORTH_A_PROCESS = 100_000
# Longer than any run takes, so that no other run takes up what this one holds.
_HELD = timedelta(hours=2)
# The most different reasons a summary names.
MOST_REASONS = 50
_LISTED = {May.LATER: Listing.LATER, May.NEVER: Listing.SKIPPED, May.PERSON: Listing.PERSON}
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
        outcome = run.preview() if dry_run else run.write()
    told = _summary(outcome, asked, on, dry_run=dry_run)
    if as_json:
        say_json(told)
    else:
        print("\n".join(_screen(told)))
    left = outcome.listed[Listing.PERSON] + outcome.listed[Listing.WITHHELD]
    return FOUND if left or outcome.elsewhere else DONE


class Run:
    """The steps of one run on one register."""

    def __init__(
        self, house: House, desk: RecallDesk, register: SqlRegister, on: date, asked: Asked
    ) -> None:
        self._house, self._desk, self._asked = house, desk, asked
        self.register, self.on, self.now = register, on, this_moment()
        self.outcome, self._to_write = Outcome(), 0
        self._writer = Forms(Reminding(house.library, house.press, Purpose.PATIENT))
        had = register.written_to(*day_span(on, desk.clinic.timezone))
        self._judge = Judge(desk.planner, desk.risks, had, on=on, now=self.now)

    def _followed(self) -> Iterator[Followed]:
        recalls, reminders = self.register.all_recalls(), self.register.all_reminders()
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
        refused = self._writer.refusals(order)
        if refused:
            self.outcome.reasons.update(refused)
            return NotNow(Listing.WITHHELD, "; ".join(refused), verdict)
        # Only now: whoever cannot be written to does not take the household's turn.
        self._judge.count(claimed)
        return Judged(order, verdict)

    def write(self) -> Outcome:
        """Plan, write and settle everything due, whatever earlier runs left included."""
        out, register = self._asked.out, self.register
        with held(out) as outbox, admin_list(out) as listed:
            stopped = self._go_on(outbox, listed)
            run = _underway(outbox, self.now)
            register.release(run.worker)
            register.set_out(run)
            self._plan(listed)
            writing = _Writing(self, run, outbox, listed)
            with self._makers(outbox) as makers:
                writing.all(makers)
            register.arrived(run)
            self.outcome.listed = listed.counts
        for lost in stopped.lost:
            register.given_up(lost)
        return self.outcome

    def _go_on(self, outbox: Outbox, listed: AdminList) -> Stopped:
        """Finish what earlier runs left, to this folder and to others.

        Holding a folder, we know that whoever wrote to it before has ended.
        """
        here = outbox.recover(self.register.digests)
        stopped = finish_others(self.register, outbox.name, self.now, listed)
        self.outcome.completed = here + stopped.completed
        self.outcome.elsewhere = [run.folder for run in stopped.elsewhere]
        return stopped

    @contextmanager
    def _makers(self, outbox: Outbox) -> Iterator[Makers]:
        """In this process, or beside it when there is enough to do."""
        if self._to_write < WORTH_A_PROCESS or cores() == 1:
            yield Here(Maker(self._writer, self.register, outbox, self.on, lambda: this_moment()))
            return
        with beside(self._asked.home, outbox, self.on) as makers:
            yield makers

    def _plan(self, listed: AdminList) -> None:
        """Plan what is due and not planned yet, and list whose turn it is by hand."""
        new: list[Reminder] = []
        ended: list[Followed] = []
        for one in self._followed():
            new += one.new
            self._to_write += len(one.new) + len(one.known)
            ended += [one] if one.ended else []
            turn, by_hand = _turn(one, self.on), one.handover
            if turn is not None and by_hand is not None:
                listed.add(
                    turn, one.person, by_hand.because, day=by_hand.day, who=by_hand.who,
                    how=" or ".join(by_hand.how),
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
    """Claims batch after batch, has them made, and tells what became of each."""

    def __init__(self, run: Run, me: Underway, outbox: Outbox, listed: AdminList) -> None:
        self._run, self._me, self._outbox, self._listed = run, me, outbox, listed
        # What was claimed for the orders that are on their way, by key.
        self._waiting: dict[str, Claimed] = {}

    def all(self, makers: Makers) -> None:
        """Every reminder that is due and nobody else holds."""
        for claimed in self._claims():
            orders = self._orders(claimed)
            if orders:
                batch = Batch(orders, self._outbox.batch())
                for made in makers.submit(batch):
                    self._finish(made)
        for made in makers.rest():
            self._finish(made)

    def _claims(self) -> Iterator[tuple[Claimed, ...]]:
        """Some at a time, each looked at once: what is held back stays claimed to the end."""
        last: Claimed | None = None
        while claimed := self._claim(last):
            yield claimed
            last = claimed[-1]

    def _claim(self, after: Claimed | None) -> tuple[Claimed, ...]:
        now = this_moment()
        return self._run.register.claim(
            self._run.on, worker=self._me.worker, now=now, until=now + _HELD, limit=AT_A_TIME,
            after=after,
        )  # fmt: skip

    def _orders(self, claimed: tuple[Claimed, ...]) -> tuple[Order, ...]:
        """What is to be written; the rest is listed, and settled when it is over."""
        orders: list[Order] = []
        over: list[Settled] = []
        for one in claimed:
            judged = self._run.judged(one)
            if isinstance(judged, Judged):
                orders.append(judged.order)
                self._waiting[judged.order.key] = one
                continue
            self._list(one, judged.listing, judged.because)
            if judged.listing in _OVER:
                over.append(_skipped(one, judged))
        if over:
            self._run.register.settle(over, self._run.deed(What.SKIPPED))
        return tuple(orders)

    def _finish(self, made: list[Made]) -> None:
        """Count what is in place, and list the rest."""
        outcome = self._run.outcome
        for one in made:
            claimed = self._waiting.pop(one.key)
            outcome.findings.update(one.findings)
            if one.placed:
                outcome.written[one.channel.value] += 1
                continue
            outcome.reasons.update(one.because)
            because = "; ".join(one.because) or "somebody else settled it meanwhile"
            self._list(claimed, Listing.WITHHELD, because)

    def _list(self, one: Claimed, listing: Listing, because: str) -> None:
        reminder = one.reminder
        self._listed.add(listing, one.person, because, step=reminder.step, day=reminder.day)


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


def _underway(outbox: Outbox, now: datetime) -> Underway:
    return Underway(
        outbox=outbox.name, folder=str(outbox.folder.resolve()), host=platform.node(),
        until=now + _HELD,
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
